package sense

import "testing"

// A suction that falls off for some hours of the day and comes back is held against what a usual day is sure to, not against
// the scatter that the fault itself brings; a machine that has always scattered so stays as unsure as it is.
func TestWhatComesAndGoesDoesNotHideItself(t *testing.T) {
	for _, c := range []struct {
		name  string
		from  int // first day on which the hatch swings
		q     Quantity
		least float64 // width of now
		most  float64
	}{
		{"suction, of late", 58, InletSPLevel, 0, 0.03 * 900},
		{"suction, ever since", 0, InletSPLevel, 0.05 * 900, 900},
		{"duct, of late", 58, DuctBeyond, 0, 0.02},
	} {
		hours := fanHours(60, 1, nil)
		for i := range hours {
			if h := &hours[i]; i/24 >= c.from && i%2 == 0 {
				h.Stats[3].Mean *= 0.4 // the suction
			}
		}
		h := &History{Hours: hours, First: hours[0].Start * 1e9, Last: (hours[len(hours)-1].Start + 3600) * 1e9}
		m := At(h, usual().file(), unixTime(h.Last/1e9)).Get(c.q)
		if s := m.Now.Sigma; !m.Now.Known() || !(s >= c.least && s <= c.most) {
			t.Errorf("%s: now %.3f give or take %.3f, want a width of %g to %g", c.name, m.Now.Value, s, c.least, c.most)
		}
		if s := m.Fresh.Sigma; !m.Fresh.Known() || !(s >= c.least && s <= 3*c.most) {
			t.Errorf("%s: over the last hours %.3f give or take %.3f, want a width of %g to %g", c.name, m.Fresh.Value, s, c.least, 3*c.most)
		}
	}
}
