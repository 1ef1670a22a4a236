package pastel

import (
	"math"

	"dustwright/judge"
	"dustwright/sense"
)

// moments are mean and spread of the readings of a channel.
type moments struct{ n, mean, square float64 }

func (m *moments) add(v float64) {
	m.n++
	d := v - m.mean
	m.mean += d / m.n
	m.square += d * (v - m.mean)
}

func (m *moments) spread() float64 { return math.Sqrt(m.square / max(1, m.n)) }

// shows reports that since the onset a channel's mean or spread is another than the sound machine's, in all rows or in
// those in which the troubled valve fired, or that another number of pulses came.
func (c *trial) shows(well, ill *sense.Series) bool {
	log := c.historian()
	since := log.zero.UnixNano() + int64((c.trouble.onset-log.start)*1e9)
	a, b := sums(well, since, c.trouble.number), sums(ill, since, c.trouble.number)
	for i := range a {
		for ch := range a[i] {
			in, x, y := &log.inst[ch], &a[i][ch], &b[i][ch]
			least := (in.noise + 0.004) * (in.high - in.low)
			if sense.Channel(ch) == sense.Pulse {
				least = 0.15 * x.mean
			} else if in.high == in.low || sense.Channel(ch) == sense.BinLevel && c.trouble.cause != judge.BinOverfull {
				continue
			}
			if math.Abs(x.mean-y.mean) > max(least, 0.3*x.spread()) || math.Abs(x.spread()-y.spread()) > max(least, 0.3*x.spread()) {
				return true
			}
		}
	}
	return false
}

// sums are over the rows with the fan on since a time, and those of them in which the valve fired.
func sums(s *sense.Series, since int64, valve int) (out [2][sense.NumChannels]moments) {
	next := 0
	for i, t := range s.Time {
		fired := false
		for ; next < len(s.Pulses) && int(s.Pulses[next].Row) <= i; next++ {
			fired = fired || int(s.Pulses[next].Valve) == valve
		}
		if t < since || s.Col[sense.Running][i] < 0.5 {
			continue
		}
		for ch := range s.Col {
			if s.Col[ch] == nil || math.IsNaN(s.Col[ch][i]) {
				continue
			}
			out[0][ch].add(s.Col[ch][i])
			if fired {
				out[1][ch].add(s.Col[ch][i])
			}
		}
	}
	return out
}
