package plug

import (
	"fettle"
	"fettle/internal/trade/stock"
)

func softFor(name string) fettle.Soft {
	s, err := stock.Shelf().Soft(name)
	if err != nil {
		panic(err)
	}
	return s
}
