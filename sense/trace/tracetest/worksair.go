package tracetest

import "math"

// worksStep is the step of the integration [s].
const worksStep = 0.002

// worksAir is what fills the header.
type worksAir struct {
	regulator float64 // wide open, share of a sound valve
	pipe      float64 // from the main to the line, share of a sound valve
	line      float64 // volume of the line over the header's
	band      float64 // of the regulator, share of the set pressure
	backlash  float64 // share of the set pressure
	lag       float64 // [s]
	main      float64 // over the set pressure
	others    float64 // flow that others draw at once, share of a sound valve
	each, off float64 // mean lengths of their draws and rests [s]
	jump      float64 // of the set pressure, share
	jumpAt    float64 // [s]
	trend     float64 // of the main over the trace, share
}

func (a *worksAir) draw(p *worksPlan) {
	*a = worksAir{regulator: p.in(0.04, 0.15), pipe: p.in(0.06, 0.3), line: p.in(1, 8), band: p.in(0.02, 0.12), lag: p.in(0.01, 0.1), main: p.in(1.12, 1.5)}
	if p.chance(0.2) {
		a.regulator, a.pipe = p.in(0.008, 0.03), p.in(0.01, 0.06)
		p.tag("air-poor")
	}
	if p.chance(0.35) {
		a.backlash = p.in(0.003, 0.02)
		p.tag("backlash")
	}
	if p.chance(0.15) {
		a.lag = p.in(0.2, 1)
		p.tag("slow-regulator")
	}
	if p.chance(0.3) {
		a.others, a.each, a.off = a.pipe*p.in(0.3, 0.9), p.in(3, 60), p.in(5, 90)
		p.tag("others-draw")
	}
	if p.chance(0.12) {
		a.jump, a.jumpAt = p.in(-0.15, 0.12), p.begin+p.in(0.15, 0.85)*(p.end-p.begin)
		p.tag("level-jump")
	}
	if p.chance(0.1) {
		a.trend = p.in(-0.12, 0.1)
		p.tag("main-drifts")
	}
}

// venant is the mass flow through an orifice over the choked flow from the same upstream pressure.
func venant(down, up float64) float64 {
	r := down / up
	if r >= 1 {
		return 0
	}
	if r <= 0.5283 {
		return 1
	}
	return math.Sqrt(math.Max(0, math.Pow(r, 1.4286)-math.Pow(r, 1.7143))) / 0.2588
}

// steady is the flow into the header, over that of a sound valve at 1 Pa, at which supply and line rest at an absolute pressure.
func (a *worksAir) steady(p *worksPlan, header float64) float64 {
	const ambient = 101325
	x := math.Max(0, math.Min(1, (1+a.band/2-(header-ambient)/p.set)/a.band))
	lo, hi := header, p.set*a.main+ambient
	for range 50 {
		mid := (lo + hi) / 2
		if a.pipe*hiFlow(p.set*a.main+ambient, mid) > a.regulator*x*mid*venant(header, mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return a.regulator * x * lo * venant(header, lo)
}

// hiFlow is the flow down a pipe with the root of the difference of squares.
func hiFlow(up, down float64) float64 {
	return math.Sqrt(math.Max(0, up*up-down*down))
}

// bleedFor is the opening, over a sound valve, that brings the resting level down by a share of the set pressure.
func (p *worksPlan) bleedFor(share float64) float64 {
	header := p.set*(1-share) + 101325
	return p.air.steady(p, header) / (header * venant(101325, header))
}

// run integrates header and line over the whole timetable; the result is gauge pressure by worksStep.
func (p *worksPlan) run(open []float64) []float64 {
	const ambient = 101325
	a := p.air
	out := make([]float64, len(open))
	header, line := p.set+ambient, p.set*a.main+ambient
	x, drawn, change := 0.05, 0.0, p.in(0, 40)
	rate := p.full * p.exponent
	settle := int(60 / worksStep) // so that level and backlash do not remember the start
	for k := -settle; k < len(open); k++ {
		i := max(k, 0)
		t := float64(k) * worksStep
		set, main := p.set, p.set*a.main*(1+a.trend*math.Max(0, t)/p.end)+ambient
		if a.jump != 0 && t > a.jumpAt {
			set *= 1 + a.jump
		}
		if a.others > 0 && t > change-60 {
			if drawn > 0 {
				drawn, change = 0, change+a.off*p.rng.ExpFloat64()
			} else {
				drawn, change = a.others*p.in(0.5, 1), change+a.each*p.rng.ExpFloat64()
			}
		}
		e := (1 + a.band/2 - (header-ambient)/set) / a.band
		loose := a.backlash / a.band
		goal := math.Max(0, math.Min(1, math.Max(e-loose, math.Min(e+loose, x))))
		x += (goal - x) * worksStep / (a.lag + worksStep)
		in := a.regulator * x * line * venant(header, line)
		held := open[i]
		if k < 0 {
			held = 0
		}
		header += rate * (in - held*header*venant(ambient, header)) * worksStep
		line += p.full / a.line * (a.pipe*hiFlow(main, line) - in - drawn*line) * worksStep
		line = math.Max(line, ambient)
		out[i] = header - ambient
	}
	return out
}
