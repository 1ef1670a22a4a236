package wash

import "math"

// What a book keeps of every hour, as means while the fan runs; header and lowest at any time.
const (
	ofGauge = iota
	ofPulses
	ofHeader
	ofLowest
	ofFlow
	ofAmps
	ofSuction
	ofAfter
	ofDust
	ofBin
	ofBreath
	ofDamper
	kept
)

// worth is what a difference of each must be to be seen by one who sees everything: of the usual level, or as it stands.
var worth = [kept]float64{ofGauge: 0.07, ofPulses: 0.3, ofHeader: 0.035, ofLowest: 0.05, ofFlow: 0.03, ofAmps: 0.03, ofSuction: 0.06, ofAfter: 0.08,
	ofDust: 0.25, ofBin: 0.15, ofBreath: 0.7, ofDamper: 0.06}

// book is a machine's hours from a time on, to be held against another's.
type book struct {
	from  float64
	hours []entry
	drops []float64 // the header's fall, valve by valve
	fires []float64
}

// entry is one hour of a book.
type entry struct {
	sum     [kept]float64
	ran, at float64
}

func newBook(p *plant, from, to float64) *book {
	return &book{from: from, hours: make([]entry, max(1, int((to-from)/hour)+1)), drops: make([]float64, p.rows), fires: make([]float64, p.rows)}
}

// add books a step.
func (b *book) add(m *machine, e *effect, dt float64) {
	if b == nil || m.t < b.from {
		return
	}
	h := &b.hours[min(int((m.t-b.from)/hour), len(b.hours)-1)]
	h.at += dt
	h.sum[ofHeader] += m.tank.p * dt
	h.sum[ofBin] += m.bin * dt
	if !m.on {
		return
	}
	h.ran += dt
	for k, v := range [...]float64{ofGauge: m.gauge, ofFlow: m.x * (1 - e.lost(m)), ofAmps: m.amps, ofSuction: m.suction,
		ofAfter: m.afterDP, ofDust: m.making(e), ofBreath: m.through(e), ofDamper: m.shown(e)} {
		if k != ofPulses && k != ofHeader {
			h.sum[k] += v * dt
		}
	}
}

// drop books what a pulse took from the header.
func (b *book) drop(v int, fall float64) {
	if b == nil {
		return
	}
	b.drops[v-1] += fall
	b.fires[v-1]++
}

// count books what an hour's pulses were and how low they took the header.
func (b *book) count(m *machine) {
	if b == nil || m.t < b.from {
		return
	}
	h := &b.hours[min(int((m.t-b.from)/hour), len(b.hours)-1)]
	h.sum[ofPulses]++
	h.sum[ofLowest] += m.tank.p
}

// against returns how plainly two books differ over their last days: 1 is worth a second look.
func (b *book) against(o *book, p *plant) float64 {
	first := max(0, len(b.hours)-4*24)
	level := [kept]float64{ofGauge: p.high, ofHeader: p.tank.set, ofLowest: p.tank.set, ofFlow: 1, ofAmps: p.fan.amps, ofSuction: p.duct,
		ofAfter: max(p.after, 1), ofDust: 1, ofBin: p.bin * p.bulk, ofBreath: 1, ofDamper: 1}
	most := 0.0
	for k := range kept {
		mine, other, apart, n := 0.0, 0.0, 0.0, 0.0
		for i := first; i < len(b.hours); i++ {
			u, v, ok := b.hours[i].mean(k), o.hours[i].mean(k), b.hours[i].ran > 600
			if k == ofPulses {
				mine, other = mine+u, other+v
			}
			if ok && !math.IsNaN(u) && !math.IsNaN(v) {
				apart += math.Abs(u - v)
				n++
			}
		}
		if k == ofPulses {
			apart, n, level[k] = math.Abs(mine-other), 1, other+2*float64(p.rows)
		}
		if n > 0 {
			most = max(most, apart/n/level[k]/worth[k])
		}
	}
	return max(most, b.valves(o))
}

// mean is an hour's figure, NaN where there is none.
func (h *entry) mean(k int) float64 {
	switch k {
	case ofPulses:
		return h.sum[k]
	case ofHeader, ofBin:
		return h.sum[k] / h.at
	case ofLowest:
		return h.sum[k] / h.sum[ofPulses]
	}
	return h.sum[k] / h.ran
}

// valves is how plainly one valve's pulses differ from what they were, beside the others'.
func (b *book) valves(o *book) float64 {
	most, all, same := 0.0, 0.0, 0.0
	for v := range b.drops {
		all, same = all+b.drops[v]/max(1, b.fires[v]), same+o.drops[v]/max(1, o.fires[v])
	}
	for v := range b.drops {
		if b.fires[v] > 8 && o.fires[v] > 8 && all > 0 {
			most = max(most, math.Abs(b.drops[v]/b.fires[v]/all-o.drops[v]/o.fires[v]/same)*float64(len(b.drops))/0.15)
		}
	}
	return most
}
