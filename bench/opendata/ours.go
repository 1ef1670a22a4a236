package main

import (
	"math"
	"time"

	"dustwright/collector"
	"dustwright/life"
	"dustwright/sense"
)

// week is an operating week [h].
const week = 168

// ours is the mean relative error of the program's own forecasts of every week that naive forecasts,
// each made from what the record showed at the time: readings, reduction, renewals and earlier lives up
// to then and nothing later. ahead lists the weeks ahead; the errors come in its order.
func ours(h *sense.History, c *collector.Collector, lives []sense.Life, ahead []int) []float64 {
	sum, count := make([]float64, len(ahead)), make([]float64, len(ahead))
	for _, l := range lives {
		w := weekly(l)
		for now := 4; now+ahead[0] <= len(w); now++ {
			at := l.Points[7*now-1].At.Add(12 * time.Hour) // the end of the week's last day
			f := sense.At(h, c, at)
			then := weekly(f.Lives[len(f.Lives)-1])
			if len(then) == 0 {
				continue
			}
			in := life.FromSense(h, f, c)
			for i, a := range ahead {
				if now+a > len(w) {
					continue
				}
				dp, _ := life.Ahead(in, (float64(a)-0.5)*week)
				// The reference flow was another one then: only the growth is compared.
				grown := float64(dp) / then[len(then)-1] * w[now-1]
				sum[i] += math.Abs(grown/w[now+a-1] - 1)
				count[i]++
			}
		}
	}
	for i := range sum {
		sum[i] /= math.Max(1, count[i])
	}
	return sum
}
