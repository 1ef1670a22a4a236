package collector

import (
	"fmt"
	"math"

	"dustwright/air"
	"dustwright/duct"
	"dustwright/unit"
)

// HoodRequest says which static pressures were read behind the hoods, and in what air. Start with NewHoodRequest.
type HoodRequest struct {
	Readings []HoodReading
	Air      air.State // in the ducts; counts only with AirGiven
	AirGiven bool      // somebody measured Air; else it is the site's at RefTemperature
}

// NewHoodRequest leaves everything open.
func NewHoodRequest() HoodRequest { return HoodRequest{} }

// HoodReading is one static pressure, read with a manometer at the tap behind a hood.
type HoodReading struct {
	Name string        // of the branch
	SP   unit.Pressure // negative is suction
}

// HoodBasis says what a hood's static pressure is worked with.
type HoodBasis string

// The bases, the surest first.
const (
	HoodCommissioned HoodBasis = "commissioning" // hood_sp at design flow
	HoodEntry        HoodBasis = "entry"         // the entry loss in the file
	HoodUsual        HoodBasis = "usual"         // nothing is known of the hood: from a bell mouth to a slot
	HoodNone         HoodBasis = "none"          // nothing can be said: neither hood_sp nor a diameter
)

// HoodState says how a hood's flow stands to what commissioning asked for.
type HoodState string

// The states. Nobody read it: HoodUnread.
const (
	HoodUnread   HoodState = "unread"
	HoodShort    HoodState = "short"         // surely below 95 % of design flow
	HoodPerhaps  HoodState = "perhaps-short" // probably below, and the width allows for both
	HoodAsWanted HoodState = "as-designed"   // or not surely more
	HoodMore     HoodState = "more"          // surely above 105 %; or the hood's own opening is partly shut
	HoodUnsure   HoodState = "unsure"        // the width is too large to say
	HoodUnknown  HoodState = "unknown"       // read, and nothing to compare it with
)

// Limits of the states. The lower one is that below which DESIGN.md ends the filters' life for want of air.
const (
	hoodLeast  = 0.95
	hoodMost   = 1.05
	hoodUnsure = 0.35 // of design flow between Low and High; common practice, no source
)

// Hood is one hood: what it should show, and what it shows.
type Hood struct {
	Name       string
	Design     unit.Flow     // NaN not known
	Velocity   unit.Velocity // in its duct at design flow; NaN not known
	Least      unit.Velocity // below it dust drops out; NaN not known
	Expected   unit.Pressure // static pressure at design flow in this air, negative; NaN not known
	ExpectLow  unit.Pressure // Expected lies between, the deeper one first, about 95 times in 100
	ExpectHigh unit.Pressure
	Basis      HoodBasis

	Read      unit.Pressure // NaN nobody read it
	Flow      unit.Flow     // from it; NaN not known
	Low, High unit.Flow     // the flow lies between, about 95 times in 100
	Now       unit.Velocity // in its duct; NaN not known
	Slow      bool          // Now is below Least
	State     HoodState
}

// Share is the flow over the design flow [-]; NaN where one of them is not known.
func (h *Hood) Share() float64 { return float64(h.Flow / h.Design) }

// Hoods is the answer to "do the hoods still get their air".
type Hoods struct {
	Hoods    []Hood // in the order of the file
	Read     int    // how many of them were read
	Says     []Text // what follows from the readings together, the weightiest first
	Density  unit.Density
	AirGiven bool
	Gaps     []Gap
}

// How far readings at a hood and the figures of commissioning usually lie off, as standard deviations. common practice, no
// source.
const (
	manometerSD = 0.02 * unit.InchWater // a static pressure at a tap [Pa]
	entrySD     = 0.15                  // a known hood's loss factor, and the tap's place, of 1 + Fh
	diameterSD  = 0.01                  // a duct's inside diameter
)

// Loss factors between which a hood lies of which nothing is known, and the middling one. Source: duct.Hoods, a bell mouth and a slot;
// assumedEntry.
const (
	easiestEntry = 0.04
	hardestEntry = 1.78
)

// Hoods turns static pressures read behind the hoods into flows, and holds them against design. Without readings it says
// what each hood should show.
//
// Against the static pressure of commissioning the flow goes with the root of the pressure over the density; without it
// Q = Ce A root(2 SPh/rho) with the entry loss of the file, or any a hood can have. That a hood draws its design flow is no
// proof that it catches: that is seen at the work. A name that is not there, one with a main, or a pressure above zero is an
// error. Source: ABIH equation list (see duct.FlowFromHoodStatic).
func (c *Collector) Hoods(r HoodRequest) (*Hoods, error) {
	if len(c.Branches) == 0 {
		return nil, fmt.Errorf("the hoods cannot be told from this collector file: add a [[branch]] for each, with name, diameter and flow")
	}
	t := c.tree()
	site := c.SiteAir(unit.Temperature(math.NaN()), unit.Share(math.NaN()))
	k := &hooder{c: c, t: t, was: site.Density(), now: site.Density(), given: r.AirGiven}
	if r.AirGiven {
		k.now = r.Air.Density()
	}
	read, err := k.readings(r.Readings)
	if err != nil {
		return nil, err
	}
	out := &Hoods{Density: k.now, AirGiven: r.AirGiven, Read: len(read)}
	for i := range c.Branches {
		if !t.hood(i) {
			continue
		}
		h := k.hood(i)
		if sp, ok := read[i]; ok {
			k.flow(&h, i, sp)
		}
		out.Hoods = append(out.Hoods, h)
	}
	out.Gaps = k.gaps(out.Hoods)
	if len(read) > 0 {
		out.Says = k.says(out.Hoods)
	}
	return out, nil
}

// hooder is the working state.
type hooder struct {
	c        *Collector
	t        *tree
	was, now unit.Density // at commissioning, and in the request's air
	given    bool
}

// readings finds each reading's branch.
func (k *hooder) readings(list []HoodReading) (map[int]float64, error) {
	read := map[int]float64{}
	for _, r := range list {
		at := -1
		for i, b := range k.c.Branches {
			if b.Name == r.Name {
				at = i
			}
		}
		switch _, twice := read[at]; {
		case at == -1:
			return nil, k.c.noBranch(r.Name)
		case !k.t.hood(at):
			return nil, fmt.Errorf("%s is a main that others join and has no hood; read the hoods' own branches", quote(r.Name))
		case twice:
			return nil, fmt.Errorf("%s was read twice; give one reading for each hood", quote(r.Name))
		case r.SP < unit.Pressure(suction.lo):
			return nil, fmt.Errorf("%s: %s behind a hood is more suction than a fan makes; look at its unit and at the decimal point", quote(r.Name), shown(r.SP))
		case !(r.SP <= 0):
			return nil, fmt.Errorf("%s: %s behind a hood is no suction; write it with a minus, such as \"-1.2 in.w.g.\"", quote(r.Name), shown(r.SP))
		}
		read[at] = float64(-r.SP)
	}
	return read, nil
}

// hood is branch i as the file describes it.
func (k *hooder) hood(i int) Hood {
	b, nan := k.c.Branches[i], math.NaN()
	least, _ := k.c.LeastVelocity()
	h := Hood{Name: b.Name, Design: b.Flow, Velocity: unit.Velocity(float64(b.Flow) / float64(b.Area())), Least: least, Basis: HoodNone, State: HoodUnread,
		Read: unit.Pressure(nan), Flow: unit.Flow(nan), Low: unit.Flow(nan), High: unit.Flow(nan), Now: unit.Velocity(nan)}
	v := float64(h.Velocity)
	vp := unit.Pressure(float64(k.now) * v * v / 2)
	expect := func(low, mid, high unit.Pressure) { h.ExpectLow, h.Expected, h.ExpectHigh = -low, -mid, -high }
	switch e := unit.Pressure(1 + b.Entry); {
	case b.HoodSP < 0 && b.Flow > 0:
		h.Basis = HoodCommissioned
		sp := -b.HoodSP * unit.Pressure(k.now/k.was)
		off := unit.Pressure(2 * math.Hypot(manometerSD, 2*traverseSD*float64(sp)))
		expect(sp+off, sp, max(0, sp-off))
	case !math.IsNaN(b.Entry) && b.Diameter > 0:
		h.Basis = HoodEntry
		off := unit.Pressure(2*math.Hypot(entrySD, 4*diameterSD)) * e * vp
		expect(e*vp+off, e*vp, max(0, e*vp-off))
	case b.Diameter > 0:
		h.Basis = HoodUsual
		expect((1+hardestEntry)*vp, (1+assumedEntry)*vp, (1+easiestEntry)*vp)
	default:
		expect(unit.Pressure(nan), unit.Pressure(nan), unit.Pressure(nan))
	}
	return h
}

// flow fills in what a reading tells [Pa of suction].
func (k *hooder) flow(h *Hood, i int, sp float64) {
	b := k.c.Branches[i]
	h.Read = unit.Pressure(0 - sp) // no minus before a zero
	density := 0.0
	if !k.given {
		density = temperature / float64(RefTemperature) / 2
	}
	at := func(sp, entry float64) float64 {
		if h.Basis == HoodCommissioned {
			return float64(b.Flow) * math.Sqrt(sp/-float64(b.HoodSP)*float64(k.was/k.now))
		}
		return float64(duct.FlowFromHoodStatic(unit.Pressure(sp), duct.Round(b.Diameter), duct.EntryCoefficient(entry), k.now))
	}
	entry, lo, hi, rel := b.Entry, b.Entry, b.Entry, 0.0 // lo and hi are ends, rel a standard deviation
	switch h.Basis {
	case HoodCommissioned:
		rel = math.Hypot(traverseSD, manometerSD/(2*-float64(b.HoodSP)))
	case HoodEntry:
		rel = math.Hypot(entrySD/2, 2*diameterSD)
	default:
		entry, lo, hi, rel = assumedEntry, hardestEntry, easiestEntry, 2*diameterSD
	}
	rel = 2 * math.Hypot(rel, density)
	q := at(sp, entry)
	below := []float64{q - at(max(0, sp-2*manometerSD), entry), q - at(sp, lo), rel * q}
	above := []float64{at(sp+2*manometerSD, entry) - q, at(sp, hi) - q, rel * q}
	h.Flow, h.Low, h.High = unit.Flow(q), unit.Flow(max(0, q-norm(below))), unit.Flow(q+norm(above))
	h.Now = unit.Velocity(q / float64(b.Area()))
	h.Slow = h.Now < h.Least
	h.State = h.state()
}

// norm adds by squares.
func norm(list []float64) float64 {
	sum := 0.0
	for _, x := range list {
		sum += x * x
	}
	return math.Sqrt(sum)
}

// state holds the flow against design.
func (h *Hood) state() HoodState {
	low, mid, high := float64(h.Low/h.Design), h.Share(), float64(h.High/h.Design)
	switch {
	case math.IsNaN(mid):
		return HoodUnknown
	case high < hoodLeast:
		return HoodShort
	case low > hoodMost:
		return HoodMore
	case low < hoodLeast && high-low > hoodUnsure:
		return HoodUnsure
	case mid < hoodLeast:
		return HoodPerhaps
	}
	return HoodAsWanted
}

// gaps says what the file leaves open.
func (k *hooder) gaps(list []Hood) []Gap {
	var none, usual, flow bool
	for i := range list {
		none, usual = none || list[i].Basis == HoodNone, usual || list[i].Basis == HoodUsual
		flow = flow || math.IsNaN(float64(list[i].Design))
	}
	var out []Gap
	if none {
		out = append(out, Gap{"branch.diameter", Say("a hood without diameter, or hood_sp with its flow, tells nothing of its air")})
	}
	if flow {
		out = append(out, Gap{"branch.flow", Say("a hood without its design flow can't be held against what commissioning asked for")})
	}
	if usual {
		out = append(out, Gap{"branch.hood_sp", Say("a hood of which neither hood_sp nor entry is given may lose from %.2g to %.3g velocity pressures at its mouth: the flow is no better than that; read its static pressure once at design flow", easiestEntry, hardestEntry)})
	}
	if math.IsNaN(float64(k.c.Site.Elevation)) {
		out = append(out, Gap{"site.elevation", Say("the air density is reckoned for sea level")})
	}
	return out
}
