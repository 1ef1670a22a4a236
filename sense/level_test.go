package sense

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"dustwright/collector"
)

// intake is a filter never pulsed: its dP follows flow, temperature, pressure and damp by known
// exponents, grows with age, and is renewed at the hours given.
func intake(hours int, renewed ...int) *Series {
	rnd := rand.New(rand.NewPCG(11, 3))
	s := &Series{}
	level, warm, high := math.Log(400), 0.0, 0.0
	for i := range hours {
		warm, high = 0.98*warm+0.8*rnd.NormFloat64(), 0.99*high+120*rnd.NormFloat64() // weather
		level += 0.0001
		for _, r := range renewed {
			if i == r {
				level -= 0.35
			}
		}
		q := 10 + 2*math.Sin(float64(i)/37) + 0.5*rnd.NormFloat64()
		temp := 288 + 8*math.Sin(float64(i)*2*math.Pi/24) + 10*math.Sin(float64(i)/1400) + warm
		baro := 1e5 + high
		rh := 0.7 + 0.25*math.Sin(float64(i)/60)
		z := level + 1.6*math.Log(q/10) + 1.2*math.Log(temp/288) - 0.9*math.Log(baro/1e5) + 0.06*math.Max(0, rh-0.8)/0.2
		s.Time = append(s.Time, start.UnixNano()+int64(i)*hourNs)
		for c, x := range map[Channel]float64{DP: math.Exp(z + 0.015*rnd.NormFloat64()), FlowIndex: q, Temperature: temp, Barometer: baro, Humidity: rh} {
			s.Col[c] = append(s.Col[c], x)
		}
	}
	return s
}

// never is the file of a filter that is never pulsed.
func never() *collector.Collector {
	c := collector.New()
	c.Tag, c.Duty.Flow = "intake", 100
	c.Filters.Rows, c.Filters.PerRow, c.Filters.AreaEach = 1, 1, 50
	c.Cleaning.Mode = collector.None
	return c
}

func TestReductionFindsTheExponents(t *testing.T) {
	c := never()
	r := NewReducer(c)
	r.Add(intake(4000, 1500))
	ps := points(r.History().settled(c, math.MaxInt64), math.MaxInt64)
	red := reduce(ps, c, FlowIndex.String())
	near(t, "flow", red.a, 1.6, 0.01)
	near(t, "temperature", red.b, 1.2, 0.05)
	near(t, "pressure", red.c, -0.9, 0.2)
	near(t, "damp", red.d, 0.06, 0.15)
}

// With no flow known, or one that does not move, the dP stays as it is and creeping flow is taken.
func TestReductionWithoutFlow(t *testing.T) {
	c := never()
	s := intake(500).only(DP)
	r := NewReducer(c)
	r.Add(s)
	red := reduce(points(r.History().settled(c, math.MaxInt64), math.MaxInt64), c, "")
	if red.a != 1 || red.b != 0 || red.c != 0 {
		t.Errorf("exponents %+v out of nothing", red)
	}
}

func TestRenewalsOfAFilterNeverPulsed(t *testing.T) {
	c := never()
	r := NewReducer(c)
	r.Add(intake(6000, 2000, 4200))
	f := At(r.History(), c, time.Time{})
	if got := kinds(f, 0.5); len(got) != 2 {
		t.Fatalf("%v: %+v", got, f.Changes)
	}
	for i, want := range []int{2000, 4200} {
		if d := f.Changes[i].At.Sub(start.Add(time.Duration(want) * time.Hour)).Abs(); d > 2*time.Hour {
			t.Errorf("renewal %d is %v off", i+1, d)
		}
		near(t, "fall", f.Changes[i].After/f.Changes[i].Before, math.Exp(-0.35), 0.03)
	}
	if len(f.Lives) != 3 {
		t.Fatalf("%d lives", len(f.Lives))
	}
	l := f.Lives[1]
	if l.Pulsed || !l.Ended || len(l.Points) < 85 || len(l.Points) > 92 {
		t.Errorf("life of 2200 h has %d points, pulsed %v", len(l.Points), l.Pulsed)
	}
	first, last := l.Points[0], l.Points[len(l.Points)-1]
	near(t, "growth over the life", math.Log(last.DP/first.DP), 0.0001*(last.Hours-first.Hours), 0.1)
	near(t, "hours", last.Hours, 2190, 0.02)
}

// A run on a test bench, ten readings a second for some minutes, is kept in enough points to see its
// course.
func TestBenchRun(t *testing.T) {
	c := never()
	c.Duty.Loading = 0.001
	s := &Series{}
	rnd := rand.New(rand.NewPCG(1, 1))
	for i := range 4000 {
		x := float64(i) / 4000
		s.Time = append(s.Time, start.UnixNano()+int64(i)*1e8)
		s.Col[DP] = append(s.Col[DP], 5+580*math.Pow(x, 3)+3*rnd.NormFloat64())
		s.Col[Flow] = append(s.Col[Flow], 100+rnd.NormFloat64())
	}
	r := NewReducer(c)
	r.Add(s)
	f := At(r.History(), c, time.Time{})
	if len(f.Lives) != 1 || len(f.Lives[0].Points) < 150 {
		t.Fatalf("%d lives, %d points", len(f.Lives), len(f.Lives[0].Points))
	}
	ps := f.Lives[0].Points
	last := ps[len(ps)-1]
	near(t, "last dP", last.DP, 583, 0.03)
	near(t, "running hours", last.Hours, 400.0/3600, 0.02)
	near(t, "dust taken up", last.Dust, 0.001*100*400/50, 0.03)
	mid := ps[len(ps)/2]
	if math.Abs(mid.DP-77) > 8 {
		t.Errorf("half way %v, want about 77", mid.DP)
	}
}

// Where a measured airflow has gaps, a flow index beside it does not stand in for it: it is of another unit.
func TestFinePointsKeepToOneAirflow(t *testing.T) {
	s := &Series{}
	for i := range 600 {
		flow := 100.0
		if i%100 > 70 {
			flow = math.NaN()
		}
		s.Time = append(s.Time, start.UnixNano()+int64(i)*1e9)
		s.Col[DP], s.Col[Flow], s.Col[FlowIndex] = append(s.Col[DP], 500), append(s.Col[Flow], flow), append(s.Col[FlowIndex], 7)
	}
	r := NewReducer(never())
	r.Add(s)
	h := r.History().settled(never(), math.MaxInt64)
	ps, missing := points(h, math.MaxInt64), 0
	for i := range ps {
		if ps[i].flow != ps[i].flow {
			missing++
		} else if ps[i].flow != 100 {
			t.Fatalf("point %d: an airflow of %g, want 100", i, ps[i].flow)
		}
	}
	if len(ps) < 500 || missing != 174 {
		t.Errorf("%d points, %d of them without an airflow, want 600 and 174", len(ps), missing)
	}
}
