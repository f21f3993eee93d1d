package work

import (
	"context"

	"fettle/internal/trade/cusp"
)

// CuspRequest asks what the balls of a shelf leave on a plain face.
type CuspRequest struct {
	cusp.Input // the ball is each of the shelf's
	Material   string
	SizeMM     [2]float64
	Mill       string // empty: the first on the shelf
	Things
}

// CuspShelf works out every ball on the shelf.
func CuspShelf(ctx context.Context, req CuspRequest) ([]cusp.Row, error) {
	shelf, err := req.Open()
	if err != nil {
		return nil, err
	}
	mat, err := shelf.Material(req.Material)
	if err != nil {
		return nil, err
	}
	mill, err := shelf.Mill(req.Mill)
	if err != nil {
		return nil, err
	}
	return cusp.Compare(ctx, req.Input, req.SizeMM, shelf.Cutters, mat, mill)
}

// Cusp answers a question about one ball.
func Cusp(in cusp.Input) (cusp.Result, error) { return cusp.Closed(in) }
