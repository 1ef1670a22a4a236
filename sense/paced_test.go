package sense

import (
	"testing"
	"time"
)

// slower keeps every k-th row up to a time before the end [h], as a logger that was turned up then; valves that fired in rows
// left out are logged with the next.
func (s *Series) slower(k int, hours float64) *Series {
	out := &Series{Zone: s.Zone}
	until := s.Time[s.Len()-1] - int64(hours*3600e9)
	p := 0
	for i, t := range s.Time {
		if t < until && i%k != 0 {
			continue
		}
		for ; p < len(s.Pulses) && int(s.Pulses[p].Row) <= i; p++ {
			f := s.Pulses[p]
			f.Row = int32(len(out.Time))
			out.Pulses = append(out.Pulses, f)
		}
		out.Time = append(out.Time, t)
		for c := range NumChannels {
			if s.Col[c] != nil {
				out.Col[c] = append(out.Col[c], s.Col[c][i])
			}
		}
	}
	return out
}

// A logger that is turned up sees the header fall deeper than it ever did. What goes with the time between rows is held only
// against days with rows as fast.
func TestALoggerTurnedUpShowsNoDeeperFall(t *testing.T) {
	g := usual()
	whole, _ := g.run(24*16, 5)
	for name, c := range map[string]struct {
		s       *Series
		compare bool
	}{
		"rows every 5 s":                          {whole, true},
		"rows every 60 s":                         {whole.slower(12, 0), true},
		"every 60 s, turned up to 5 s at last":    {whole.slower(12, 20), false},
		"every 60 s, turned up to 5 s a week ago": {whole.slower(12, 24*7), true},
	} {
		f := At(reduced(t, c.s, g), g.file(), time.Time{})
		for _, q := range []Quantity{HeaderLowest, HeaderDrop} {
			m := f.Get(q)
			if !m.Now.Known() || m.Normal.Known() != c.compare {
				t.Errorf("%s: %v is %+v, normally %+v", name, q, m.Now, m.Normal)
			}
			if d := m.Now.Value/m.Normal.Value - 1; d > 0.05 || d < -0.05 {
				t.Errorf("%s: %v is %.0f Pa, normally %.0f", name, q, m.Now.Value, m.Normal.Value)
			}
		}
	}
}
