package sense

import (
	"testing"
	"time"
)

// year is a year of one-minute rows with twelve channels, built once.
func year(b *testing.B) (*Series, rig) {
	g := usual()
	s, _ := g.run(365*24, 60)
	for _, c := range []Channel{Temperature, FanCurrent, InletSP, Humidity, Damper} {
		s.Col[c] = s.Col[Flow]
	}
	return s, g
}

// BenchmarkReduceYear is the whole way from rows to the reduced record.
func BenchmarkReduceYear(b *testing.B) {
	s, g := year(b)
	b.ReportAllocs()
	for b.Loop() {
		reduced(b, s, g)
	}
	b.ReportMetric(float64(s.Len())*12*float64(b.N)/b.Elapsed().Seconds(), "readings/s")
}

// BenchmarkAtYear is one judgement's features from a year's reduced record.
func BenchmarkAtYear(b *testing.B) {
	s, g := year(b)
	h, c := reduced(b, s, g), g.file()
	b.ReportAllocs()
	for b.Loop() {
		At(h, c, time.Time{})
	}
}
