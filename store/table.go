package store

import (
	"encoding/binary"
	"hash/crc32"
	"math"
	"math/bits"
	"slices"
)

// Instruments resolve a few hundred steps and loggers keep their pace, so that most chunks have few different values and
// steps in time. Those are kept as a table of the values with the place of each sample's in it: smaller than compressed,
// and read back in a tenth of the time.

// tabled is the first byte of such a chunk.
const tabled = 2

// More different values, or more changes of pace, and a chunk is compressed.
const (
	mostValues = 256
	mostPaces  = 16
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// table writes samples as a table: the format, a checksum of what follows, their number, the first time; how many paces
// there are, each with its length in samples and its step; how many values there are, their bytes, and for each sample
// the place of its value, in as many bits as the last place has, lowest bits first. It is false where there is too much
// of either, or no sample.
func table(s samples) ([]byte, bool) {
	if len(s.v) == 0 {
		return nil, false
	}
	values := make([]uint32, len(s.v))
	for i, v := range s.v {
		values[i] = math.Float32bits(v)
	}
	slices.Sort(values)
	if values = slices.Compact(values); len(values) > mostValues {
		return nil, false
	}
	width := placeBits(len(values))
	out := make([]byte, 5, 32+4*len(values)+len(s.v)*width/8)
	out[0] = tabled
	out = binary.AppendUvarint(out, uint64(len(s.t)))
	out, ok := appendPaces(out, s.t)
	if !ok {
		return nil, false
	}
	out = binary.AppendUvarint(out, uint64(len(values)))
	for _, v := range values {
		out = binary.LittleEndian.AppendUint32(out, v)
	}
	var waiting uint64
	n := 0
	for _, v := range s.v {
		place, _ := slices.BinarySearch(values, math.Float32bits(v))
		waiting |= uint64(place) << n
		for n += width; n >= 8; n -= 8 {
			out = append(out, byte(waiting))
			waiting >>= 8
		}
	}
	if n > 0 {
		out = append(out, byte(waiting))
	}
	binary.LittleEndian.PutUint32(out[1:], crc32.Checksum(out[5:], castagnoli))
	return out, true
}

// placeBits is how many bits the place in a table of n values takes.
func placeBits(n int) int { return bits.Len(uint(max(n, 1) - 1)) }

// appendPaces writes the first time, and the steps between times as stretches of equal ones; false where there are too many.
func appendPaces(out []byte, t []int64) ([]byte, bool) {
	type pace struct {
		n    int
		step int64
	}
	var paces []pace
	for i := 1; i < len(t); i++ {
		step := t[i] - t[i-1]
		if k := len(paces); k > 0 && paces[k-1].step == step {
			paces[k-1].n++
			continue
		}
		if len(paces) == mostPaces {
			return nil, false
		}
		paces = append(paces, pace{1, step})
	}
	out = binary.AppendVarint(out, t[0])
	out = binary.AppendUvarint(out, uint64(len(paces)))
	for _, p := range paces {
		out = binary.AppendUvarint(out, uint64(p.n))
		out = binary.AppendVarint(out, p.step)
	}
	return out, true
}

// reader takes numbers off bytes; bad once they did not hold what was asked for.
type reader struct {
	data []byte
	bad  bool
}

func (r *reader) uvarint(most uint64) int {
	x, k := binary.Uvarint(r.data)
	if k <= 0 || x > most {
		r.bad = true
		return 0
	}
	r.data = r.data[k:]
	return int(x)
}

func (r *reader) varint() int64 {
	x, k := binary.Varint(r.data)
	if k <= 0 {
		r.bad = true
		return 0
	}
	r.data = r.data[k:]
	return x
}

// untable appends the samples of a table, without the format before it, to into.
func untable(data []byte, into *samples) error {
	if len(data) < 4 || binary.LittleEndian.Uint32(data) != crc32.Checksum(data[4:], castagnoli) {
		return errDamaged
	}
	r := reader{data: data[4:]}
	n, from := r.uvarint(maxChunk), len(into.t)
	times, values := slices.Grow(into.t, n)[:from+n], slices.Grow(into.v, n)[:from+n]
	if !r.times(times[from:]) || !r.values(values[from:]) {
		return errDamaged
	}
	into.t, into.v = times, values
	return nil
}

// times reads what appendPaces wrote.
func (r *reader) times(out []int64) bool {
	t := r.varint()
	paces := r.uvarint(mostPaces)
	if len(out) == 0 {
		return false
	}
	out[0] = t
	out = out[1:]
	for range paces {
		n, step := r.uvarint(maxChunk), r.varint()
		if n > len(out) {
			return false
		}
		for i := range out[:n] {
			t += step
			out[i] = t
		}
		out = out[n:]
	}
	return !r.bad && len(out) == 0
}

// values reads the table, and each sample's value by its place.
func (r *reader) values(out []float32) bool {
	n := r.uvarint(mostValues)
	width := placeBits(n)
	if r.bad || n == 0 || len(r.data) != 4*n+(len(out)*width+7)/8 {
		return false
	}
	var table [mostValues]float32
	for i := range n {
		table[i] = math.Float32frombits(binary.LittleEndian.Uint32(r.data[4*i:]))
	}
	places, mask := r.data[4*n:], uint64(1)<<width-1
	var waiting uint64
	have, next := 0, 0
	for i := range out {
		for have < width {
			waiting |= uint64(places[next]) << have
			next, have = next+1, have+8
		}
		out[i] = table[byte(waiting&mask)]
		waiting, have = waiting>>width, have-width
	}
	return true
}
