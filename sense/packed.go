package sense

import (
	"encoding/binary"
	"errors"
	"math"
)

// Hours and cycles are nearly all of a written History; they are packed by hand, five times as fast as gob does it. A
// number is a varint, a value its four bytes, a Reading the bits of the channels it holds and their values.

// hourList is hours as they are written.
type hourList []Hour

// cycleList is cycles as they are written.
type cycleList []Cycle

// GobEncode packs the hours.
func (l hourList) GobEncode() ([]byte, error) {
	w := make(packer, 0, 16+150*len(l))
	w.number(int64(len(l)))
	var start int64
	for i := range l {
		h := &l[i]
		w.number(h.Start-start, int64(h.Last), int64(h.Rows), int64(h.Pulses), int64(h.Offline), int64(h.Has), int64(len(h.Stats)))
		w.values(h.Step, h.Running, h.Cleaning)
		start = h.Start
		for _, s := range h.Stats {
			w.number(int64(s.N))
			w.values(s.Mean, s.SD, s.Min, s.Max)
		}
		d, a := &h.DP, &h.Air
		w.number(int64(d.N), int64(d.Frozen), int64(d.Negative), int64(d.Still), int64(a.N), int64(a.BusyN), int64(a.SoonN), int64(a.LateN), int64(a.StoodN))
		w.values(d.P10, d.P50, d.P90, d.Noise, d.StillMean, d.Fall, d.Start)
		w.reading(&d.Low)
		w.values(a.Rest, a.Noise, a.Trend, a.Busy, a.Soon, a.Late, a.Stood)
	}
	return w, nil
}

// GobDecode unpacks what GobEncode packed.
func (l *hourList) GobDecode(data []byte) error {
	r := unpacker{data: data}
	*l = make(hourList, r.count())
	stats := make([]Stat, 0, 4*len(*l))
	var start int64
	for i := range *l {
		h := &(*l)[i]
		start += r.number()
		h.Start, h.Last, h.Rows = start, uint16(r.number()), uint32(r.number())
		h.Pulses, h.Offline, h.Has = uint32(r.number()), uint32(r.number()), uint32(r.number())
		n := r.count()
		r.values(&h.Step, &h.Running, &h.Cleaning)
		from := len(stats)
		for range n {
			s := Stat{N: uint32(r.number())}
			r.values(&s.Mean, &s.SD, &s.Min, &s.Max)
			stats = append(stats, s)
		}
		if n > 0 {
			h.Stats = stats[from:len(stats):len(stats)]
		}
		d, a := &h.DP, &h.Air
		d.N, d.Frozen, d.Negative, d.Still = uint32(r.number()), uint32(r.number()), uint32(r.number()), uint32(r.number())
		a.N, a.BusyN, a.SoonN, a.LateN, a.StoodN = uint32(r.number()), uint32(r.number()), uint32(r.number()), uint32(r.number()), uint32(r.number())
		r.values(&d.P10, &d.P50, &d.P90, &d.Noise, &d.StillMean, &d.Fall, &d.Start)
		r.reading(&d.Low)
		r.values(&a.Rest, &a.Noise, &a.Trend, &a.Busy, &a.Soon, &a.Late, &a.Stood)
	}
	return r.err
}

// GobEncode packs the cycles.
func (l cycleList) GobEncode() ([]byte, error) {
	w := make(packer, 0, 16+120*len(l))
	w.number(int64(len(l)))
	var start int64
	for i := range l {
		c := &l[i]
		kind := int64(c.By)
		if c.Long {
			kind |= longBit
		}
		if c.Cut {
			kind |= cutBit
		}
		w.number(c.Start-start, c.End-c.Start, kind, int64(c.Pulses))
		start = c.Start
		w.reading(&c.Before)
		w.reading(&c.After)
		w.values(c.BeforeSD, c.AfterSD, c.Filtering, c.Rise, c.RiseEarly, c.RiseLate)
	}
	return w, nil
}

// What a cycle is apart from what shows it.
const (
	longBit = 1 << 8
	cutBit  = 1 << 9
)

// GobDecode unpacks what GobEncode packed.
func (l *cycleList) GobDecode(data []byte) error {
	r := unpacker{data: data}
	*l = make(cycleList, r.count())
	var start int64
	for i := range *l {
		c := &(*l)[i]
		start += r.number()
		c.Start, c.End = start, start+r.number()
		kind := r.number()
		c.By, c.Long, c.Cut, c.Pulses = CycleSource(kind), kind&longBit > 0, kind&cutBit > 0, int32(r.number())
		r.reading(&c.Before)
		r.reading(&c.After)
		r.values(&c.BeforeSD, &c.AfterSD, &c.Filtering, &c.Rise, &c.RiseEarly, &c.RiseLate)
	}
	return r.err
}

// packer appends to bytes.
type packer []byte

func (w *packer) number(list ...int64) {
	for _, x := range list {
		*w = binary.AppendVarint(*w, x)
	}
}

func (w *packer) values(list ...float32) {
	for _, x := range list {
		*w = binary.LittleEndian.AppendUint32(*w, math.Float32bits(x))
	}
}

func (w *packer) reading(r *Reading) {
	has := 0
	for slot, x := range r {
		if x == x {
			has |= 1 << slot
		}
	}
	*w = binary.LittleEndian.AppendUint16(*w, uint16(has))
	for _, x := range r {
		if x == x {
			w.values(x)
		}
	}
}

var errPacked = errors.New("its hours or cycles are cut short or damaged")

// unpacker takes off bytes what a packer appended; past their end it gives zeros and has err.
type unpacker struct {
	data []byte
	err  error
}

func (r *unpacker) number() int64 {
	x, k := binary.Varint(r.data)
	if k <= 0 {
		r.data, r.err = nil, errPacked
		return 0
	}
	r.data = r.data[k:]
	return x
}

// count reads how many things follow, each of at least one byte.
func (r *unpacker) count() int {
	n := r.number()
	if n < 0 || n > int64(len(r.data)) {
		r.data, r.err = nil, errPacked
		return 0
	}
	return int(n)
}

func (r *unpacker) values(list ...*float32) {
	if len(r.data) < 4*len(list) {
		r.data, r.err = nil, errPacked
		return
	}
	for i, x := range list {
		*x = math.Float32frombits(binary.LittleEndian.Uint32(r.data[4*i:]))
	}
	r.data = r.data[4*len(list):]
}

func (r *unpacker) reading(to *Reading) {
	*to = noReading()
	if len(r.data) < 2 {
		r.data, r.err = nil, errPacked
		return
	}
	has := binary.LittleEndian.Uint16(r.data)
	r.data = r.data[2:]
	for slot := range to {
		if has>>slot&1 == 1 {
			r.values(&to[slot])
		}
	}
}
