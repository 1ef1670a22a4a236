package collector

import (
	"math"
	"slices"
	"strings"
	"testing"

	"dustwright/air"
	"dustwright/duct"
	"dustwright/unit"
	"dustwright/unit/unittest"
)

// stdAir is dry air of the standard density times a factor: at sea level, warmed until it is that light.
func stdAir(factor float64) air.State {
	return air.State{T: unit.Temperature(294.26 / factor), P: air.StandardPressure(0), RH: 0}
}

// oneHood is a collector with one branch.
func oneHood(t testing.TB, inches, cfms float64, entry string) *Collector {
	t.Helper()
	c := dc1(t)
	b := NewBranch()
	b.Name, b.Diameter, b.Flow = "hood", unit.Length(inches*unit.Inch), unit.Flow(cfms*cfm)
	c.Branches = []Branch{b}
	if err := c.Set("branch.1.entry", entry); err != nil {
		t.Fatal(err)
	}
	return c
}

func hoodsOfFile(t testing.TB, c *Collector, r HoodRequest) *Hoods {
	t.Helper()
	h, err := c.Hoods(r)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// TestPublishedHoods: the sheet's hood static pressure and the exam's flow.
func TestPublishedHoods(t *testing.T) {
	for _, row := range unittest.Table(t, "testdata/hoods.csv") {
		id, output := row.Text("id"), row.Text("output")
		var got float64
		switch {
		case output == "Fh":
			got = oneHood(t, 4, 390, id).Branches[0].Entry
		case id == "grinder_branch":
			h := hoodsOfFile(t, oneHood(t, 4, 390, "0.65"), HoodRequest{Air: stdAir(1), AirGiven: true}).Hoods[0]
			got = float64(h.Velocity) / fpm
			if output == "SPh" {
				got = float64(-h.Expected) / unit.InchWater
			}
		case id == "hood_sp_nonstd": // Ce 0.78 is an entry loss of 1/Ce^2 - 1
			c := oneHood(t, 6, 820, "0.643655")
			h := hoodsOfFile(t, c, HoodRequest{Air: stdAir(0.95), AirGiven: true, Readings: []HoodReading{{"hood", -1.69 * unit.InchWater}}}).Hoods[0]
			got = float64(h.Flow) / cfm
			if h.State != HoodAsWanted && h.State != HoodUnsure || !(h.Low < h.Flow && h.Flow < h.High) {
				t.Errorf("%s: %+v", id, h)
			}
		default:
			t.Fatalf("no such case: %s", id)
		}
		if tol := row.Float("tolerance"); math.Abs(got-row.Float("expected")) > max(tol*row.Float("expected"), 1e-9) {
			t.Errorf("%s %s = %g, want %g within %g", id, output, got, row.Float("expected"), tol)
		}
	}
}

// TestSquareRootLaw: against commissioning the flow goes with the root of the pressure and against that of the density, and
// commissioning's own reading is design flow.
func TestSquareRootLaw(t *testing.T) {
	c := joinery(t)
	site := c.SiteAir(unit.Temperature(math.NaN()), unit.Share(math.NaN()))
	hot := site
	hot.T += 40
	at := func(a air.State, sp float64) Hood {
		r := HoodRequest{Air: a, AirGiven: true, Readings: []HoodReading{{"panel saw", unit.Pressure(sp * unit.InchWater)}}}
		return hoodsOfFile(t, c, r).Hoods[0]
	}
	same := at(site, -1.5)
	near(t, "as commissioned", float64(same.Flow), 1400*cfm, 1e-9)
	if same.State != HoodAsWanted {
		t.Errorf("as commissioned: %s", same.State)
	}
	near(t, "a quarter of the suction", float64(at(site, -0.375).Flow), 700*cfm, 1e-9)
	near(t, "in hot air", float64(at(hot, -1.5).Flow), 1400*cfm*math.Sqrt(float64(site.Density()/hot.Density())), 1e-9)
	near(t, "expected in hot air", float64(at(hot, -1.5).Expected), -1.5*unit.InchWater*float64(hot.Density()/site.Density()), 1e-9)
	none := at(site, 0)
	if none.Flow != 0 || none.Low != 0 || !(none.High > 0) || none.State != HoodShort || !none.Slow || math.Signbit(float64(none.Read)) {
		t.Errorf("no suction: %+v", none)
	}
}

// TestHoodWidths: the less is known of a hood, the wider the flow; and its own expected reading comes out as design flow.
func TestHoodWidths(t *testing.T) {
	known, entry, usual := dc1(t), dc1(t), dc1(t)
	for _, c := range []*Collector{entry, usual} {
		c.Branches[0].HoodSP = unit.Pressure(math.NaN())
	}
	entry.Branches[0].Entry = 0.49
	last := 0.0
	for _, tt := range []struct {
		c     *Collector
		basis HoodBasis
	}{{known, HoodCommissioned}, {entry, HoodEntry}, {usual, HoodUsual}} {
		sheet := hoodsOfFile(t, tt.c, NewHoodRequest()).Hoods[0]
		if sheet.Basis != tt.basis || sheet.State != HoodUnread || !(sheet.ExpectLow < sheet.Expected && sheet.Expected < sheet.ExpectHigh) {
			t.Fatalf("sheet %+v, want basis %s", sheet, tt.basis)
		}
		h := hoodsOfFile(t, tt.c, HoodRequest{Readings: []HoodReading{{sheet.Name, sheet.Expected}}}).Hoods[0]
		near(t, string(tt.basis), float64(h.Flow), float64(h.Design), 1e-9)
		width := float64((h.High - h.Low) / h.Flow)
		if width <= last {
			t.Errorf("%s: width %g, no wider than %g", tt.basis, width, last)
		}
		last = width
	}
	if last < 0.4 {
		t.Errorf("of a hood of which nothing is known the flow is said within %g", last)
	}
	none := dc1(t)
	none.Branches[0] = Branch{Name: "x", Diameter: unit.Length(math.NaN()), Flow: unit.Flow(math.NaN()), HoodSP: unit.Pressure(math.NaN()), Entry: math.NaN()}
	h := hoodsOfFile(t, none, HoodRequest{Readings: []HoodReading{{"x", -300}}})
	if h.Hoods[0].State != HoodUnknown || len(h.Gaps) < 2 || len(h.Says) == 0 {
		t.Errorf("nothing known: %+v", h)
	}
}

// TestWhoStandsOut: which branch is to blame, or the air in all.
func TestWhoStandsOut(t *testing.T) {
	fine := map[string]float64{"panel saw": -1.5, "sander": -1.6, "router": -1.3, "lathe": -1.48}
	for _, tt := range []struct {
		name  string
		times map[string]float64 // by what the suction differs
		want  []string
	}{
		{"all well", nil, []string{"no hood that was read is short"}},
		{"one blocked", map[string]float64{"sander": 0.5}, []string{`"sander" is short while others have their flow`, `in the duct of "sander" the air moves`}},
		{"one blocked, the others gain", map[string]float64{"sander": 0.4, "panel saw": 1.5, "router": 1.5}, []string{`"sander" is short`, `drawn by "panel saw", "router"`, `in the duct of "sander"`}},
		{"a main blocked", map[string]float64{"sander": 0.6, "panel saw": 0.6}, []string{`the hoods behind "machine hall" are short`, "in the duct", "in the duct"}},
		{"two branches of two mains", map[string]float64{"sander": 0.6, "router": 0.6}, []string{`"sander", "router" are short`, "in the duct", "in the duct"}},
		{"all short", map[string]float64{"sander": 0.6, "panel saw": 0.6, "router": 0.6, "lathe": 0.6}, []string{"all much alike", "in the duct", "in the duct", "in the duct", "in the duct"}},
		{"all short, one more so", map[string]float64{"sander": 0.7, "panel saw": 0.7, "router": 0.7, "lathe": 0.1}, []string{"too little air in all", `"lathe" is shorter than the others`, "in the duct", "in the duct", "in the duct", "in the duct"}},
		{"all more", map[string]float64{"sander": 1.6, "panel saw": 1.6, "router": 1.6, "lathe": 1.9}, []string{"every hood that was read draws more"}},
		{"a hood's own opening shut", map[string]float64{"router": 2}, []string{"no hood that was read is short", `"router" shows`}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := NewHoodRequest()
			for name, sp := range fine {
				k, moved := tt.times[name]
				if !moved {
					k = 1
				}
				r.Readings = append(r.Readings, HoodReading{name, unit.Pressure(k * sp * unit.InchWater)})
			}
			h := hoodsOfFile(t, joinery(t), r)
			if h.Read != 4 || len(h.Says) != len(tt.want) {
				t.Fatalf("%d read, says %v", h.Read, h.Says)
			}
			for i, want := range tt.want {
				if !strings.Contains(h.Says[i].In(unit.US), want) {
					t.Errorf("says %q, want %q in it", h.Says[i], want)
				}
			}
		})
	}
	one := hoodsOfFile(t, joinery(t), HoodRequest{Readings: []HoodReading{{"router", -0.5 * unit.InchWater}}})
	if !strings.Contains(one.Says[0].In(unit.US), "read the other hoods too") {
		t.Errorf("one reading: %v", one.Says)
	}
}

// TestHoodReadingsAreRefused in sentences.
func TestHoodReadingsAreRefused(t *testing.T) {
	c := joinery(t)
	for _, tt := range []struct {
		list []HoodReading
		want string
	}{
		{[]HoodReading{{"roter", -300}}, `there is no branch "roter"; did you mean router`},
		{[]HoodReading{{"main", -300}}, `"main" is a main that others join and has no hood`},
		{[]HoodReading{{"router", 300}}, `"router": 1.20 in. w.g.`},
		{[]HoodReading{{"router", unit.Pressure(math.NaN())}}, "no suction"},
		{[]HoodReading{{"router", -300}, {"router", -310}}, "was read twice"},
	} {
		_, err := c.Hoods(HoodRequest{Readings: tt.list})
		if err == nil || !strings.Contains(strings.ReplaceAll(err.Error(), "1.2 in", "1.20 in"), tt.want) {
			t.Errorf("%v: %v, want %q", tt.list, err, tt.want)
		}
	}
	c.Branches = nil
	if _, err := c.Hoods(NewHoodRequest()); err == nil || !strings.Contains(err.Error(), "[[branch]]") {
		t.Errorf("without branches: %v", err)
	}
}

// TestEveryHoodOfTheTrade can be written as an entry.
func TestEveryHoodOfTheTrade(t *testing.T) {
	for _, h := range duct.Hoods() {
		c := oneHood(t, 6, 800, h.Name)
		if c.Branches[0].Entry != h.Fh {
			t.Errorf("%s: entry %g, want %g", h.Name, c.Branches[0].Entry, h.Fh)
		}
	}
	if !slices.ContainsFunc(duct.Hoods(), func(h duct.Hood) bool { return h.Name == "flanged duct end" }) {
		t.Error("the files' own hood is gone")
	}
}
