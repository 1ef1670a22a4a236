package wash

import (
	"math"

	"dustwright/bench/causes/made"
)

// tankSize is the header with its supply as it was bought.
type tankSize struct {
	volume float64 // [m3]
	set    float64 // [Pa, gauge]
	draw   float64 // how fast an open valve empties it [1/s]
	feed   float64 // most the supply brings [Pa/s]
	droop  float64 // the regulator shuts down over so many seconds
	weeps  float64 // what is lost through fittings [1/s]
}

func newTankSize(d made.Dice, p *plant) tankSize {
	t := tankSize{set: made.OneOf(d, 4.0, 4.5, 5, 5, 5.5, 6)*bar - d.Between(0, 0.3)*bar, droop: d.Between(0.4, 2.5), weeps: d.Spread(1e-6, 2e-4)}
	if d.Chance(0.3) {
		t.set = made.OneOf(d, 60.0, 70, 80, 90) * psi
	}
	drop := d.Spread(0.06, 0.38)
	t.draw = -math.Log(1-drop) / (p.onTime + lag)
	t.volume = p.areaEach * float64(p.perRow) * d.Between(0.35, 0.8) / 1000 / drop * 0.4
	t.feed = drop * (t.set + bar) / min(40, p.interval) * d.Spread(1.2, 5)
	return t
}

// lag is how long a diaphragm stays off its seat after the pilot shuts [s].
const lag = 0.05

// tank is the header at a time.
type tank struct {
	p      float64 // [Pa, gauge]
	lowest float64 // since somebody asked
}

// air is what a tank is fed and loses: what its regulator is set to and the shop's line has [Pa, gauge], the share of its feed that
// gets through, and what runs off through a valve that does not shut [1/s].
type air struct{ set, shop, feed, bleeds float64 }

// later is the pressure some seconds on: what the regulator lets in, as long as the line has it, less what runs off.
func (t tank) later(s *tankSize, dt float64, a air) float64 {
	goal, out, shop := min(a.set, a.shop-0.1*bar), s.weeps+a.bleeds, a.shop
	p := t.p
	n := 1.0
	if dt > 3*s.droop && goal-p > 0.2*s.feed*a.feed*s.droop {
		n = 8
	}
	h := dt / n
	for range int(n) {
		if p > goal { // a check valve keeps it from running back, mostly
			p = (p+0.2*bar)*math.Exp(-(out+2e-5)*h) - 0.2*bar
			p = max(p, min(goal, p), 0)
			continue
		}
		in := s.feed * a.feed * math.Sqrt(max(0, 1-sq(max(0, (p+bar)/(max(shop, 0)+bar)-0.5)*2)))
		if short := (goal - p) / s.droop; short > in {
			if out > 0 {
				end := in/out - bar
				p = min(end+(p-end)*math.Exp(-out*h), goal)
			}
			continue
		}
		k := 1/s.droop + out
		end := (goal/s.droop - bar*out) / k
		p = end + (p-end)*math.Exp(-k*h)
	}
	return max(p, 0)
}

// pulse opens a valve: share is how much of what it should pass it does. It returns how hard the row is hit, 1 as built.
func (t *tank) pulse(p *plant, onTime, share float64) float64 {
	s := &p.tank
	before := t.p
	t.p = max(0, (t.p+bar)*math.Exp(-s.draw*(onTime+lag)*share)-bar)
	t.lowest = min(t.lowest, t.p)
	rise := func(on float64) float64 { return 1 - math.Exp(-(on+0.03)/0.07) }
	return math.Pow(before/s.set, 0.9) * rise(onTime) / rise(p.onTime)
}
