package collector

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"dustwright/header"
	"dustwright/unit"
	"dustwright/unit/unittest"
)

// published is where the check values of compressed air stand.
const published = "../header/testdata/"

const scfm = unit.CubicFoot / 60

// asked works out a collector's air and fails where that can't be.
func asked(t testing.TB, c *Collector, r AirRequest) *AirUse {
	t.Helper()
	if f := r.Faults(); f != nil {
		t.Fatalf("the request cannot be: %v", f)
	}
	use, err := c.AirUse(r)
	if err != nil {
		t.Fatal(err)
	}
	return use
}

// atSea is the example at sea level with another header.
func atSea(t testing.TB, v unit.Volume, set unit.Pressure) *Collector {
	t.Helper()
	c := dc1(t)
	c.Site.Elevation, c.Header.Volume, c.Header.Set = 0, v, set
	return c
}

// The US Navy's published pressure tests come back. Their free air is at 14.7 psia, ours at 14.5.
func TestLeakTestAgainstPublished(t *testing.T) {
	c := atSea(t, 629*unit.CubicFoot, 90*unit.Psi)
	for _, row := range unittest.Table(t, published+"pressure_test_leak.csv") {
		r := NewAirRequest()
		r.Decay = Fall{unit.Pressure(row.Float("p_start_psig") * unit.Psi), unit.Pressure(row.Float("p_end_psig") * unit.Psi), unit.Seconds(60 * row.Float("interval_min"))}
		l := asked(t, c, r).HeaderLeak
		if row.Has("loss_scfm_published") {
			near(t, "loss", float64(l.Lost)/scfm, row.Float("loss_scfm_published")*14.7/14.5, 5e-3)
		}
	}
	// The rule of 1.25 for a test down to half the line's pressure is that of a choked leak within a twentieth.
	r := NewAirRequest()
	r.Decay = Fall{90 * unit.Psi, 45 * unit.Psi, 68.2 * 60}
	near(t, "leak at the line's pressure", float64(asked(t, c, r).HeaderLeak.Flow)/scfm, 35.292*14.7/14.5, 0.05)
}

// A hole of known size is found again by its leak test, and what it loses: the published times are those of air that walls keep
// warm, which a slow test comes near to; a fast one takes the hole for smaller, and its range holds it.
func TestLeakTestFindsTheHole(t *testing.T) {
	for _, row := range unittest.Table(t, published+"header_leak_decay.csv") {
		if row.Float("Cd") != float64(sharpEdge) {
			continue
		}
		c := atSea(t, unit.Volume(row.Float("V_L")/1000), 60*unit.Psi)
		r := NewAirRequest()
		r.Decay = Fall{unit.Pressure(row.Float("p_start_psig") * unit.Psi), unit.Pressure(row.Float("p_end_psig") * unit.Psi), unit.Seconds(row.Float("t_s"))}
		l := asked(t, c, r).HeaderLeak
		near(t, "mean loss", float64(l.Lost)/scfm, row.Float("mean_leak_scfm_14.5psia_68F"), 1e-3)
		hole := unit.Length(row.Float("hole_mm") / 1000)
		if row.Float("t_s") > 120 {
			near(t, "hole", float64(l.Hole), float64(hole), 0.07)
		}
		q := unit.StdFlow(header.StdVolume(unit.Mass(header.HoleLoss(hole, sharpEdge, c.Header.Set, RefTemperature, 101325))))
		if !(l.Low <= q && q <= l.High) || !(l.Low <= l.Flow && l.Flow <= l.High) {
			t.Errorf("a hole of %v loses %v, and the test says %v, %v to %v", hole, q, l.Flow, l.Low, l.High)
		}
		near(t, "loss of the hole found", float64(header.StdVolume(unit.Mass(header.HoleLoss(l.Hole, sharpEdge, c.Header.Set, RefTemperature, 101325)))), float64(l.Flow), 1e-3)
	}
}

// A header that leaks by the tank's own balance, walls and all, gives its leak back, however fast it falls.
func TestLeakTestAgainstTheTank(t *testing.T) {
	c := atSea(t, 0.02, 60*unit.Psi)
	for _, mm := range []float64{0.3, 0.8, 1.5} {
		hole := header.Throat(unit.Length(mm/1000), sharpEdge)
		tank := header.Tank{Volume: c.Header.Volume, WallHeat: header.DefaultWallHeat(c.Header.Volume), Leak: hole}
		r := NewAirRequest()
		r.Decay = Fall{60 * unit.Psi, 0, unit.Seconds(20 / (mm * mm))}
		end, _, _ := tank.Rest(header.State{P: unit.AbsPressure(r.Decay.From) + 101325, T: RefTemperature}, r.Decay.Time)
		r.Decay.To = unit.Pressure(end.P - 101325)
		l := asked(t, c, r).HeaderLeak
		near(t, "hole", float64(l.Hole), mm/1000, 0.002)
		if q := float64(header.StdVolume(unit.Mass(header.Nozzle{C: hole, B: 0.3}.Flow(unit.AbsPressure(c.Header.Set)+101325, RefTemperature, 101325)))); q < float64(l.Low) || q > float64(l.High) {
			t.Errorf("%g mm: %g m3/s does not lie between %v and %v", mm, q, l.Low, l.High)
		}
	}
}

func TestCompressorAgainstPublished(t *testing.T) {
	c := dc1(t)
	r := NewAirRequest()
	r.Loaded, r.Unloaded, r.CompressorFlow, r.CompressorPower = 8*60, 48*60, 900*scfm, 144e3
	u := asked(t, c, r)
	k := u.Compressor
	near(t, "share", 100*float64(k.LeakShare), 14.2857, 1e-5)
	near(t, "leak", float64(k.Leak)/scfm, 128.571, 1e-5)
	near(t, "specific power", 1000/(u.Specific*scfm), 6.25, 1e-9) // cfm per kW
	near(t, "power into the leak", float64(k.Power), 20571.4, 1e-5)
	near(t, "a year of it", float64(k.PerYear), 20571.4*365*86400, 1e-5)
	if !warned(u.Findings, "plant-leak") || warned(u.Findings, "compressor-power") {
		t.Errorf("findings %v", ids(u.Findings))
	}
	r.Loaded, r.Unloaded = 7.5*60, 22.5*60
	near(t, "30 min test", 100*float64(asked(t, c, r).Compressor.LeakShare), 25, 1e-9)
	r.CompressorPower = 60e3 // less than isothermal compression to 60 psi takes
	if !warned(asked(t, c, r).Findings, "compressor-power") {
		t.Error("a compressor better than can be passes")
	}
}

func TestAirCostsAgainstPublished(t *testing.T) {
	c := dc1(t)
	c.Cost.AirPer = 0.5 / (1000 * unit.CubicFoot)
	r := NewAirRequest()
	r.Leak = 47 * scfm
	near(t, "a year of 47 scfm", asked(t, c, r).LeakCostPerYear, 12351.6, 1e-5)
	for _, row := range unittest.Table(t, published+"air_cost.csv") {
		c.Cost.AirPer, c.Cost.ElectricityPer = math.NaN(), row.Float("usd_per_kWh")/joulePerKWh
		if row.Float("hours") != 8760 {
			continue
		}
		r.Leak = unit.StdFlow(row.Float("scfm_average") * scfm)
		near(t, "priced by electricity", asked(t, c, r).LeakCostPerYear, row.Float("usd_per_year"), 1e-5)
	}
	// The same table for the pulses, whose running time is the file's 52 weeks.
	for _, row := range unittest.Table(t, published+"air_cost.csv") {
		c.Duty.RunPerWeek = unit.Seconds(row.Float("hours") * 3600 / 52)
		if c.Duty.RunPerWeek > 168*3600 {
			continue
		}
		c.Cost.ElectricityPer = row.Float("usd_per_kWh") / joulePerKWh
		u := asked(t, c, NewAirRequest())
		share := float64(u.WhileCleaning) / scfm / row.Float("scfm_average")
		near(t, "cost of the pulses", u.CostPerYear, row.Float("usd_per_year")*share, 1e-5)
		near(t, "their electricity", float64(u.EnergyPerYear)*c.Cost.ElectricityPer, u.CostPerYear, 1e-9)
	}
}

func TestCondensateAgainstPublished(t *testing.T) {
	for _, row := range unittest.Table(t, published+"condensate.csv") {
		c := atSea(t, 0.02, 60*unit.Psi)
		r := NewAirRequest()
		r.Intake, r.IntakeHumidity = unit.Temperature(row.Float("intake_C")+273.15), unit.Share(row.Float("intake_RH_pct")/100)
		r.LinePressure, r.Coldest = unit.Pressure(row.Float("line_psig")*unit.Psi), unit.Temperature(row.Float("line_C")+273.15)
		u := asked(t, c, r)
		perDry := (row.Float("W_in_g_kg") - row.Float("W_out_g_kg")) / 1000 // kg of water per kg of dry air
		near(t, "water", float64(u.Water.Rate), perDry*float64(u.WhileCleaning+u.Leak)*unit.ScfDensity, 1e-2)
		hours := 80.0 / 7
		near(t, "a day", float64(u.Water.PerDay), perDry*unit.ScfDensity*3600*(hours*float64(u.WhileCleaning)+24*float64(u.Leak)), 1e-2)
	}
}

func TestReceiverAgainstPublished(t *testing.T) {
	const psia = 14.7
	c := atSea(t, 0.02, 60*unit.Psi)
	c.Header.Interval, c.Header.SupplyFlow = 5, 5*scfm
	r := NewAirRequest()
	r.LinePressure, r.Receiver = 100*unit.Psi, 100*231.0/1728*unit.CubicFoot
	u := asked(t, c, r)
	// 183.75 ft3 carry 100 cfm for 5 min between 100 and 60 psig.
	near(t, "receiver", float64(u.Receiver)/(30*float64(u.Need-u.Supply)), 183.75/(5*60*100.0/60), 1e-3)
	// 100 gal between 110 and 90 psi give 18.1891 scf of 14.7 psia: here twice the fall.
	near(t, "pulses it carries", u.ReceiverPulses*float64(u.PerPulse)/unit.CubicFoot, 2*18.1891*psia/14.5, 1e-3)
}

// A pulse made by the tank's own balance, read off as a person would, gives its supply back, beside a leak too.
func TestRecoveryFindsTheSupply(t *testing.T) {
	for _, supply := range []unit.StdFlow{5 * scfm, 20 * scfm, 60 * scfm} {
		for _, leak := range []Fall{NewAirRequest().Decay, {60 * unit.Psi, 45 * unit.Psi, 40}} {
			c := dc1(t)
			c.Header.SupplyFlow, c.Header.Interval = supply, 60 // a watched pulse stands alone
			r := NewAirRequest()
			r.Decay = leak
			p := asked(t, c, r).First
			r.Back = Fall{p.Before, p.Low, p.Recovery}
			f := asked(t, c, r).Refill
			if f == nil {
				t.Fatalf("%v: no supply found", supply)
			}
			near(t, "supply", float64(f.Supply), float64(supply), 0.03)
			near(t, "air of the pulse", float64(f.PerPulse), float64(header.StdVolume(p.Air)), 0.02)
			near(t, "expected back after", float64(f.Expected), float64(p.Recovery), 0.03)
			if !(f.Low < f.Supply && f.Supply < f.High) {
				t.Errorf("%v does not lie between %v and %v", f.Supply, f.Low, f.High)
			}
		}
	}
}

func TestRecoveryAgainstTheFile(t *testing.T) {
	c := dc1(t)
	r := NewAirRequest()
	r.Back = Fall{60 * unit.Psi, 35 * unit.Psi, 12}
	u := asked(t, c, r)
	if !warned(u.Findings, "supply-low") || !u.SupplyMeasured || u.Supply != u.Refill.Supply || !(u.Supply < c.Header.SupplyFlow/2) {
		t.Errorf("a header back after 12 s: supply %v, findings %v", u.Supply, ids(u.Findings))
	}
	r.Back.Time = 2.6
	if u = asked(t, c, r); warned(u.Findings, "supply-low") || u.SupplyMeasured || u.Supply != c.Header.SupplyFlow {
		t.Errorf("a header back in time: supply %v, findings %v", u.Supply, ids(u.Findings))
	}
	leaky := r
	leaky.Decay = Fall{60 * unit.Psi, 40 * unit.Psi, 3}
	if v := asked(t, c, leaky); v.Refill == nil || !(v.Refill.Supply > u.Refill.Supply) {
		t.Errorf("beside a leak of %v the same recovery takes %+v, without it %v", v.HeaderLeak.Flow, v.Refill, u.Refill.Supply)
	}
	c.Header.SupplyFlow = unit.StdFlow(math.NaN())
	if u = asked(t, c, r); !u.SupplyMeasured || math.IsNaN(float64(u.Share)) {
		t.Errorf("without a supply in the file the measured one does not serve: %v", u.Supply)
	}
	c.Header.Volume, r.Back = 10, Fall{60 * unit.Psi, 35 * unit.Psi, 0.1}
	if u = asked(t, c, r); u.Refill != nil || !warned(u.Findings, "recovery-test") {
		t.Errorf("faster than can be: %+v, findings %v", u.Refill, ids(u.Findings))
	}
}

// A leak is told by what it does: a little, too much, and so much that it holds the header down by itself.
func TestLeakAlone(t *testing.T) {
	c := dc1(t)
	last := unit.Pressure(math.Inf(1))
	for i, seconds := range []unit.Seconds{600, 15, 1} {
		r := NewAirRequest()
		r.Decay = Fall{60 * unit.Psi, 45 * unit.Psi, seconds}
		u := asked(t, c, r)
		if u.Leak != u.HeaderLeak.Flow || !u.LeakMeasured {
			t.Errorf("%v: the leak found does not count", seconds)
		}
		if !(u.HeaderLeak.Rest < last) {
			t.Errorf("a larger leak holds the header at %v, a smaller one at %v", u.HeaderLeak.Rest, last)
		}
		last = u.HeaderLeak.Rest
		want := [...]Weight{"", Odd, Wrong}[i]
		if got := weightOf(u.Findings, "header-leak"); got != want {
			t.Errorf("down in %v: header-leak is %q, want %q (%v of the supply, rests at %v)", seconds, got, want, u.HeaderLeak.Share, u.HeaderLeak.Rest)
		}
	}
	r := NewAirRequest()
	r.Leak = 18 * scfm // of 20
	for _, f := range asked(t, c, r).Findings {
		if text := f.Text.String(); f.ID == "air-short" && (strings.Contains(text, "unknown") || !strings.Contains(text, "leaks alone")) {
			t.Errorf("where leaks leave nothing to pulse with, it says %q", text)
		}
	}
	r = NewAirRequest()
	r.Decay = Fall{60 * unit.Psi, 60 * unit.Psi, 600}
	if u := asked(t, c, r); u.HeaderLeak.Flow != 0 || u.HeaderLeak.Hole != 0 || !(u.HeaderLeak.High > 0) || !warned(u.Findings, "leak-test-short") {
		t.Errorf("a tight header: %+v", u.HeaderLeak)
	}
	r.Decay.To, r.Decay.Time = 5*unit.Psi, 1000
	if u := asked(t, c, r); !warned(u.Findings, "leak-test-low") {
		t.Error("a test down to 5 psi passes without a word")
	}
	r.Leak = 3 * scfm
	if u := asked(t, c, r); u.Leak != r.Leak {
		t.Errorf("a meter's 3 scfm do not count before the gauge's %v", u.Leak)
	}
}

// weightOf is the weight of a finding, "" where it is not there.
func weightOf(fs []Finding, id string) Weight {
	for _, f := range fs {
		if f.ID == id {
			return f.Weight
		}
	}
	return ""
}

// Water left in the air is told by its class: 0.5, 5 and 10 g/m3 bound the classes 7 to 9.
func TestLiquidWater(t *testing.T) {
	c := dc1(t)
	for _, k := range []struct {
		dew, coldest unit.Temperature
		class        int
	}{{276.15, 268.15, 7}, {293.15, 278.15, 8}, {316.15, 293.15, 9}, {345.15, 293.15, 0}} {
		r := NewAirRequest()
		r.LinePressure, r.DewPoint, r.Coldest = 90*unit.Psi, k.dew, k.coldest
		u := asked(t, c, r)
		r.Intake, r.IntakeHumidity = 318.15, 1 // damper than the dryer leaves it
		wet := asked(t, c, r)
		if k.dew < r.Intake { // what drops out behind the dryer is the same by what was drawn and by what the dryer left
			near(t, "behind the dryer", float64(wet.Water.InLine), float64(u.Liquid)*float64(wet.WhileCleaning+wet.Leak), 0.02)
		}
		if u.LiquidClass != k.class || !(u.Liquid > 0) {
			t.Errorf("dew point %v, coldest %v: %g g/m3, class %d, want %d", k.dew, k.coldest, 1000*float64(u.Liquid), u.LiquidClass, k.class)
		}
	}
	r := NewAirRequest()
	r.DewPoint, r.Coldest = 270, 280
	if u := asked(t, c, r); !math.IsNaN(float64(u.Liquid)) {
		t.Errorf("dry air carries %v of water", u.Liquid)
	}
}

// More leak is more of everything that a leak costs, and never a better answer.
func TestMoreLeakIsMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, err := Load("testdata/dc1.toml")
		if err != nil {
			t.Fatal(err)
		}
		from := unit.Pressure(rapid.Float64Range(40, 120).Draw(t, "from") * unit.Psi)
		to := from * unit.Pressure(rapid.Float64Range(0.5, 0.99).Draw(t, "to"))
		slow := unit.Seconds(rapid.Float64Range(5, 5000).Draw(t, "slow"))
		fast := slow * unit.Seconds(rapid.Float64Range(0.1, 0.95).Draw(t, "fast"))
		var use [2]*AirUse
		for i, s := range []unit.Seconds{slow, fast} {
			r := NewAirRequest()
			r.Decay = Fall{from, to, s}
			if use[i], err = c.AirUse(r); err != nil {
				t.Fatal(err)
			}
		}
		a, b := use[0], use[1]
		if !(b.Share > a.Share && b.HeaderLeak.Flow > a.HeaderLeak.Flow && b.HeaderLeak.Hole > a.HeaderLeak.Hole && b.LeakCostPerYear > a.LeakCostPerYear && b.HeaderLeak.Rest <= a.HeaderLeak.Rest) {
			t.Fatalf("the faster fall says less: %+v, %+v", a.HeaderLeak, b.HeaderLeak)
		}
	})
}

// The figures keep their dimensions: the mean loss goes with the header's volume, and where the time goes with volume over surface
// as well, so that as much heat comes in, the leak goes with the surface.
func TestLeakGoesWithTheVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.Float64Range(0.2, 20).Draw(t, "k")
		c, err := Load("testdata/dc1.toml")
		if err != nil {
			t.Fatal(err)
		}
		r := NewAirRequest()
		r.Decay = Fall{60 * unit.Psi, 45 * unit.Psi, unit.Seconds(rapid.Float64Range(2, 2000).Draw(t, "time"))}
		one, err := c.AirUse(r)
		if err != nil {
			t.Fatal(err)
		}
		c.Header.Volume *= unit.Volume(k)
		many, err := c.AirUse(r)
		if err != nil {
			t.Fatal(err)
		}
		r.Decay.Time *= unit.Seconds(math.Cbrt(k))
		alike, err := c.AirUse(r)
		if err != nil {
			t.Fatal(err)
		}
		if d := float64(many.HeaderLeak.Lost)/float64(one.HeaderLeak.Lost)/k - 1; math.Abs(d) > 1e-9 {
			t.Fatalf("a header %g times as large loses %v instead of %v", k, many.HeaderLeak.Lost, one.HeaderLeak.Lost)
		}
		if d := float64(alike.HeaderLeak.Flow)/float64(one.HeaderLeak.Flow)/math.Cbrt(k*k) - 1; math.Abs(d) > 0.01 {
			t.Fatalf("a header %g times as large leaks %v instead of %v, out by %g", k, alike.HeaderLeak.Flow, one.HeaderLeak.Flow, d)
		}
	})
}

// What cannot be is told in a sentence, and nothing else is.
func TestAirRequestFaults(t *testing.T) {
	for name, c := range map[string]struct {
		set  func(*AirRequest)
		want int
	}{
		"nothing":     {func(*AirRequest) {}, 0},
		"risen":       {func(r *AirRequest) { r.Decay = Fall{45 * unit.Psi, 60 * unit.Psi, 90} }, 1},
		"half a test": {func(r *AirRequest) { r.Decay.From = 60 * unit.Psi }, 1},
		"no fall":     {func(r *AirRequest) { r.Back = Fall{60 * unit.Psi, 60 * unit.Psi, 3} }, 1},
		"half a pipe": {func(r *AirRequest) { r.PipeBore = 0.02 }, 1},
		"never ran":   {func(r *AirRequest) { r.Loaded, r.Unloaded = 0, 0 }, 1},
		"damp alone":  {func(r *AirRequest) { r.IntakeHumidity = 0.5 }, 1},
		"infinite":    {func(r *AirRequest) { r.Leak = unit.StdFlow(math.Inf(1)) }, 1},
		"absurd":      {func(r *AirRequest) { r.DewPoint, r.Coldest, r.LinePressure = 3000, 0, 1e12 }, 3},
		"all right": {func(r *AirRequest) {
			r.Decay, r.Back, r.Loaded, r.Unloaded = Fall{60 * unit.Psi, 45 * unit.Psi, 90}, Fall{60 * unit.Psi, 40 * unit.Psi, 3}, 0, 60
		}, 0},
	} {
		r := NewAirRequest()
		c.set(&r)
		if got := r.Faults(); len(got) != c.want {
			t.Errorf("%s: %v, want %d sentences", name, got, c.want)
		}
	}
}

// What tells nothing alone is said, not refused: its other half may be on record from another day.
func TestHalvesAreSaid(t *testing.T) {
	c := dc1(t)
	r := NewAirRequest()
	r.Receiver, r.CompressorPower, r.Intake, r.IntakeHumidity = 0.1, 5000, 300, 0.5
	u := asked(t, c, r)
	for _, id := range []string{"receiver-small", "compressor-power", "water-cooled"} {
		if weightOf(u.Findings, id) != Note {
			t.Errorf("%s is not said: %v", id, ids(u.Findings))
		}
	}
}

// Whatever passes for a request gives figures without infinities and no panic.
func TestAnyRequestIsAnswered(t *testing.T) {
	c := dc1(t)
	rapid.Check(t, func(t *rapid.T) {
		r := NewAirRequest()
		given := map[string]bool{}
		for _, f := range AirFields() {
			what := f.Group
			if what == "" || what == "leak" && f.Name == "leak" {
				what = f.Name
			}
			if _, drawn := given[what]; !drawn {
				given[what] = rapid.IntRange(0, 4).Draw(t, what+" given") == 0
			}
			if given[what] {
				f.Set(&r, rapid.Float64Range(max(f.limit.lo, 1e-3), f.limit.hi).Draw(t, f.Name))
			}
		}
		for _, f := range []*Fall{&r.Decay, &r.Back} {
			f.From, f.To = max(f.From, f.To), min(f.From, f.To)
		}
		if r.Faults() != nil {
			t.Skip("cannot be")
		}
		u, err := c.AirUse(r)
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range []float64{float64(u.Share), float64(u.LeakCostPerYear), float64(u.ReceiverPulses), float64(u.Liquid), float64(u.DewAtHeader)} {
			if math.IsInf(v, 0) {
				t.Fatalf("infinite: %+v", u)
			}
		}
		for _, f := range u.Findings {
			if f.Text.In(unit.SI) == "" {
				t.Fatal("a finding without words")
			}
		}
	})
}
