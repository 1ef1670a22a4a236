package wash

import (
	"math"
	"slices"

	"dustwright/collector"
)

// row is the filters behind one valve: bands of media, each with its cake, that hold on to it each in its way.
type row struct {
	cake [strips]float64 // [kg/m2]
	lets [strips]float64 // what each lets through [m3/s/Pa]
	took float64         // dust it has ever taken [kg/m2]
	hard float64         // drag that no pulse takes off [Pa s/m]
	shut float64         // share under dust
}

// bank is all rows side by side.
type bank struct {
	rows []row
	wet  float64 // of the cake, 0 dry to 2 paste
	lets float64 // of all rows [m3/s/Pa]
}

func newBank(p *plant, took float64) bank {
	b := bank{rows: make([]row, p.rows)}
	for i := range b.rows {
		b.rows[i].took = took
		for j := range strips {
			b.rows[i].cake[j] = min(0.6*p.load, p.grip[j])
		}
	}
	b.measure(p)
	return b
}

func (b bank) clone() bank {
	b.rows = slices.Clone(b.rows)
	return b
}

// measure works out what every band lets through.
func (b *bank) measure(p *plant) {
	b.lets = 0
	for i := range b.rows {
		b.lets += b.rows[i].measure(p, i, b.wet)
	}
}

// measure works out one row; media settle in with the dust they have taken, damp cake lies denser.
func (r *row) measure(p *plant, i int, wet float64) float64 {
	bare := p.media*p.uneven[i]*(1+p.season*(1-math.Exp(-r.took/p.seasonBy))) + p.creep*r.took + r.hard
	per, area := p.cake*(1+0.7*wet), p.area/float64(p.rows)/strips*(1-r.shut)
	sum := 0.0
	for j := range strips {
		r.lets[j] = area / (bare + per*r.cake[j])
		sum += r.lets[j]
	}
	return sum
}

// deal lays dust down where the air goes [kg].
func (b *bank) deal(p *plant, kg float64) {
	area := p.area / float64(p.rows) / strips
	per := kg / b.lets / area
	for i := range b.rows {
		r := &b.rows[i]
		by := per * p.bias[i]
		for j := range strips {
			got := by * r.lets[j]
			r.cake[j] += got
			r.took += got / strips
		}
	}
	b.measure(p)
}

// shake pulses row i. What comes off a band is what its own mass, thrown back, pulls loose: the thicker the cake, the
// more readily. Part is drawn back onto this row and its neighbours while the fan draws. It returns what fell [kg].
func (b *bank) shake(p *plant, i int, blow float64, draws bool) float64 {
	r := &b.rows[i]
	area := p.area / float64(p.rows) / strips
	off, hold := 0.0, 1+1.6*b.wet
	for j := range strips {
		x := r.cake[j] * blow / (p.grip[j] * hold)
		x *= x * x
		lost := 0.93 * x / (1 + x) * r.cake[j]
		r.cake[j] -= lost
		off += lost * area
	}
	if back := p.back * off; draws {
		off -= back
		for k, share := range [3]float64{0.25, 0.35, 0.4} {
			b.throw(p, i+k-1, back*share/area/strips)
		}
	}
	for k := max(0, i-1); k <= min(i+1, len(b.rows)-1); k++ {
		for j := range strips {
			b.lets -= b.rows[k].lets[j]
		}
		b.lets += b.rows[k].measure(p, k, b.wet)
	}
	return off
}

// throw lays dust onto a row, or the nearest there is [kg/m2].
func (b *bank) throw(p *plant, i int, each float64) {
	r := &b.rows[min(max(i, 0), len(b.rows)-1)]
	for j := range strips {
		r.cake[j] += each
	}
}

// spare is how far below the low set point a machine can clean when it is set up.
const spare = 0.94

// settle runs the bank at design flow under its controller for two dozen loads, and returns the share of the second half
// in which it cleaned and the mean dP.
func (b *bank) settle(p *plant) (busy, mean float64) {
	step := max(p.interval, p.load/(p.loading*p.face)/40)
	due, cleaning, on, n := 0, p.mode != collector.OnDemand, 0.0, 0.0
	const steps = 1000
	for k := range steps {
		b.deal(p, p.loading*p.flow*step)
		dp := p.flow / b.lets
		if p.mode == collector.OnDemand {
			cleaning = dp >= p.high || cleaning && dp > spare*p.low
		}
		if cleaning {
			for range int(step / p.interval) {
				b.shake(p, p.order[due]-1, 1, true)
				due = (due + 1) % p.rows
				if p.mode == collector.OnDemand && p.flow/b.lets <= spare*p.low {
					break
				}
				on++
			}
		}
		if k > steps/2 {
			n++
			mean += dp
		} else {
			on = 0
		}
	}
	busy = on * p.interval / (n * step)
	if p.mode != collector.OnDemand {
		busy = 0
		if mean/n > 0.95*p.high {
			busy = 1
		}
	}
	return busy, mean / n
}
