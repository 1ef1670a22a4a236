package fold

import (
	"math"

	"dustwright/unit"
)

// airWays are the troubles of pulse air, valves and controller.
var airWays = []way{
	{cause: "cleaning-off", name: "controller dead at times", comes: sudden, turn: func(s *sim, f *fault, x, t float64) {
		off := dice(f.seed, 95, int64(math.Floor(t/(1800+5400*f.twist)))) < 0.2+1.1*x
		s.k.dead = off || f.end-t < 2400
	}},
	{cause: "cleaning-off", name: "starts far too late", comes: sudden, demand: true, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.startUp = (0.4 + 3*x) * unit.InchWater
	}},
	{cause: "cleaning-off", name: "timer far too slow", comes: sudden, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.pace = 1.5 + 9*x
	}},
	{cause: "cleaning-off", name: "gives up after a few pulses", comes: sudden, demand: true, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.abort = max(1, int(float64(s.m.rows)*(0.75-0.65*x)))
	}},

	{cause: "header-pressure-low", name: "regulator set or crept down", comes: creeping, leastOld: 0.3, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.set *= 1 - 0.05 - 0.48*x
	}},
	{cause: "header-pressure-low", name: "line filter plugged", comes: creeping, leastOld: 0.5, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.supply *= math.Exp(-0.5 - 2.1*x)
	}},
	{cause: "header-pressure-low", name: "compressor cannot follow by day", comes: sudden, leastOld: 0.3, turn: func(s *sim, f *fault, x, t float64) {
		over := s.m.hdr.line - s.m.hdr.set
		s.k.lineDip = over + (0.05+0.55*x)*s.m.hdr.set*clamp(0.75+0.5*wander(f.seed, 96, t, 3000+6000*f.twist), 0, 1.4)
		s.k.supply *= 1 - 0.4*x
	}},
	{cause: "header-pressure-low", name: "a fitting at the header blows", comes: sudden, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.headerLeak += s.leakFor(0.04 + 0.48*x)
	}},

	{cause: "valve-dead", name: "coil burnt", comes: sudden, turn: func(s *sim, f *fault, _, _ float64) {
		s.k.misses[f.row()] = 1
	}},
	{cause: "valve-dead", name: "sticks more often than not", comes: sudden, turn: func(s *sim, f *fault, x, _ float64) {
		s.k.misses[f.row()] = math.Min(1, 0.5+0.6*x)
	}},
	{cause: "valve-dead", name: "wire off and the log sees the coil", comes: sudden, turn: func(s *sim, f *fault, _, _ float64) {
		s.k.misses[f.row()] = 1
		s.k.unseen[f.row()] = true
	}},
	{cause: "valve-dead", name: "frozen in the cold hours", comes: sudden, leastOld: 1.5, turn: func(s *sim, f *fault, x, t float64) {
		if clock := math.Mod(t/3600, 24); x > 0.6 || clock < 8+10*x {
			s.k.misses[f.row()] = 0.97
		}
	}},

	{cause: "valve-weak", name: "diaphragm stiff", comes: creeping, leastOld: 0.3, turn: func(s *sim, f *fault, x, _ float64) {
		s.k.opens[f.row()] = 1 - 0.07 - 0.68*x
	}},
	{cause: "valve-weak", name: "slow pilot", comes: sudden, turn: func(s *sim, f *fault, x, _ float64) {
		s.k.lasts[f.row()] = 1 - 0.07 - 0.66*x
	}},
	{cause: "valve-weak", name: "outlet half shut", comes: sudden, turn: func(s *sim, f *fault, x, _ float64) {
		s.k.opens[f.row()] = 1 - 0.08 - 0.52*x
		s.k.tube[f.row()] = 1 - 0.2*x
	}},
	{cause: "valve-weak", name: "opens as it likes", comes: sudden, turn: func(s *sim, f *fault, x, _ float64) {
		s.k.opens[f.row()] = 1 - clamp((0.14+0.6*x)*(0.5+dice(f.seed, 97, s.shots)), 0, 0.9)
	}},

	{cause: "valve-stuck-open", name: "dirt under the diaphragm", comes: sudden, turn: func(s *sim, f *fault, x, _ float64) {
		// each time it opens, the dirt comes to lie otherwise
		lies := 0.6 + 0.75*dice(f.seed, 98, int64(s.row[f.row()].since))
		s.stuck(f, clamp((0.03+0.52*math.Pow(x, 1.3))*lies, 0.02, 0.75))
	}},
	{cause: "valve-stuck-open", name: "shuts late", comes: sudden, turn: func(s *sim, f *fault, x, _ float64) {
		s.k.late[f.row()] = s.m.hdr.interval * (0.15 + 1.6*x)
		s.k.lateBleed = s.leakFor(0.3 + 0.4*x)
	}},
	{cause: "valve-stuck-open", name: "torn diaphragm tears on", comes: creeping, leastOld: 0.5, turn: func(s *sim, f *fault, x, _ float64) {
		s.stuck(f, 0.03+0.55*math.Pow(x, 1.3))
		s.k.opens[f.row()] = 1 - 0.25*x
	}},
	{cause: "valve-stuck-open", name: "hangs at times", comes: fitful, leastOld: 0.3, turn: func(s *sim, f *fault, x, _ float64) {
		s.stuck(f, 0.06+0.58*math.Pow(x, 1.2))
	}},
}

// leakFor is the share of a valve's flow that takes the header down by a share of its pressure at rest.
func (s *sim) leakFor(fall float64) float64 {
	h := &s.m.hdr
	in := h.supply * math.Min(1, fall*h.set/h.droop)
	return in / (h.valve * h.set * (1 - fall))
}

// stuck lets a valve bleed; the row behind it is blown through meanwhile and takes less dust.
func (s *sim) stuck(f *fault, fall float64) {
	i := f.row()
	s.k.bleeds[i] = s.leakFor(fall)
	s.k.lost[i] += 0.25 * fall
}

// lineWays are the troubles of sensing lines, filters' tightness and bin.
var lineWays = []way{
	{cause: "gauge-line-blocked", name: "dirty side plugs up", comes: creeping, leastOld: 0.4, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.lagDirty = 300 * math.Exp(7*x)
	}},
	{cause: "gauge-line-blocked", name: "clean side plugged", comes: sudden, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.lagClean = 600 * math.Exp(6*x)
	}},
	{cause: "gauge-line-blocked", name: "both sides plugged", comes: sudden, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.lagDirty, s.k.lagClean = 1500*math.Exp(6*x), 1800*math.Exp(6*x)
	}},
	{cause: "gauge-line-blocked", name: "plugs and frees itself", comes: fitful, leastOld: 0.4, turn: func(s *sim, f *fault, x, _ float64) {
		s.k.lagDirty = 1200 * math.Exp(6*x)
		s.k.lagClean = 900 * f.twist * math.Exp(3*x)
	}},

	{cause: "gauge-line-off", name: "clean side off or cracked", comes: sudden, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.crackClean = math.Min(1, 0.04+1.02*x*x)
	}},
	{cause: "gauge-line-off", name: "manifold left open between the sides", comes: sudden, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.even = math.Min(0.99, 0.1+0.95*math.Pow(x, 1.5))
	}},
	{cause: "gauge-line-off", name: "both hoses off", comes: sudden, turn: func(s *sim, f *fault, x, _ float64) {
		f1 := 0.08 + 0.95*x*x
		s.k.crackDirty, s.k.crackClean = math.Min(1, f1), math.Min(1, f1*(0.8+0.5*f.twist))
	}},
	{cause: "gauge-line-off", name: "crossed after work on them", comes: sudden, leastSevere: 0.6, turn: func(s *sim, _ *fault, _, _ float64) {
		s.k.crossed = true
	}},

	{cause: "filter-leak", name: "a hole wears on", comes: creeping, leastOld: 0.5, turn: func(s *sim, f *fault, x, _ float64) {
		s.k.hole[f.row()] = 0.06 + 0.9*x*x
	}},
	{cause: "filter-leak", name: "seal out of its seat", comes: sudden, turn: func(s *sim, f *fault, x, _ float64) {
		s.k.hole[f.row()] = 0.06 + 0.9*x*x
	}},
	{cause: "filter-leak", name: "cracked end cap opens under the pulse", comes: sudden, turn: func(s *sim, f *fault, x, t float64) {
		s.k.hole[f.row()] = (0.06 + 0.9*x*x) * (0.4 + 1.2*math.Exp(-(t-s.row[f.row()].since)/900))
	}},

	{cause: "bin-overfull", name: "nobody empties it", comes: sudden, leastOld: 0.5, bin: true, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.noEmpty = true
		s.k.lift = 0.12 + 0.6*x
	}},
	{cause: "bin-overfull", name: "dust bridges in the hopper", comes: sudden, leastOld: 0.6, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.bridge = 0.97
		s.k.lift = 0.15 + 0.6*x
	}},
	{cause: "bin-overfull", name: "the outlet passes too little", comes: sudden, leastOld: 0.8, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.bridge = 0.35 + 0.5*x
		s.k.lift = 0.15 + 0.6*x
	}},
	{cause: "bin-overfull", name: "emptied far too late", comes: sudden, leastOld: 2, bin: true, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.emptyAt = 2.1
		s.k.lift = 0.15 + 0.6*x
	}},
}
