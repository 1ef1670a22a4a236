package stencil

import "math"

// shopLine is the pressure of the shop's compressed air before the regulator [Pa gauge]: it sags by day as others draw.
func (w *world) shopLine() float64 {
	if w.nightOff && !w.manned {
		return 0
	}
	line := w.line
	if w.manned {
		hour := math.Mod(w.t/3600, 24)
		swing := max(0, math.Sin(math.Pi*(hour-w.hours.from+1)/(w.hours.hours+2)))
		line -= (w.sag + w.tale.shared(w.t/86400)*(w.line-w.set)) * swing * (0.5 + w.hourly(6))
	}
	l := w.level(lowAir)
	if w.kind >= 0.6 {
		line *= 1 - 0.6*l
	}
	return line
}

// breathe lets the hose fill the header and its leaks empty it. Filling is by the difference of pressures, and the
// regulator shuts at its setting.
func (w *world) breathe(dt float64) {
	set, refill := w.set*w.setBy, w.refill
	l := w.level(lowAir)
	switch {
	case w.kind < 0.35:
		set *= 1 - 0.5*l
	case w.kind < 0.6:
		refill *= 1 + 7*l
	}
	line := w.shopLine()
	drain := w.bleed
	if s := w.level(stuckOpen); s > 0 && (s >= 0.5 || w.t < w.hangs) {
		drain += (0.1 + 1.1*s) / refill
	}
	in := 0.0
	if line > w.header {
		in = 1 / refill
	}
	if in+drain == 0 {
		return
	}
	rest := (line*in - 1e5*drain) / (in + drain)
	next := rest + (w.header-rest)*math.Exp(-dt*(in+drain))
	if next > set {
		next = max(set, min(next, w.header*math.Exp(-dt*drain)))
	}
	w.header = max(0, next)
	w.least = min(w.least, w.header)
}

// fire opens a valve: it takes air from the header, and its row lets go of cake.
func (w *world) fire(valve int) {
	w.fired = append(w.fired, uint8(valve))
	w.count++
	opening := 1.0
	if valve == w.number {
		if l := w.level(dead); l > 0 && w.chance.Float64() < 0.75+0.3*l {
			return
		}
		opening -= 0.85 * w.level(feeble)
	}
	opening *= 0.94 + 0.12*w.chance.Float64()
	abs := w.header + 1e5
	took := abs * min(0.7, w.dip*opening)
	energy := opening * w.header / w.set
	if valve == w.number {
		if l := w.level(stuckOpen); l > 0 {
			w.hangs = w.t + 8 + 50*l
			energy *= 1 - 0.6*l
		}
	}
	r := &w.cloth[valve-1]
	fell := w.puff(r, energy, w.now.dp*r.open)
	w.header = max(0, w.header-took)
	w.least = min(w.least, w.header)
	w.spike = energy
	w.smoke += w.gram * w.fine * r.share * energy * (2*r.bare + 300*r.leak/r.open)
	over := w.overfull()
	back := min(0.95, w.back+0.8*over)
	if !w.running {
		back *= 0.25
	}
	w.falls += fell * (1 - back)
	w.aloft += fell * back
}

// overfull is how much the bin throws dust back up, 0 to 1.
func (w *world) overfull() float64 {
	l := w.level(binFull)
	if l > 0 && w.kind < 0.3 { // a bridge in the cone
		return l
	}
	full := min(1, max(0, (w.binKg/(w.heap*w.bin)-0.78)/0.2))
	if l == 0 {
		return 0.3 * full
	}
	return full * (0.3 + 0.7*l)
}

// collect lets what fell lie in the bin, and empties it now and then.
func (w *world) collect(day float64) {
	bridged := w.kind < 0.3 && w.level(binFull) > 0
	most := w.heap * w.bin
	if !bridged {
		w.binKg = min(most, w.binKg+w.falls/1000)
		w.dropped += w.falls
		w.falls = 0
	}
	forgot := w.fault == binFull && w.kind >= 0.3 && day > w.skips
	due := day >= w.nextEmpty || w.binKg > 0.62*most
	if w.manned && due && !forgot && !bridged {
		w.taken = w.binKg
		w.binKg = 0.01 * most
		w.nextEmpty = day + w.every*(0.8+0.4*w.hourly(7))
	}
}
