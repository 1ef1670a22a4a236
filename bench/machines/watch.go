package machines

import (
	"math"
	"math/rand/v2"

	"dustwright/collector"
	"dustwright/rehearse"
	"dustwright/sense"
	"dustwright/unit"
)

// Instruments are those of a plant that nobody spoils: noise, coarse steps, damping, gain, offset,
// slow drift, lost readings and outages, each drawn over a wide range.
func Instruments(r *rand.Rand, c *collector.Collector) map[rehearse.Channel]rehearse.Instrument {
	messy := 2 * r.Float64() * r.Float64()
	in, psi := float64(unit.InchWater), float64(unit.Psi)
	amps := 10.0
	if a := float64(c.Fan.FullLoadCurrent); a > 0 {
		amps = a
	}
	loss := unit.Share(0.01 * messy * r.Float64())
	gain := func() float64 { return 0.02 * messy * r.NormFloat64() }
	dp := func(full float64) rehearse.Instrument {
		return rehearse.Instrument{Noise: 0.01 * in * messy, Running: 0.04 * in * (0.3 + messy), Step: []float64{0.01, 0.01, 0.02, 0.05}[r.IntN(4)] * in,
			Damping: unit.Seconds(1 + 10*r.Float64()), Gain: gain(), Offset: 0.002 * messy * full * r.NormFloat64(),
			Drift: 0.05 * messy * r.NormFloat64(), Dropout: loss, Outage: 0.01 * unit.Share(messy*r.Float64())}
	}
	return map[rehearse.Channel]rehearse.Instrument{
		rehearse.DP:            dp(2500),
		rehearse.AfterFilterDP: dp(1250),
		rehearse.InletSP:       dp(2500),
		rehearse.Header:        {Noise: 0.3 * psi * messy, Step: []float64{0.1, 0.5, 1}[r.IntN(3)] * psi, Gain: gain(), Dropout: loss},
		rehearse.HeaderLow:     {Noise: 0.4 * psi * messy, Step: []float64{0.1, 0.5, 1}[r.IntN(3)] * psi, Gain: gain(), Dropout: loss},
		rehearse.FanCurrent:    {Running: 0.012 * amps * messy, Step: 0.1, Gain: gain(), Damping: 2, Dropout: loss},
		rehearse.Flow:          {Running: 0.02 * float64(c.Duty.Flow) * (0.5 + messy), Step: 0.001, Damping: 5, Gain: gain(), Dropout: loss},
		rehearse.Emission:      {Noise: 0.2, Running: 0.4 * (0.3 + messy), Step: 0.1},
		rehearse.BinLevel:      {Noise: 0.01 + 0.02*messy, Step: 0.01},
		rehearse.Humidity:      {Noise: 0.01, Step: 0.01, Offset: 0.03 * r.NormFloat64(), Dropout: loss},
	}
}

// Series hands the simulation's columns over as a log.
func Series(in *rehearse.Series) *sense.Series {
	out := &sense.Series{Time: in.Time, Zone: in.Zone, Source: "rehearsal"}
	out.Col = in.Col
	for _, f := range in.Pulses {
		out.Pulses = append(out.Pulses, sense.Firing{Row: f.Row, Valve: f.Valve})
	}
	return out
}

// ByHand keeps one dP reading a day, at about ten in the morning with the fan on, to 0.1 in. w.g.
func ByHand(s *sense.Series) *sense.Series {
	out := &sense.Series{Zone: s.Zone, Source: s.Source}
	var dp []float64
	day := int64(-1)
	for i, t := range s.Time {
		hour := (t / 1e9 % 86400) / 3600
		if d := t / 86400e9; d != day && hour >= 10 && hour < 15 && fanOn(s, i) && !math.IsNaN(s.Col[sense.DP][i]) {
			day = d
			out.Time = append(out.Time, t)
			dp = append(dp, math.Round(s.Col[sense.DP][i]/unit.InchWater*10)/10*unit.InchWater)
		}
	}
	out.Col[sense.DP] = dp
	return out
}

// fanOn tells whether the fan ran, by the gauge where the log does not say.
func fanOn(s *sense.Series, i int) bool {
	if s.Has(sense.Running) {
		return s.At(sense.Running, i) == 1
	}
	return s.At(sense.DP, i) > 0.2*unit.InchWater
}
