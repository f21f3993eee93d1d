package queue

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"fettle"
)

// BenchmarkAsk asks 200 tasks one after the other that have nothing to do, at the
// usual pace and with the disk's own care, and tells the median and the worst
// time from asking to done.
func BenchmarkAsk(b *testing.B) {
	for name, on := range map[string]func(testing.TB) *bench{"sqlite": sqliteBench, "postgres": postgresBench} {
		b.Run(name, func(b *testing.B) {
			bn := on(b)
			bn.careful = true
			q := bn.queue(bn.db(), handle("survey", echo), atPace(func(p *pace) { *p = usual() }))
			round := 0
			for b.Loop() {
				round++
				took := make([]time.Duration, 200)
				for i := range took {
					from := time.Now()
					task := ask(b, q, "survey", fmt.Sprint(round, " ", i))
					if err := q.Watch(b.Context(), task.ID, func(fettle.Task) error { return nil }); err != nil {
						b.Fatal(err)
					}
					took[i] = time.Since(from)
				}
				slices.Sort(took)
				b.ReportMetric(took[100].Seconds()*1e3, "ms/median")
				b.ReportMetric(took[199].Seconds()*1e3, "ms/worst")
			}
		})
	}
}
