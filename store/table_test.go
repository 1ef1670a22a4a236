package store

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// What is packed is unpacked to the bit, as a table or compressed; a table of which a byte was changed is refused.
func TestPackAndUnpack(t *testing.T) {
	c, err := newCodec()
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 600).Draw(t, "n")
		values := rapid.SliceOfN(rapid.Float32(), 1, rapid.SampledFrom([]int{1, 2, 30, 256, 300}).Draw(t, "most")).Draw(t, "values")
		paces := rapid.SliceOfN(rapid.Int64Range(0, math.MaxInt32), 1, 20).Draw(t, "paces")
		at := rapid.Int64Range(-1<<60, 1<<60).Draw(t, "first")
		var s samples
		for i := range n {
			s.t, s.v = append(s.t, at), append(s.v, values[rapid.IntRange(0, len(values)-1).Draw(t, "which")])
			at += paces[i*len(paces)/n]
		}
		data := c.pack(s)
		got := samples{[]int64{7}, []float32{7}} // stays before what is unpacked
		if err := c.unpack(data, &got); err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(got.t[1:], s.t) || !slices.EqualFunc(got.v[1:], s.v, func(a, b float32) bool { return math.Float32bits(a) == math.Float32bits(b) }) {
			t.Fatalf("packed %v, unpacked %v", s, got)
		}
		if data[0] != tabled {
			return
		}
		data[rapid.IntRange(0, len(data)-1).Draw(t, "damaged")] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
		if err := c.unpack(data, &got); err == nil {
			t.Fatal("damage was not seen")
		}
	})
}

// Which chunks make tables: those with few values and few paces.
func TestTable(t *testing.T) {
	steady := func(n, values int) (s samples) {
		for i := range n {
			s.t, s.v = append(s.t, int64(i)*60e9), append(s.v, float32(i%values))
		}
		return s
	}
	uneven := steady(512, 2)
	for i := range uneven.t {
		uneven.t[i] += int64(i * i)
	}
	for name, c := range map[string]struct {
		s    samples
		size int // 0: no table
	}{
		"one value":         {steady(512, 1), 22},
		"two values":        {steady(512, 2), 90},
		"as many as can be": {steady(512, 256), 1555},
		"one more":          {steady(514, 257), 0},
		"no pace":           {uneven, 0},
		"nothing":           {samples{}, 0},
	} {
		data, ok := table(c.s)
		if ok != (c.size > 0) || len(data) != c.size {
			t.Errorf("%s: %d bytes, %v; want %d", name, len(data), ok, c.size)
		}
	}
	if got := fmt.Sprint(placeBits(1), placeBits(2), placeBits(3), placeBits(256)); got != "0 1 2 8" {
		t.Errorf("bits of a place: %s", got)
	}
}
