package sense

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"dustwright/unit"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// asOf takes the record up to a time alone.
func asOf(s *Series, at time.Time) *Series {
	n := 0
	for n < s.Len() && s.Time[n] <= at.UnixNano() {
		n++
	}
	return s.slice(0, n)
}

// Nothing after at is used: the whole record asked as of a time answers as the record that ends there.
// Hour and day that hold the time are left out of the former where they go on, hence whole days here.
func TestNothingLaterIsUsed(t *testing.T) {
	g := usual()
	g.shift = 14
	s, _ := g.run(24*20, 60)
	at := start.Add(12*24*time.Hour - time.Second)
	whole, part := At(reduced(t, s, g), g.file(), at), At(reduced(t, asOf(s, at), g), g.file(), at)
	same := cmp.Options{cmpopts.EquateNaNs(), cmpopts.EquateEmpty(), cmpopts.IgnoreUnexported(FlowMethod{}, Day{})}
	if d := cmp.Diff(part, whole, same); d != "" {
		t.Error(d)
	}
}

// The same rows a hundred days later give the same features.
func TestTimeShift(t *testing.T) {
	g := usual()
	g.shift = 14
	s, _ := g.run(24*12, 60)
	a := At(reduced(t, s, g), g.file(), time.Time{})
	const shift = 100 * 24 * hourNs
	later := s.slice(0, s.Len())
	for i := range later.Time {
		later.Time[i] += shift
	}
	b := At(reduced(t, later, g), g.file(), time.Time{})
	for q := range NumQuantities {
		x, y := a.Of[q], b.Of[q]
		if d := cmp.Diff(x.Now, y.Now, cmpopts.EquateNaNs()); d != "" {
			t.Errorf("%v: %s", q, d)
		}
		if d := cmp.Diff(x.Normal, y.Normal, cmpopts.EquateNaNs()); d != "" {
			t.Errorf("%v: %s", q, d)
		}
	}
	if len(a.Changes) != len(b.Changes) || !b.From.Equal(a.From.Add(time.Duration(shift))) {
		t.Errorf("changes %d and %d, from %v and %v", len(a.Changes), len(b.Changes), a.From, b.From)
	}
}

// A machine of twice the pressures shows twice the pressures and the same shares.
func TestScalesWithPressure(t *testing.T) {
	const k = 2
	g := usual()
	s, _ := g.run(24*6, 60)
	s = s.only(DP, Cleaning, Running, Header, HeaderLow, Pulse)
	a := At(reduced(t, s, g), g.file(), time.Time{})
	big := s.slice(0, s.Len())
	for _, c := range []Channel{DP, Header, HeaderLow} {
		for i := range big.Col[c] {
			big.Col[c][i] *= k
		}
	}
	c := g.file()
	c.Filters.CleanDP *= k
	c.SetPoints.Low, c.SetPoints.High, c.Header.Set = unit.Pressure(k*g.low), unit.Pressure(k*g.high), unit.Pressure(k*g.set)
	r := NewReducer(c)
	r.Add(big)
	b := At(r.History(), c, time.Time{})
	for _, q := range []Quantity{DragAfter, DragBefore, DPLow, DPHigh, DPRaw, Trigger, Stop, DropPerCycle, RiseRate, HeaderLevel, HeaderDrop, ReadingNoise} {
		near(t, q.String(), b.Of[q].Now.Value, k*a.Of[q].Now.Value, 1e-5)
		near(t, q.String()+" width", b.Of[q].Now.Sigma, k*a.Of[q].Now.Sigma, 1e-4)
	}
	for _, q := range []Quantity{Recovered, CyclesPerHour, PulsesPerHour, PulsesPerCycle, CleaningShare, RiseBend, FlowShare} {
		near(t, q.String(), b.Of[q].Now.Value, a.Of[q].Now.Value, 1e-5)
	}
}

// Taking channels away may leave a quantity unknown, with a reason, but never surer than before.
func TestMissingChannelsWiden(t *testing.T) {
	g := usual()
	g.shift = 14
	s, _ := g.run(24*10, 60)
	full := At(reduced(t, s, g), g.file(), time.Time{})
	for _, keep := range [][]Channel{{DP, Cleaning, Running}, {DP, Running}, {DP}} {
		f := At(reduced(t, s.only(keep...), g), g.file(), time.Time{})
		for _, q := range []Quantity{FlowShare, DragAfter, DragBefore, DPLow, RiseRate, HeaderDrop, PulsesPerHour, HeaderLevel} {
			now := f.Of[q].Now
			switch {
			case !now.Known() && now.Missing == "":
				t.Errorf("%v with %v: unknown, and nobody says why", q, keep)
			case now.Known() && math.Hypot(now.Sigma, f.Of[q].Shared*now.Value) < 0.999*math.Hypot(full.Of[q].Now.Sigma, full.Of[q].Shared*now.Value):
				t.Errorf("%v with %v: ±%v, with all ±%v", q, keep, now.Sigma, full.Of[q].Now.Sigma)
			}
		}
		if len(f.Notes) == 0 {
			t.Errorf("with %v nothing is said to be missing", keep)
		}
	}
}

func TestEmptyAndTiny(t *testing.T) {
	c := usual().file()
	f := At(NewReducer(c).History(), c, start)
	if f.Get(DPRaw).Now.Known() || len(f.Notes) != 1 {
		t.Errorf("an empty record says %+v", f.Get(DPRaw).Now)
	}
	r := NewReducer(c)
	r.Add(&Series{Time: []int64{start.UnixNano()}, Col: [NumChannels][]float64{DP: {650}}})
	f = At(r.History(), c, time.Time{})
	near(t, "one reading", f.Get(DPRaw).Now.Value, 650, 1e-6)
	if f = At(r.History(), c, start.Add(-time.Hour)); f.Get(DPRaw).Now.Known() {
		t.Error("known before the first reading")
	}
}

// One reading a day for sixty days: the level is there with an honest width, and what can't be known
// says so.
func TestHandLog(t *testing.T) {
	g := usual()
	g.shift = 10
	s, _ := g.run(24*60, 600)
	rnd := rand.New(rand.NewPCG(7, 7))
	hand := &Series{}
	for i := range s.Time {
		if h := math.Mod(float64(i)/6, 24); h == 9 {
			hand.Time = append(hand.Time, s.Time[i]+int64(rnd.IntN(1800))*1e9)
			hand.Col[DP] = append(hand.Col[DP], math.Round(s.Col[DP][i]/25)*25)
		}
	}
	f := At(reduced(t, hand, g), g.file(), time.Time{})
	raw := f.Get(DPRaw)
	if !raw.Now.Known() || raw.Now.Value < 450 || raw.Now.Value > 1050 {
		t.Errorf("dP now %+v", raw.Now)
	}
	if raw.Spread < 60 { // the readings fall anywhere between the set points
		t.Errorf("spread %v of readings taken anywhere in the saw-tooth", raw.Spread)
	}
	if f.Get(CyclesPerHour).Now.Known() || f.Get(CyclesPerHour).Now.Missing == "" {
		t.Errorf("cycles from a reading a day: %+v", f.Get(CyclesPerHour).Now)
	}
	if f.Window < 4*24*time.Hour {
		t.Errorf("window %v for a reading a day", f.Window)
	}
	if got := strings.Join(f.Notes, "; "); !strings.Contains(got, "airflow") {
		t.Errorf("notes: %s", got)
	}
}

// Since a weekend the gauge reads nothing, and the fan has run for little more than an hour: the fresh end of the record is of those
// hours alone. After less than one it reaches back over the weekend.
func TestFreshEndsAtAWeekend(t *testing.T) {
	g := usual()
	g.shift = 9
	s, _ := g.run(13*24, 60)
	idle, monday := start.Add(10*24*time.Hour).UnixNano(), start.Add(12*24*time.Hour).UnixNano()
	for i, at := range s.Time {
		switch {
		case at >= monday && s.Col[Running][i] == 1:
			s.Col[DP][i] = 20
		case at >= idle:
			s.Col[Running][i], s.Col[Cleaning][i], s.Col[DP][i], s.Col[Flow][i] = 0, 0, 0, 0
		}
	}
	for ran, alone := range map[time.Duration]bool{75 * time.Minute: true, 30 * time.Minute: false} {
		at := time.Unix(0, monday).Add(ran)
		m := At(reduced(t, asOf(s, at), g), g.file(), at).Get(DPRaw)
		if (m.Fresh.Value < 25) != alone {
			t.Errorf("%v after a weekend: dP over the last hours %+v, want those since alone: %v", ran, m.Fresh, alone)
		}
	}
}

// A record that ends with a weekend is judged by the last day that ran, and not by its mean with the last minutes of the day
// before, which lie in the window as well.
func TestAWindowOverAWeekendIsTheDayThatRan(t *testing.T) {
	g := usual()
	g.shift = 10
	s, _ := g.run(24*17, 60)
	s.Col[InletSP] = make([]float64, s.Len())
	end := s.Time[s.Len()-1]
	for i, at := range s.Time {
		ago := float64(end-at) / 3600e9
		level := -1800.0
		if ago < 72 {
			level = -1200
		}
		if ago < 48 {
			s.Col[Running][i], s.Col[DP][i] = 0, 0
		}
		s.Col[InletSP][i] = level * s.Col[Running][i]
	}
	f := At(reduced(t, s, g), g.file(), time.Unix(0, end).Add(-2*time.Minute))
	if f.Window != 72*time.Hour {
		t.Fatalf("the window is %v", f.Window)
	}
	near(t, "suction on the last day that ran", f.Get(InletSPLevel).Now.Value, -1200, 0.001)
	near(t, "suction before", f.Get(InletSPLevel).Normal.Value, -1800, 0.001)
}
