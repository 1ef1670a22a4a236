package fold

import "math"

// bin is what the dust falls into.
type bin struct {
	volume  float64 // [m3]
	bulk    float64 // [kg/m3]
	full    float64 // dust it holds [kg]
	hopper  float64 // dust that fits above it before the air takes it up [kg]
	days    float64 // of running until it is two thirds full
	emptyAt float64 // level at which people empty it
	every   float64 // how often they look [s]
	lift    float64 // how much a full bin gives back
}

// toBin takes dust that fell.
func (s *sim) toBin(kg float64) {
	s.hopKg += kg * s.k.bridge
	if s.k.bridge == 0 && s.hopKg > 0 { // what hung in the hopper slides down
		slide := math.Min(s.hopKg, 5*kg)
		s.hopKg -= slide
		s.binKg += slide
	}
	s.binKg += kg * (1 - s.k.bridge)
	if s.k.bridge > 0 {
		s.hopKg = math.Min(s.hopKg, 1.2*s.m.bin.hopper)
	}
	s.binKg = math.Min(s.binKg, 1.25*s.m.bin.full)
}

// fill is how full the bin is. Dust lies as a cone: the middle, which the sensor sees, stands a little higher.
func (s *sim) fill() float64 {
	f := s.binKg / s.m.bin.full
	return f + 0.04*math.Sin(math.Pi*clamp(f, 0, 1))
}

// carry is the share of what falls that the air takes up again out of a bin or hopper that is too full.
func (s *sim) carry() float64 {
	f := math.Max(s.binKg/s.m.bin.full, s.hopKg/s.m.bin.hopper)
	return s.k.lift * clamp((f-0.84)/0.22, 0, 1)
}

// empty lets somebody look after the bin.
func (s *sim) empty(t float64) {
	b := &s.m.bin
	hour := math.Floor(t / b.every)
	if hour == s.hour || !s.cal.staffed() {
		return
	}
	s.hour = hour
	full := s.binKg / b.full
	if s.skipped == 0 && full >= b.emptyAt && s.fault != nil && s.fault.way.bin && s.fault.now(t) > 0 {
		s.skipped = math.Max(t, 1)
	}
	if s.k.noEmpty || full < b.emptyAt*s.k.emptyAt {
		return
	}
	left := b.full * 0.03 * dice(s.m.seed, 51, int64(hour))
	s.took += s.binKg - left
	s.binKg = left
}
