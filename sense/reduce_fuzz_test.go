package sense

import (
	"bytes"
	"math"
	"testing"
	"time"
)

// odd are readings no instrument should give, and some do.
var odd = [...]float64{0, math.NaN(), math.Inf(1), math.Inf(-1), -1, 1, 1e308, -1e308, 5e-324, 700, 414000, 0.5, 64, 255}

// FuzzReduce takes bytes as rows of any channels at any steps: nothing may panic, and a record cut
// anywhere, written and read back must go on.
func FuzzReduce(f *testing.F) {
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16})
	f.Add(bytes.Repeat([]byte{60, 0x05, 9, 9, 13, 200}, 200))
	f.Add(bytes.Repeat([]byte{255, 0xff, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9}, 90))
	g := usual()
	s, _ := g.run(3, 60)
	var seed []byte
	for i := range s.Len() {
		seed = append(seed, 60, 1, byte(s.Col[DP][i]/8), byte(i))
	}
	f.Add(seed)
	f.Fuzz(func(t *testing.T, data []byte) {
		s := rowsOf(data)
		c := g.file()
		if len(data) > 0 && data[0]%3 == 0 {
			c = never()
		}
		r := NewReducer(c)
		cut := s.Len() / 2
		r.Add(s.slice(0, cut))
		var b bytes.Buffer
		if err := r.History().Write(&b); err != nil {
			t.Fatal(err)
		}
		h, err := ReadHistory(&b)
		if err != nil {
			t.Fatal(err)
		}
		r = Resume(h, c)
		r.Add(s)
		h = r.History()
		if h.Rows != int64(s.Len()) {
			t.Fatalf("%d rows taken of %d", h.Rows, s.Len())
		}
		for _, at := range []time.Time{{}, time.Unix(0, h.First), time.Unix(0, h.First/2+h.Last/2), time.Unix(0, h.Last).Add(time.Hour)} {
			feat := At(h, c, at)
			for q := range NumQuantities {
				if m := feat.Of[q].Now; m.Known() && math.IsInf(m.Value, 0) {
					t.Fatalf("%v is infinite", q)
				}
			}
		}
	})
}

// rowsOf spreads bytes over rows.
func rowsOf(data []byte) *Series {
	s := &Series{}
	at := start.UnixNano()
	next := func() byte {
		if len(data) == 0 {
			return 0
		}
		b := data[0]
		data = data[1:]
		return b
	}
	for len(data) > 0 && s.Len() < 2000 {
		step := next()
		at += 1 + int64(step)*int64(step)*int64(time.Second)
		s.Time = append(s.Time, at)
		which := next()
		for k := range 4 {
			if which>>k&1 == 0 {
				continue
			}
			c := Channel(next()) % NumChannels
			if s.Col[c] == nil {
				s.Col[c] = nans(s.Len() - 1)
			}
			v := float64(next()) * 8
			if which>>(k+4)&1 == 1 {
				v = odd[int(v)%len(odd)]
			}
			if len(s.Col[c]) < s.Len() {
				s.Col[c] = append(s.Col[c], v)
			}
		}
		for c := range s.Col {
			if s.Col[c] != nil && len(s.Col[c]) < s.Len() {
				s.Col[c] = append(s.Col[c], math.NaN())
			}
		}
		if which&0x0c == 0x0c {
			s.Pulses = append(s.Pulses, Firing{Row: int32(s.Len() - 1), Valve: next()})
		}
	}
	return s
}
