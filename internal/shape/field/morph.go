package field

import (
	"context"
	"fmt"
)

// Dilate marks the cells that lie within a ball round a true cell: those at an
// offset o with |o|² ≤ r2, in cells. What lies off the grid counts as false.
// The answer takes one byte a cell, the work four more.
//
// Errors are the context's, a negative r2 and a grid too long for [Squares].
func Dilate(ctx context.Context, mask []bool, g Grid, r2 int32) ([]bool, error) {
	return within(ctx, mask, g, r2, false)
}

// Erode keeps the cells round which the whole ball is true (see [Dilate]). What
// lies off the grid counts as true, so that erosion is the dilation of the rest
// and nothing is lost at the border of a grid that cuts through what goes on
// beyond it.
func Erode(ctx context.Context, mask []bool, g Grid, r2 int32) ([]bool, error) {
	return within(ctx, mask, g, r2, true)
}

// Open keeps the cells that some ball lying in the mask covers, its middle on
// the grid: an erosion, then a dilation (see [Erode], [Dilate]; J. Serra, Image
// Analysis and Mathematical Morphology, Academic Press (1982)). A ball may hang
// over the border of the grid.
func Open(ctx context.Context, mask []bool, g Grid, r2 int32) ([]bool, error) {
	m, err := Erode(ctx, mask, g, r2)
	if err != nil {
		return nil, err
	}
	return Dilate(ctx, m, g, r2)
}

// Close adds the cells that no ball lying in the rest covers, its middle on the
// grid: a dilation, then an erosion. It is the opening of the rest.
func Close(ctx context.Context, mask []bool, g Grid, r2 int32) ([]bool, error) {
	m, err := Dilate(ctx, mask, g, r2)
	if err != nil {
		return nil, err
	}
	return Erode(ctx, m, g, r2)
}

// within dilates a mask, or erodes it by dilating the rest.
func within(ctx context.Context, mask []bool, g Grid, r2 int32, rest bool) ([]bool, error) {
	if r2 < 0 {
		return nil, fmt.Errorf("a ball cannot have the squared radius %d: give 0 or more", r2)
	}
	s, err := newSquarer(g)
	if err != nil {
		return nil, err
	}
	s.limit = min(r2, Far-1)
	out := make([]bool, g.Len())
	err = s.run(ctx, func(at, n int, room []bool) []bool {
		row := mask[at : at+n]
		if !rest {
			return row
		}
		for i, m := range row {
			room[i] = !m
		}
		return room[:n]
	}, func(at int, row []int32) {
		to := out[at : at+len(row)]
		for i, v := range row {
			to[i] = (v != Far) != rest
		}
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}
