package sense

// fineSlots is how many slots a Fine holds before their width doubles, and fineWidest the width [s]
// from which hours serve as well.
const (
	fineSlots  = 2048
	fineWidest = 1024
)

// Fine keeps a short record in slots of equal width that doubles as the record grows, so that a run
// of minutes on a test bench and a run of weeks are both kept in enough points. It is empty once
// hours are fine enough. Slots are aligned to multiples of the width since 1970.
type Fine struct {
	Width int64 // [s]; 0 not begun
	Done  bool  // given up for hours
	Slots []FineSlot
}

// FineSlot sums up the running rows of one slot that have a dP.
type FineSlot struct {
	K      int64 // start over width
	N      uint32
	Run    float32 // running time [s]
	DP     float64 // sums from here on; the counts of the others are N or none
	Others [len(fineChannels)]float64
	OtherN [len(fineChannels)]uint32
}

// fineChannels are the channels a slot keeps beside dP.
var fineChannels = [...]Channel{Flow, FlowIndex, Temperature, Barometer}

// fine works the rows into the short record.
func (w *scratch) fine(ch chunk, f *Fine) {
	dp := ch.col[DP]
	if f.Done || dp == nil {
		return
	}
	if f.Width == 0 {
		f.Width = 1
	}
	for i, x := range dp {
		if !w.run[i] || x != x {
			continue
		}
		s := f.slot(ch.t[i] / 1e9)
		s.N++
		s.Run += float32(w.dt[i])
		s.DP += x
		for j, c := range fineChannels {
			if col := ch.col[c]; col != nil && col[i] == col[i] {
				s.Others[j] += col[i]
				s.OtherN[j]++
			}
		}
	}
	for len(f.Slots) > fineSlots {
		f.widen()
	}
	if f.Width > fineWidest {
		*f = Fine{Done: true}
	}
}

// slot returns the slot of second t, which is not before the last one.
func (f *Fine) slot(t int64) *FineSlot {
	k := t / f.Width
	if n := len(f.Slots); n == 0 || f.Slots[n-1].K != k {
		f.Slots = append(f.Slots, FineSlot{K: k})
	}
	return &f.Slots[len(f.Slots)-1]
}

// widen doubles the width.
func (f *Fine) widen() {
	out := f.Slots[:0]
	f.Width *= 2
	for _, s := range f.Slots {
		s.K /= 2
		if n := len(out); n > 0 && out[n-1].K == s.K {
			o := &out[n-1]
			o.N += s.N
			o.Run += s.Run
			o.DP += s.DP
			for j := range s.Others {
				o.Others[j] += s.Others[j]
				o.OtherN[j] += s.OtherN[j]
			}
			continue
		}
		out = append(out, s)
	}
	f.Slots = out
}
