package sense

import (
	"math"
	"math/rand/v2"
	"testing"
)

// fanHours makes hours of a machine whose airflow goes as the dP to the power of -0.25, whose suction goes as the
// square of the airflow and whose motor takes the airflow to the power of 0.7; change puts a trouble into the hours
// from a day on. Each reading scatters by half a percent.
func fanHours(days int, seed uint64, change func(day int, air, suction, watts float64) (float64, float64, float64)) []Hour {
	r := rand.New(rand.NewPCG(seed, 1))
	scatter := func() float64 { return 1 + 0.005*r.NormFloat64() }
	var out []Hour
	for i := range days * 24 {
		dp := 700 * (1 + 0.2*math.Sin(float64(i)/5)) * scatter()
		air := math.Pow(dp/700, -0.25)
		suction, watts := air*air, math.Pow(air, 0.7)
		if change != nil {
			air, suction, watts = change(i/24, air, suction, watts)
		}
		h := Hour{Start: int64(i) * 3600, Running: 1, Rows: 60, DP: HourDP{N: 60, P50: float32(dp)}}
		for _, c := range []struct {
			ch Channel
			x  float64
		}{{DP, dp}, {Flow, 2 * air * scatter()}, {FanPower, 9000 * watts * scatter()}, {InletSP, -900 * suction * scatter()}} {
			h.Has |= 1 << c.ch
			h.Stats = append(h.Stats, Stat{N: 60, Mean: float32(c.x)})
		}
		out = append(out, h)
	}
	return out
}

// beyondAt is what a day shows beyond the habits learned from the record up to its end.
func beyondAt(hours []Hour, day int) Day {
	a := newAirflow(usual().file(), &History{Hours: hours})
	s := &summariser{a: a, habits: a.learnHabits(hours, hours[len(hours)-1].Start+3600)}
	d := newDay()
	s.beyond(&d, part{hours: hours[24*day : 24*day+24]})
	return d
}

// A twentieth more airflow at the same dP, a tenth more suction at the same airflow and a twentieth more load at
// the same airflow show as that and nothing else, though the dP swings by a fifth; a sound machine shows nothing.
func TestHabitShowsWhatChanged(t *testing.T) {
	for _, c := range []struct {
		name            string
		change          func(day int, air, suction, watts float64) (float64, float64, float64)
		air, duct, load float64
	}{
		{"sound", nil, 0, 0, 0},
		{"more air", func(day int, a, s, w float64) (float64, float64, float64) {
			if day >= 50 {
				return 1.05 * a, 1.05 * 1.05 * s, math.Pow(1.05, 0.7) * w
			}
			return a, s, w
		}, math.Log(1.05), 0, 0},
		{"a duct half shut", func(day int, a, s, w float64) (float64, float64, float64) {
			if day >= 50 {
				return a, 1.1 * s, w
			}
			return a, s, w
		}, 0, math.Log(1.1) / 2, 0},
		{"the fan works harder", func(day int, a, s, w float64) (float64, float64, float64) {
			if day >= 50 {
				return a, s, 1.05 * w
			}
			return a, s, w
		}, 0, 0, math.Log(1.05)},
		{"it was so for weeks", func(day int, a, s, w float64) (float64, float64, float64) {
			if day >= 20 {
				return 0.8 * a, 0.64 * s, math.Pow(0.8, 0.7) * w
			}
			return a, s, w
		}, math.Log(0.8), 0, 0},
	} {
		d := beyondAt(fanHours(60, 1, c.change), 58)
		for q, want := range map[Quantity]float64{AirBeyond: c.air, DuctBeyond: c.duct, LoadBeyond: c.load} {
			if got := d.Value[q]; !(math.Abs(got-want) < 0.01) || !(d.Sigma[q] < 0.01) {
				t.Errorf("%s: %v is %.4f give or take %.4f, want %.4f", c.name, q, got, d.Sigma[q], want)
			}
		}
	}
}

// Gates of hoods that open and shut from shift to shift make more suction with less air; a damper moved later makes more of
// both by the square law, and nothing of that is the ducts'. An after-filter that fills up while the airflow falls a little
// does not unlearn that its dP goes with the airflow.
func TestHabitKeepsToPhysics(t *testing.T) {
	gates := fanHours(60, 3, func(day int, a, s, w float64) (float64, float64, float64) {
		if day >= 50 {
			return 1.1 * a, 1.1 * 1.1 * s, w
		}
		return a * (1 - 0.1*float64(day%3)), s * (1 + 0.15*float64(day%3)), w
	})
	if shut, d := beyondAt(gates, 48), beyondAt(gates, 58); !(math.Abs(d.Value[DuctBeyond]-shut.Value[DuctBeyond]) < 0.03) {
		t.Errorf("with the damper moved the ducts take %.3f, before it %.3f", d.Value[DuctBeyond], shut.Value[DuctBeyond])
	}
	filling := fanHours(60, 4, nil)
	for i := range filling {
		h := &filling[i]
		air := 1 - 0.001*float64(i/24)
		if i >= 50*24 {
			air *= 0.8
		}
		h.Has = 1<<DP | 1<<Flow | 1<<AfterfilterDP
		h.Stats = []Stat{h.Stats[0], {N: 60, Mean: float32(200 * (1 + 0.005*float64(i/24)) * air)}, {N: 60, Mean: float32(2 * air)}}
	}
	if before, d := beyondAt(filling, 49), beyondAt(filling, 51); !(math.Abs(d.Value[AfterBeyond]-before.Value[AfterBeyond]) < 0.06) {
		t.Errorf("with a fifth less air the after-filter takes %.3f, before it %.3f", d.Value[AfterBeyond], before.Value[AfterBeyond])
	}
}

// A gate of a hood that is shut every other shift takes a tenth of the airflow: that the last hours show it is nothing new. On
// a machine without gates the same hours are told to a hundredth.
func TestHabitKnowsOfGates(t *testing.T) {
	for name, gates := range map[string]bool{"gates": true, "none": false} {
		hours := fanHours(60, 5, nil)
		for i := range hours {
			if gates && i/8%2 == 1 {
				hours[i].Stats[1].Mean *= 0.9
			}
		}
		a := newAirflow(usual().file(), &History{Hours: hours})
		s := &summariser{a: a, habits: a.learnHabits(hours, hours[len(hours)-1].Start+3600)}
		d := newDay()
		s.beyond(&d, part{hours: hours[len(hours)-3:]})
		if got := d.Sigma[AirBeyond]; gates && !(got > 0.03) || !gates && !(got < 0.01) {
			t.Errorf("%s: the last hours' airflow beyond habit is told to %.3f", name, got)
		}
	}
}

// Where the dP never moved the slope of physics stands in; with hardly a day on record nothing is said.
func TestHabitOfFewHours(t *testing.T) {
	hours := fanHours(6, 2, nil)
	for i := range hours {
		hours[i].DP.P50, hours[i].Stats[0].Mean = 700, 700
	}
	a := newAirflow(usual().file(), &History{Hours: hours})
	hs := a.learnHabits(hours, hours[len(hours)-1].Start)
	if len(hs) == 0 || hs[0].q != AirBeyond || math.Abs(hs[0].param[1]+0.2) > 0.05 {
		t.Errorf("learned %+v, want a slope of -0.2", hs)
	}
	if hs := a.learnHabits(hours[:16], hours[15].Start); hs != nil {
		t.Errorf("learned %+v from 16 hours", hs)
	}
}
