package stencil

import "math"

// wind is where fan and system meet at one moment.
type wind struct {
	flow     float64 // through filters and fan [m3/s]
	hoods    float64 // of which through the hoods
	dp       float64 // across the filters [Pa]
	after    float64 // across the after-filter [Pa]
	suction  float64 // at the inlet [Pa], positive
	electric float64 // [W]
	current  float64 // [A]
}

// hood is one hood with its gate.
type hood struct {
	open bool
	next float64 // when somebody next moves it [s]
}

// branches is the conductance of ducts and hoods [m3/s/sqrt(Pa)] with the gates as they are.
func (w *world) branches() float64 {
	each := w.design / (float64(w.open) * math.Sqrt((1-w.main)*w.suction))
	sum := 0.0
	for _, h := range w.gates {
		if h.open {
			sum += each
		} else {
			sum += w.shut * each
		}
	}
	block := 1.0
	if l := w.level(blocked); l > 0 {
		block += 9 * math.Pow(l, 1.3) * (0.85 + 0.3*w.hourly(3))
	}
	return 1 / math.Sqrt(w.main*w.suction/(w.design*w.design)*block+1/(sum*sum))
}

// hatch is the conductance of what stands open past the hoods.
func (w *world) hatch() float64 {
	l := w.level(inward)
	if l == 0 || w.kind < 0.3 && w.hourly(4) > 0.65 {
		return 0
	}
	return (0.08 + 0.85*l) * w.design / math.Sqrt(w.suction)
}

// damperLoss is the damper's resistance at a position [Pa/(m3/s)2].
func (s *shop) damperLoss(pos float64) float64 {
	return s.wide / (s.design * s.design) * math.Exp(s.slope*(1-pos))
}

// fanPressure is the fan's static pressure at a flow and a share of full speed, usual density [Pa].
func (s *shop) fanPressure(q, n float64) float64 {
	return n * n * s.rest * (1 - math.Pow(max(0, q)/(n*s.knee), s.curve))
}

// position is that of the damper, and turns how fast the fan runs, with what is wrong with them.
func (w *world) position() float64 {
	pos := w.damper
	if w.drive == belt || w.drive == speed && w.kind < 0.5 {
		pos += w.level(tooMuch) * 0.9 * (1 - pos)
		pos *= 1 - 0.55*w.level(tooLittle)
	}
	return pos
}

// turns is the fan's speed over that it was commissioned at.
func (w *world) turns() float64 {
	n := w.n
	if w.drive == speed && w.kind >= 0.5 {
		n *= 1 + 0.2*w.level(tooMuch)
		n *= 1 - 0.32*w.level(tooLittle)
	}
	if l := w.level(weak); l > 0 && w.drive == belt && w.kind < 0.6 {
		n *= 1 - (0.03+0.3*l)*(0.8+0.4*w.hourly(5))
	}
	return n
}

// govern moves the speed of a fan that holds the pressure at the inlet.
func (w *world) govern(dt float64) {
	if w.drive != pressure || w.now.suction <= 0 {
		return
	}
	want := w.suction * w.held * (1 + 0.55*w.level(tooMuch)) * (1 - 0.55*w.level(tooLittle))
	pull := math.Pow(want/w.now.suction, 0.5*min(1, dt/30))
	w.n = min(1.1, max(0.55, w.n*pull))
}

// blow finds where fan and system meet.
func (w *world) blow() {
	if !w.running {
		w.now = wind{}
		return
	}
	heavy := w.air.density / 1.2
	g, leak := w.branches(), w.hatch()
	n, foul := w.turns(), 1.0
	if l := w.level(weak); l > 0 && (w.drive != belt || w.kind >= 0.6) {
		foul = 1 - 0.5*l
	}
	square := heavy * (1/((g+leak)*(g+leak)) + w.damperLoss(w.position()))
	warm := math.Pow(w.air.temperature/293, 0.7) // viscosity
	cloth := warm / (w.area * w.conductance())
	line := cloth
	if w.after > 0 {
		line += warm * (w.after + w.afterDust) / w.design
	}
	q := w.lastFlow
	for range 6 {
		f := heavy*foul*w.fanPressure(q, n) - square*q*q - line*q
		slope := heavy*foul*n*n*w.rest*w.curve/(n*w.knee)*math.Pow(q/(n*w.knee), w.curve-1) + 2*square*q + line
		step := f / slope
		q = max(0.02*w.design, q+step)
		if math.Abs(step) < 1e-4*w.design {
			break
		}
	}
	w.lastFlow = q
	a := wind{flow: q, hoods: q * g / (g + leak), dp: q * cloth}
	a.after = q * (line - cloth)
	a.suction = heavy * q * q / ((g + leak) * (g + leak))
	shaft := w.shaft(q/n) * n * n * n * heavy * (1 - 0.35*(1-foul))
	a.electric = shaft / 0.9
	load := shaft / (root3 * w.volts * 0.84 * 0.9)
	a.current = math.Hypot(load, w.magn)
	w.now = a
}
