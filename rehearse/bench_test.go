package rehearse

import (
	"bufio"
	"context"
	"io"
	"testing"
	"time"

	"dustwright/unit"
)

// BenchmarkYear is a collector-year: on-demand cleaning, six rows, production schedule. The sub-benchmarks add the log.
func BenchmarkYear(b *testing.B) {
	c := contract(b)
	for _, x := range []struct {
		name   string
		sample time.Duration
		csv    bool
	}{{"physics", 0, false}, {"log a minute", time.Minute, false}, {"log a minute as CSV", time.Minute, true}} {
		b.Run(x.name, func(b *testing.B) {
			b.ReportAllocs()
			pulses := 0
			for b.Loop() {
				o := NewOptions(c)
				o.Length, o.Sample = days(365), x.sample
				if x.csv {
					rec, err := NewCSV(bufio.NewWriterSize(io.Discard, 1<<16), nil, unit.US, o.Start.Location())
					if err != nil {
						b.Fatal(err)
					}
					o.Recorder = rec
				}
				r, err := Run(context.Background(), c, o)
				if err != nil {
					b.Fatal(err)
				}
				pulses = r.Summary.Pulses
			}
			b.ReportMetric(float64(pulses), "pulses")
		})
	}
}

// BenchmarkPulses shows that cost grows with pulses: a year of cleaning every interval has many times the pulses of one on demand.
func BenchmarkPulses(b *testing.B) {
	for _, mode := range []string{"on-demand", "continuous"} {
		b.Run(mode, func(b *testing.B) {
			c := contract(b)
			set(b, c, "cleaning.mode", mode)
			pulses := 0
			for b.Loop() {
				o := NewOptions(c)
				o.Length, o.Sample = days(60), 0
				r, err := Run(context.Background(), c, o)
				if err != nil {
					b.Fatal(err)
				}
				pulses = r.Summary.Pulses
			}
			b.ReportMetric(float64(pulses), "pulses")
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(pulses), "ns/pulse")
		})
	}
}
