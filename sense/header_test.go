package sense

import (
	"math"
	"testing"
	"time"
)

// always is a machine that cleans whenever it runs, eight hours a day and not at weekends, a valve in every row of a minute. The
// header stands at level(hour of the record) at best, and at stands besides.
func always(level func(hour int) float64, stands float64) *Series {
	s := &Series{Zone: time.UTC}
	var dp, head, low, run []float64
	for i := range 14 * 24 * 60 {
		hour := i / 60
		on := hour%24 >= 8 && hour%24 < 16 && hour/24%7 < 5
		row := len(s.Time)
		s.Time = append(s.Time, start.Add(time.Duration(i)*time.Minute).UnixNano())
		run, dp = append(run, b2f(on)), append(dp, 600*b2f(on))
		if !on {
			head, low = append(head, stands), append(low, stands)
			continue
		}
		s.Pulses = append(s.Pulses, Firing{Row: int32(row), Valve: uint8(1 + i%4)})
		full := level(hour)
		head, low = append(head, full-float64(i%7)*1e3), append(low, 0.85*full)
	}
	s.Col[DP], s.Col[Header], s.Col[HeaderLow], s.Col[Running] = dp, head, low, run
	return s
}

// A machine that cleans all the time has no row at rest: its header is held at what it comes back to while the fan runs, be
// the air shut off over night or the header full, and how far it swings is told by the hours.
func TestLevelOfAHeaderThatNeverRests(t *testing.T) {
	const full = 500e3
	for _, c := range []struct {
		name          string
		swing, stands float64
	}{{"shut off over night", 0, 0}, {"full over night", 0, 1.3 * full}, {"swings", 0.05, full}} {
		t.Run(c.name, func(t *testing.T) {
			r := NewReducer(machine())
			r.Add(always(func(hour int) float64 { return full * (1 + c.swing*float64(1-2*(hour%2))) }, c.stands))
			f := At(r.History(), machine(), start.Add(12*24*time.Hour))
			level, swing := f.Get(HeaderLevel), f.Get(HeaderSwing)
			if !(math.Abs(level.Now.Value/full-1) < 0.01) || !(math.Abs(level.Normal.Value/full-1) < 0.01) {
				t.Errorf("level %+v, normally %+v, want %g", level.Now, level.Normal, full)
			}
			if !swing.Now.Known() || math.Abs(swing.Now.Value-c.swing) > 0.01 {
				t.Errorf("swing %+v, want %g", swing.Now, c.swing)
			}
			for _, ch := range f.Changes {
				if ch.Kind == "header-set" {
					t.Errorf("the header was not set anew: %+v", ch)
				}
			}
		})
	}
}

// Where the log says that it cleans, and not which valve fires, the header is held against that: what it lacks while it cleans,
// and how slowly a supply that is short fills it.
func TestHeaderWhereNoValveIsNamed(t *testing.T) {
	const full = 500e3
	for _, c := range []struct {
		name          string
		tau           float64 // of filling [s]
		lacks, behind float64
	}{{"quick", 5, 0.3, 0}, {"slow", 120, 0.3, 0.3 * math.Exp(-0.5)}} {
		t.Run(c.name, func(t *testing.T) {
			s := &Series{Zone: time.UTC}
			var dp, head, run, clean []float64
			for i := range 4 * 24 * 60 {
				since := float64(i%120-2) * 60 // after the three rows that it cleans in
				s.Time = append(s.Time, start.Add(time.Duration(i)*time.Minute).UnixNano())
				dp, run, clean = append(dp, 500), append(run, 1), append(clean, b2f(since <= 0))
				head = append(head, full*(1-0.3*math.Exp(-max(0, since)/c.tau)))
			}
			s.Col[DP], s.Col[Header], s.Col[Running], s.Col[Cleaning] = dp, head, run, clean
			r := NewReducer(machine())
			r.Add(s)
			f := At(r.History(), machine(), time.Time{})
			for q, want := range map[Quantity]float64{HeaderLacks: c.lacks, HeaderBehind: c.behind} {
				if m := f.Get(q); !m.Now.Known() || math.Abs(m.Now.Value-want) > 0.03 {
					t.Errorf("%v is %+v, want about %.3f", q, m.Now, want)
				}
			}
		})
	}
}

// A log that holds the header's level a few times a day, and its lowest reading in each row, still tells how far it falls in a
// pulse and how low: the lowest readings don't stand in for the level between.
func TestHeaderLoggedNowAndThen(t *testing.T) {
	const full = 500e3
	level := func(hour int) float64 { // set low on the tenth day
		if hour >= 10*24 {
			return 0.7 * full
		}
		return full
	}
	s := always(level, full)
	for i := range s.Col[Header] {
		if i%251 != 0 {
			s.Col[Header][i] = math.NaN()
		}
	}
	r := NewReducer(machine())
	r.Add(s)
	f := At(r.History(), machine(), start.Add(12*24*time.Hour))
	for q, want := range map[Quantity][2]float64{HeaderLevel: {0.7 * full, full}, HeaderLowest: {0.85 * 0.7 * full, 0.85 * full}, HeaderDrop: {math.NaN(), 0.15 * full}} {
		m := f.Get(q)
		for i, e := range [...]Estimate{m.Now, m.Normal} {
			if w := want[i]; w == w && !(math.Abs(e.Value-w) < 0.03*full) {
				t.Errorf("%v is %+v, normally %+v, want %.0f", q, m.Now, m.Normal, want)
			}
		}
	}
}

// Where it is cleaned without end and every row is read at the same moment after a pulse, the header's level is not known from
// that: not where it would lie far below what the file says, unless the lowest reading lies below it.
func TestLevelOfRowsInStep(t *testing.T) {
	const set = 480e3
	for _, c := range []struct {
		name        string
		reads, lows float64
		want        float64 // 0 unknown
	}{
		{"just after a pulse", 275e3, 272e3, 0},
		{"a supply that fails", 275e3, 200e3, 275e3},
		{"no valve opens", 0.98 * set, 0.98 * set, 0.98 * set},
	} {
		s := always(func(int) float64 { return c.reads }, 0)
		for i, x := range s.Col[Header] {
			if x > 0 {
				s.Col[Header][i], s.Col[HeaderLow][i] = c.reads, c.lows
			}
		}
		file := machine()
		file.Header.Set = set
		r := NewReducer(file)
		r.Add(s)
		f := At(r.History(), file, start.Add(12*24*time.Hour))
		if m := f.Get(HeaderLevel); m.Now.Known() != (c.want > 0) || math.Abs(m.Now.Value-c.want) > 0.01*set {
			t.Errorf("%s: level %+v, want %g", c.name, m.Now, c.want)
		}
		if m := f.Get(HeaderLacks); m.Now.Known() != (c.want > 0) {
			t.Errorf("%s: lacks %+v", c.name, m.Now)
		}
	}
}

// The same where nothing shows the cleaning but the lowest pressure of rows: on the last days it is cleaned all the time, and
// each row is read when the header stands where single pulses used to leave it. A supply that fails leaves it elsewhere.
func TestLevelOfRowsInStepUnnamed(t *testing.T) {
	const set, dip = 310e3, 214e3
	for _, stands := range []float64{1.01 * dip, 0.8 * dip} {
		s := &Series{Zone: time.UTC}
		for _, c := range []Channel{DP, Header, HeaderLow, Running} {
			s.Col[c] = []float64{}
		}
		for i := range 20 * 96 {
			head, low := set, set
			switch {
			case i >= 15*96:
				head, low = stands, 0.99*stands
			case i%3 == 0:
				low = dip
			}
			s.Time = append(s.Time, start.Add(time.Duration(i)*15*time.Minute).UnixNano())
			for c, x := range map[Channel]float64{DP: 600, Header: head, HeaderLow: low, Running: 1} {
				s.Col[c] = append(s.Col[c], x)
			}
		}
		file := machine()
		file.Header.Set = set
		r := NewReducer(file)
		r.Add(s)
		m := At(r.History(), file, time.Time{}).Get(HeaderLevel)
		if known := stands < dip; m.Now.Known() != known || known && math.Abs(m.Now.Value-stands) > 0.01*set || math.Abs(m.Normal.Value-set) > 0.01*set {
			t.Errorf("stands at %g: level %+v, normally %+v", stands, m.Now, m.Normal)
		}
	}
}

// Cleaning takes the same share of the absolute pressure out of a header that is set low, and more out of one whose supply holds
// while nothing cleans. What it stands at while the fan does shows which, unless the air is shut off over night.
func TestWhatIsTakenOutOfAHeader(t *testing.T) {
	const full, share, atmosphere = 500e3, 0.15, 101325
	low := func(level, share float64) float64 { return level - share*(level+atmosphere) }
	for _, c := range []struct {
		name                    string
		level, taken, night     float64 // since the tenth day
		before                  float64 // over night until then
		stood, sags             float64
		stoodBefore, wantBefore float64
	}{
		{"set low", 0.6 * full, share, 0.6 * full, full, 0.6 * full, 0, full, 0},
		{"blown off while it cleans", 0.6 * full, 0.4, full, full, full, 0.4, full, 0},
		{"shut off over night", 0.6 * full, share, 0.1 * full, 0.1 * full, math.NaN(), math.NaN(), math.NaN(), math.NaN()},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := always(func(int) float64 { return full }, c.before)
			for i := range s.Time {
				late, on := i >= 10*24*60, s.Col[Running][i] > 0
				switch {
				case on && late:
					s.Col[Header][i], s.Col[HeaderLow][i] = c.level-float64(i%7)*1e3, low(c.level, c.taken)
				case on:
					s.Col[HeaderLow][i] = low(full, share)
				case late:
					s.Col[Header][i], s.Col[HeaderLow][i] = c.night, c.night
				}
			}
			r := NewReducer(machine())
			r.Add(s)
			f := At(r.History(), machine(), start.Add(12*24*time.Hour))
			for q, want := range map[Quantity][2]float64{HeaderStood: {c.stood / full, c.stoodBefore / full}, HeaderSags: {c.sags, c.wantBefore}, HeaderEmptied: {c.taken, share}} {
				m := f.Get(q)
				for i, e := range [...]Estimate{m.Now, m.Normal} {
					got, unit := e.Value, 1.0
					if q == HeaderStood {
						unit = full
					}
					if got /= unit; (got == got) != (want[i] == want[i]) || math.Abs(got-want[i]) > 0.02 {
						t.Errorf("%v is %+v, normally %+v, want %.3f", q, m.Now, m.Normal, want)
					}
				}
			}
		})
	}
}

// A header that hardly falls, read in steps of a psi: the last hour shows one step where two are usual, which is no surer than that.
func TestEmptiedInWholeSteps(t *testing.T) {
	const step = 6894.76
	hour := func(i int, falls float64) Hour {
		h := Hour{Start: int64(i) * 3600, Running: 1, Pulses: 9, Has: 1 << HeaderLow, Air: HourAir{Rest: 60 * step, N: 60}}
		h.Stats = []Stat{{N: 60, Mean: 60 * step, Min: float32((60 - falls) * step), Max: 60 * step}}
		return h
	}
	var hours []Hour
	for i := range 200 {
		hours = append(hours, hour(i, 2+float64(i/40%2)))
	}
	hours = append(hours, hour(200, 1))
	d := newDay()
	(&summariser{heads: headGrain(hours)}).header(&d, part{hours: hours[200:]})
	want := step / (60*step + 101325)
	if x, sigma := d.Value[HeaderEmptied], d.Sigma[HeaderEmptied]; math.Abs(x-want) > 0.1*want || !(sigma > 0.2*want && sigma < want) {
		t.Errorf("emptied by %.4f give or take %.4f, want %.4f give or take a third", x, sigma, want)
	}
}
