package sense

import (
	"math"
	"testing"
	"time"
)

// Where rows come more slowly than a cleaning lasts and no pulse is logged, a flag meets one cleaning in ten: the lowest header
// pressure shows the others. Without it, and where the header swings by itself, the flag is all there is.
func TestLowestHeaderShowsCleaningsBetweenRows(t *testing.T) {
	g := usual()
	s, tr := g.run(24*20, 600)
	perHour := float64(len(tr.starts)) / tr.running
	flagged := 0.0
	for i, on := range s.Col[Cleaning] {
		flagged += on * b2f(i == 0 || s.Col[Cleaning][i-1] == 0)
	}
	swings := s.slice(0, s.Len())
	for i := range swings.Col[HeaderLow] {
		swings.Col[HeaderLow][i] = math.Min(swings.Col[HeaderLow][i], 0.9*g.set) // a compressor's two levels
	}
	for _, c := range []struct {
		name string
		s    *Series
		keep []Channel
		want float64
	}{
		{"with the lowest pressure", s, []Channel{DP, Flow, Header, HeaderLow, Cleaning, Running}, perHour},
		{"without", s, []Channel{DP, Flow, Header, Cleaning, Running}, flagged / tr.running},
		{"it swings by itself", swings, []Channel{DP, Flow, Header, HeaderLow, Cleaning, Running}, perHour},
	} {
		h := reduced(t, c.s.only(c.keep...), g)
		f := At(h, g.file(), time.Time{})
		var cycles, hours float64
		for _, d := range f.Days[2:] {
			cycles, hours = cycles+d.Value[CyclesPerHour]*d.Hours, hours+d.Hours
		}
		near(t, c.name+": cycles an hour", cycles/hours, c.want, 0.12)
		if c.want == perHour {
			near(t, c.name+": rise", medianPass(h, func(p *Passes) float32 { return p.Rise }), 418, 0.1)
			near(t, c.name+": filtering", medianPass(h, func(p *Passes) float32 { return p.Filtering }), 1.255, 0.1)
		}
	}
}
