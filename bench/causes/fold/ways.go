package fold

import (
	"math"
	"slices"
)

// ways lists the ways to each trouble. Strengths are guesses: at a quarter a careful engineer with all channels
// just sees it, at one nobody misses it.
var ways = slices.Concat(flowWays, airWays, lineWays)

// flowWays are the troubles of filters, dust and the way of the air.
var flowWays = []way{
	{cause: "filters-blinded", name: "fines bedded in", comes: creeping, leastOld: 5, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.bares *= 1 - 0.25*x
		for i := range s.m.rows {
			s.k.blind[i] += (0.1 + 1.2*x) * (0.85 + 0.3*dice(s.m.seed, 91, int64(i)))
		}
	}},
	{cause: "filters-blinded", name: "pleats bridged", comes: creeping, leastOld: 4, turn: func(s *sim, f *fault, x, _ float64) {
		for i := range s.m.rows {
			s.k.lost[i] += clamp((0.06+0.52*x)*(0.6+0.8*dice(f.seed, 92, int64(i))), 0, 0.8)
		}
	}},
	{cause: "filters-blinded", name: "a spell of fume closed the media", comes: sudden, leastOld: 4, turn: func(s *sim, f *fault, x, t float64) {
		x *= clamp((t-f.onset)/(day*(0.3+2*f.twist))+b2f(f.fromStart), 0.05, 1)
		for i := range s.m.rows {
			s.k.blind[i] += 0.12*x + x
		}
		s.k.hold *= 1 + 0.2*x
	}},

	{cause: "dust-load-heavy", name: "more of the same", comes: sudden, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.load *= 1.15 + 1.5*x
	}},
	{cause: "dust-load-heavy", name: "a dusty product now and then", comes: sudden, leastOld: 1, turn: func(s *sim, f *fault, x, t float64) {
		s.k.load *= 1.1 + 0.4*x
		if dice(f.seed, 93, int64(math.Floor(t/7200))) < 0.5 {
			s.k.load *= 1.2 + 1.9*x
		}
	}},
	{cause: "dust-load-heavy", name: "finer and more", comes: creeping, leastOld: 1.5, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.load *= 1.1 + 1.1*x
		s.k.k2 *= 1 + 0.4*x
	}},
	{cause: "dust-load-heavy", name: "the settling chamber is full", comes: sudden, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.load *= 1.15 + 1.2*x
		s.k.k2 *= 1 - 0.15*x
	}},

	{cause: "cake-damp", name: "damp air drawn in", comes: sudden, leastOld: 0.4, turn: func(s *sim, f *fault, x, _ float64) {
		s.k.wetAir = 0.2 + 0.8*x
		s.k.humid += 0.18 + 0.3*x
		s.dampen(0.5 + 0.5*f.twist)
	}},
	{cause: "cake-damp", name: "water in the pulse air", comes: sudden, leastOld: 0.4, turn: func(s *sim, f *fault, x, _ float64) {
		s.k.pulseWater = 0.08 + 0.85*x
		s.dampen(0.7 + 0.5*f.twist)
	}},
	{cause: "cake-damp", name: "oil mist", comes: creeping, leastOld: 1, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.bares *= 1 - 0.12 - 0.55*x
		s.k.hold *= 1 + 1.5*x
		s.k.k2 *= 1.1 + 0.8*x
	}},
	{cause: "cake-damp", name: "dew on cold starts", comes: sudden, leastOld: 1.5, leastSevere: 0.35, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.dew = 0.35 + 0.65*x
		s.k.humid += 0.1 * x
		s.dampen(1)
	}},

	{cause: "airflow-high", name: "damper left open", comes: sudden, turn: func(s *sim, f *fault, x, _ float64) {
		s.damper(f, 1, x)
	}},
	{cause: "airflow-high", name: "blade slipped open under its pointer", comes: sudden, manual: true, turn: func(s *sim, f *fault, x, _ float64) {
		s.k.slipMix, s.k.slipTo = 1, f.goTo
	}},
	{cause: "airflow-high", name: "new filters and nobody trimmed", comes: sudden, leastOld: 0.5, manual: true, turn: func(s *sim, f *fault, x, t float64) {
		if !s.refitted && (!f.fromStart || t < 0) {
			s.refitted = true
			s.refit(false)
		}
		s.damper(f, 1, x)
	}},

	{cause: "airflow-low", name: "damper closed too far", comes: sudden, turn: func(s *sim, f *fault, x, _ float64) {
		s.damper(f, 1, x)
	}},
	{cause: "airflow-low", name: "blade slipped shut under its pointer", comes: sudden, manual: true, turn: func(s *sim, f *fault, x, _ float64) {
		s.k.slipMix, s.k.slipTo = 1, f.goTo
	}},
	{cause: "airflow-low", name: "damper shakes shut by and by", comes: creeping, leastOld: 1.5, turn: func(s *sim, f *fault, x, _ float64) {
		s.damper(f, x/f.severity, x)
	}},

	{cause: "duct-blocked", name: "dust settles in the main", comes: creeping, leastOld: 1, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.duct *= 1 - 0.06 - 0.57*x
	}},
	{cause: "duct-blocked", name: "something stuck before the inlet", comes: sudden, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.duct *= 1 - 0.06 - 0.62*x
	}},
	{cause: "duct-blocked", name: "a branch is plugged", comes: sudden, turn: func(s *sim, f *fault, x, _ float64) {
		shut := math.Min(0.75, 0.1+0.6*x)
		s.k.shut += shut
		s.k.load *= 1 - 0.7*shut*f.twist
	}},
	{cause: "duct-blocked", name: "a gate falls shut at times", comes: fitful, leastOld: 0.4, turn: func(s *sim, f *fault, x, _ float64) {
		s.k.duct *= 1 - 0.12 - 0.55*x
		s.k.load *= 1 - 0.3*x*f.twist
	}},

	{cause: "leak-inward", name: "hatch open", comes: sudden, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.leak += 0.03 + 0.78*math.Pow(x, 1.4)
	}},
	{cause: "leak-inward", name: "gasket gives way", comes: creeping, leastOld: 1, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.leak += 0.03 + 0.65*math.Pow(x, 1.3)
	}},
	{cause: "leak-inward", name: "bin seal leaks", comes: sudden, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.leak += 0.03 + 0.52*math.Pow(x, 1.3)
		s.k.back *= 1 + 0.8*x
	}},
	{cause: "leak-inward", name: "a hose comes off at times", comes: fitful, leastOld: 0.4, turn: func(s *sim, f *fault, x, _ float64) {
		s.k.leak += 0.1 + 0.9*x
		s.k.load *= 1 - 0.25*x*f.twist
	}},

	{cause: "fan-weak", name: "belt slips", comes: sudden, turn: func(s *sim, f *fault, x, t float64) {
		s.k.speed *= 1 - (0.02+0.26*x)*(1+0.2*wander(f.seed, 94, t, 2500))
	}},
	{cause: "fan-weak", name: "wheel fouled", comes: creeping, leastOld: 1.5, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.head *= 1 - 0.05 - 0.42*x
		s.k.wheel *= 1 - 0.2*x
	}},
	{cause: "fan-weak", name: "turns backwards", comes: sudden, leastSevere: 0.6, turn: func(s *sim, f *fault, _, _ float64) {
		s.k.head *= 0.42 + 0.1*f.twist
		s.k.slip += 0.25
		s.k.wheel *= 0.85 + 0.3*f.twist
	}},
	{cause: "fan-weak", name: "inlet cone worn", comes: creeping, leastOld: 1.5, turn: func(s *sim, _ *fault, x, _ float64) {
		s.k.slip += 0.06 + 0.5*x
		s.k.head *= 1 - 0.08*x
	}},
}

// damper moves the damper to where the trouble wants it, or the automatic's set point with it.
func (s *sim) damper(f *fault, share, x float64) {
	if s.m.holds == byHand {
		s.k.setMix, s.k.setTo = share, f.goTo
		return
	}
	if f.way.cause == "airflow-high" {
		s.k.goal *= 1.05 + 0.22*x
	} else {
		s.k.goal *= 0.95 - 0.38*x
	}
}

// dampen lets water in the cake work on its drag.
func (s *sim) dampen(much float64) { s.k.k2 *= 1 + 1.3*s.wet*much }
