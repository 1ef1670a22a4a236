package duct

import (
	"math"
	"slices"

	"dustwright/unit"
)

// finish puts together what only the whole file can tell.
func (r *traverseReader) finish() {
	r.section()
	d := r.t.Section.Hydraulic()
	for _, s := range []struct {
		written string
		to      *unit.Length
	}{{r.before, &r.t.Before}, {r.after, &r.t.After}} {
		if s.written == "" {
			continue
		}
		if l, err := r.straight(s.written, d); err == nil { // an error was reported with its line
			*s.to = l
		}
	}
	r.setResolution()
	r.lines()
	if len(r.faults) == 0 && len(r.t.Readings) == 0 {
		r.fault(0, 0, "there is no reading below the header")
	}
	for i := range r.t.Readings {
		reading := &r.t.Readings[i]
		if depth := r.t.depth(); reading.Position > depth*(1+1e-9) || reading.Position < 0 {
			r.unread(reading.Row, 0, "the position lies outside the duct, which is %s (%s) deep", depth.In(unit.US), depth.In(unit.SI))
			reading.Position = unit.Length(math.NaN())
		}
	}
}

// section checks shape and dimensions against each other.
func (r *traverseReader) section() {
	s := &r.t.Section
	round, wide, high := have(s.Diameter), have(s.Width), have(s.Height)
	if r.shape == "" {
		r.shape = "round"
		if wide || high {
			r.shape = "rectangular"
		}
	}
	line := max(r.keyLine["duct"], r.keyLine["diameter"], r.keyLine["width"], r.keyLine["height"])
	switch {
	case r.reported("diameter", "width", "height", "duct"):
	case r.shape == "round" && (wide || high):
		r.fault(line, 0, "a round duct has a diameter, no width and no height")
	case r.shape == "round" && !round:
		r.fault(line, 0, "the duct's size is missing; write a line # diameter: 12 in, or for a rectangular duct # width: 24 in and # height: 12 in")
	case r.shape == "rectangular" && round:
		r.fault(line, 0, "a rectangular duct has a width and a height, no diameter")
	case r.shape == "rectangular" && !(wide && high):
		r.fault(line, 0, "a rectangular duct needs both # width: and # height:")
	}
	if r.shape == "round" {
		s.Width, s.Height = 0, 0
	} else {
		s.Diameter = 0
	}
}

// reported tells whether one of the keys stands in the list of faults already.
func (r *traverseReader) reported(keys ...string) bool {
	return slices.ContainsFunc(r.faults, func(f TraverseFault) bool {
		return slices.ContainsFunc(keys, func(k string) bool { return f.Line > 0 && f.Line == r.keyLine[k] })
	})
}

// unknownStep stands for a resolution that nobody knows and that the digits do not show.
const unknownStep = "unknown"

// setResolution takes the resolution written, else that of the digits.
func (r *traverseReader) setResolution() {
	if r.resolution == "" {
		if r.step > 0 {
			r.t.Instrument.Resolution = r.step
		}
		return
	}
	if r.resolution == unknownStep {
		return
	}
	kind := unit.KindPressure
	if _, speeds := r.columns["velocity"]; speeds {
		kind = unit.KindVelocity
	}
	v, err := unit.Parse(kind, decimalPoint(r.resolution, r.comma != ','))
	if err != nil || v < 0 {
		r.fault(r.keyLine["resolution"], 0, "resolution: %q is no smallest step of the readings; write it like 0.01 in.w.g., or 10 fpm for velocities", shortText(r.resolution))
		return
	}
	r.t.Instrument.Resolution = v
}

// lines numbers the points of a line that has positions only, from the near wall on.
func (r *traverseReader) lines() {
	if _, numbered := r.columns["point"]; numbered {
		return
	}
	if _, placed := r.columns["position"]; !placed {
		return
	}
	positions := map[int][]float64{}
	for i := range r.t.Readings {
		x := &r.t.Readings[i]
		x.Line = max(x.Line, 1)
		if have(x.Position) {
			positions[x.Line] = append(positions[x.Line], float64(x.Position))
		}
	}
	for line, all := range positions {
		slices.Sort(all)
		positions[line] = slices.Compact(all)
	}
	for i := range r.t.Readings {
		x := &r.t.Readings[i]
		if n, found := slices.BinarySearch(positions[x.Line], float64(x.Position)); found {
			x.Number = n + 1
		}
	}
}
