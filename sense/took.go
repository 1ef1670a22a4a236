package sense

import "math"

// How long a change took says what came: damp, dust thrown back out of the bin and what breaks come within a shift, what
// blinds the filters over many.
//
// A value is taken over tookHours of running, so that a saw-tooth stays within its scatter; what lies tookSure times farther off
// the normal than it scattered before, and by tookLeast of it, has changed. tookBefore is how far back the normal goes, wetBefore
// how long before the change the air may have been damp [s], and a turn is sought to one part in turnsApart of how long ago it
// was. Common practice, no source.
const (
	tookHours  = 4.0
	tookSure   = 3
	tookLeast  = 0.1
	tookBefore = 45 * 86400
	wetBefore  = 6 * 3600
	turnsApart = 30
)

// stretch is a quantity over the last tookHours of running as of an hour.
type stretch struct {
	hour int     // the last
	ran  float64 // running hours up to here
	x    float64 // [unit of the quantity]
}

// stretches takes a quantity from the hours, at each over the last tookHours of running. of gives it with its weight.
func stretches(hours []Hour, of func(*Hour) (x, w float64)) (out []stretch) {
	first, ran, since := 0, 0.0, 0.0
	for i := range hours {
		ran += float64(hours[i].Running)
		since += float64(hours[i].Running)
		for since-float64(hours[first].Running) >= tookHours {
			since -= float64(hours[first].Running)
			first++
		}
		if hours[i].Running == 0 || since < tookHours {
			continue
		}
		var m weighted
		for k := first; k <= i; k++ {
			m.add(of(&hours[k]))
		}
		if x, _ := m.value(); x == x {
			out = append(out, stretch{i, ran, x})
		}
	}
	return out
}

// took fills in how long the dP and the pulses took to get from their normal to what they are, and how damp the air was then.
func (v *view) took(f *Features) {
	hours := v.hoursFrom(v.at - tookBefore)
	for _, k := range [...]struct {
		q  Quantity
		of func(*Hour) (x, w float64)
	}{
		{DPRaw, func(h *Hour) (x, w float64) {
			if h.DP.N == 0 {
				return math.NaN(), 0
			}
			return float64(h.DP.P50), float64(h.Running)
		}},
		{PulsesPerHour, func(h *Hour) (x, w float64) {
			if h.Running == 0 || v.h.Seen>>Pulse&1 == 0 {
				return math.NaN(), 0
			}
			return float64(h.Pulses) / float64(h.Running), float64(h.Running)
		}},
	} {
		m := f.Get(k.q)
		s := stretches(hours, k.of)
		r, ok := change(s, m.Normal.Value)
		if !ok {
			continue
		}
		m.Took = Estimate{Value: s[r.to].ran - s[r.from].ran, Sigma: tookHours / 2, N: r.to - r.from}
		if r.by > 0 {
			f.Wet = wet(hours, hours[s[r.from+1].hour].Start-wetBefore, hours[s[r.to].hour].Start)
		}
	}
}

// rise is a course that leaves the normal at one stretch, goes straight to what it is at another and stays there.
type rise struct {
	from, to int
	by, gain float64 // how far, and the sum of squares that it takes off
}

// rises fits such courses to stretches by their running sums: of t, t^2, what is off the normal, and t times that.
type rises struct {
	s   []stretch
	sum [][4]float64
}

// fit is the course between two stretches (least squares).
func (r *rises) fit(from, to int) rise {
	n := len(r.s)
	t, over := r.s[from].ran, r.s[to].ran-r.s[from].ran
	var in [4]float64
	for k := range in {
		in[k] = r.sum[to][k] - r.sum[from][k]
	}
	gd := (in[3]-t*in[2])/over + r.sum[n][2] - r.sum[to][2]
	gg := (in[1]-2*t*in[0]+t*t*float64(to-from))/(over*over) + float64(n-to)
	return rise{from, to, gd / gg, gd * gd / gg}
}

// change finds the rise or fall that fits the stretches best, first tried at times ever farther apart going back from the last;
// false where they have not left the normal.
func change(s []stretch, normal float64) (best rise, ok bool) {
	if len(s) < 2 || normal != normal {
		return rise{}, false
	}
	r := rises{s, make([][4]float64, len(s)+1)}
	for i, p := range s {
		d := p.x - normal
		for k, x := range [4]float64{p.ran, p.ran * p.ran, d, p.ran * d} {
			r.sum[i+1][k] = r.sum[i][k] + x
		}
	}
	try := func(froms, tos []int) {
		for _, from := range froms {
			for _, to := range tos {
				if from >= to {
					continue
				}
				if c := r.fit(from, to); c.gain > best.gain {
					best = c
				}
			}
		}
	}
	turns := turnsOf(len(s))
	try(turns, turns)
	try(about(best.from, len(s)), about(best.to, len(s)))
	before := make([]float64, 0, best.from)
	for _, p := range s[:best.from] {
		before = append(before, p.x)
	}
	least := math.Max(tookLeast*math.Abs(normal), tookSure*spreadOf(before))
	return best, math.Abs(best.by) > least
}

// turnsOf are the stretches at which a rise may begin or end, from the last of n back, ever farther apart.
func turnsOf(n int) (out []int) {
	for back := 1; back <= n; back += 1 + back/turnsApart {
		out = append(out, n-back)
	}
	return out
}

// about are the stretches about a turn, as far as to the next ones that were tried.
func about(turn, n int) (out []int) {
	apart := 1 + (n-turn)/turnsApart
	for i := max(0, turn-apart); i <= min(n-1, turn+apart); i++ {
		out = append(out, i)
	}
	return out
}

// wet is the mean humidity between two times [unix s].
func wet(hours []Hour, from, to int64) Estimate {
	var m weighted
	for i := range hours {
		if st, ok := hours[i].Of(Humidity); ok && hours[i].Start >= from && hours[i].Start <= to {
			m.add(float64(st.Mean), float64(st.N))
		}
	}
	x, se := m.value()
	if x != x {
		return Unknown("the humidity is not read")
	}
	return Estimate{Value: x, Sigma: se, N: int(m.n)}
}
