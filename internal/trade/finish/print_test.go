package finish_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"fettle"
	"fettle/internal/output/words"
	"fettle/internal/trade/finish"
	"fettle/internal/trade/stock"
)

func TestPrint(t *testing.T) {
	for _, look := range []string{"as machined", "deburred", "satin", "matte", "stonewash", "bright", "mirror"} {
		t0 := time.Now()
		pl, err := finish.Plan(context.Background(), finish.Input{Survey: finish.Plate(), Shelf: stock.Shelf(), Brief: fettle.Brief{Material: "naval brass", Finish: look, Lot: 12, Title: "Plate"}})
		if err != nil {
			fmt.Println(look, err)
			continue
		}
		fmt.Println("=====", look, time.Since(t0))
		fmt.Println(words.Plan(*pl))
	}
}
