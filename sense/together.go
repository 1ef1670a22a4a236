package sense

import (
	"math"
	"sort"
)

// infer combines all ways that a reading opens, without those that stand on the channels left out.
func (a *airflow) infer(r *Reading, leave ...Channel) inferred {
	var buf [8]FlowMethod
	ms := a.answers(r, buf[:0], leave)
	if len(ms) == 0 {
		return inferred{share: 1, own: designOwn, scale: designScale}
	}
	return combine(ms)
}

// explain is infer with the methods named, heaviest first.
func (a *airflow) explain(r *Reading) inferred {
	ms := a.answers(r, nil, nil)
	if len(ms) == 0 {
		ms = []FlowMethod{byDesign()}
	}
	out := combine(ms)
	sort.SliceStable(ms, func(i, j int) bool { return ms[i].Weight > ms[j].Weight })
	out.methods = ms
	return out
}

// byDesign is what is known of the airflow where nothing is read.
func byDesign() FlowMethod {
	return FlowMethod{Name: ByDesign, Share: 1, Sigma: math.Hypot(designOwn, designScale), own: designOwn, scale: designScale, apart: designOwn, assumed: true}
}

// mostShare is the airflow over design from which on a reading is taken to be wrong: no fan moves twice
// what it was chosen for against the same ducts. Common practice, no source.
const mostShare = 2

// answers asks every way, and leaves out what no fan can move. Current is asked only where power is silent: both show the same load.
func (a *airflow) answers(r *Reading, ms []FlowMethod, leave []Channel) []FlowMethod {
	loaded, left := false, leftOut(leave)
ways:
	for i := range a.ways {
		w := &a.ways[i]
		for _, c := range leave {
			if w.from == c {
				continue ways
			}
		}
		if w.from == FanCurrent && loaded {
			continue
		}
		share, own, scale := w.share(r)
		if !(share < mostShare) {
			continue
		}
		loaded = loaded || w.from == FanPower
		m := FlowMethod{Name: w.name, Share: share, Sigma: math.Hypot(own, scale), own: own, scale: scale, apart: math.Hypot(own, scale), assumed: w.assumed}
		off := w.off
		if w.byEarly && w.offBut[left] > 0 {
			off = w.offBut[left]
		}
		if off > 0 {
			m.Share, m.apart = share/off, math.Hypot(own, alignedScale*scale)
		}
		ms = append(ms, m)
	}
	return ms
}

// Each way is brought into line with all of them together as they were in the record's first days, by no more
// than farOff times what it may be off by: what parts them later has moved since. Then a way may lie off the
// others by alignedScale of its own scale. Common practice, no source.
const (
	alignHours   = 6
	farOff       = 2.0
	alignedScale = 0.4
)

// firstReadings are the hours of running that stand for the record's first days.
func firstReadings(h *History) (out []Reading) {
	hours := 0.0
	for i := 0; i < len(h.Hours) && hours <= earlyHours; i++ {
		if hour := &h.Hours[i]; hour.Running > 0.5 {
			hours += float64(hour.Running)
			out = append(out, hourReading(hour))
		}
	}
	return out
}

// calibrate finds what the ways that go by the record's first days showed then over those that go by the file: the
// machine may not have stood at design flow. What is left out of the ways is left out here too, so that it is not held
// against itself. That it began near design is believed as far as a machine's airflow may lie off it. A curve that takes the
// damper for where it once stood calibrates nothing, nor does the motor: a file's power lies farther off than that.
func (a *airflow) calibrate(h *History) {
	first := firstReadings(h)
	for left, leave := range [numLeft][]Channel{leftSuction: {InletSP}, leftLoad: {FanCurrent, FanPower}, leftCurve: {Damper, DP}} {
		over := map[string][]float64{}
		for i := range first {
			var file, early []FlowMethod
			for _, m := range a.answers(&first[i], nil, leave) {
				switch {
				case a.way(m.Name).byEarly:
					early = append(early, m)
				case m.Name != ByCurve && m.Name != ByPower && m.Name != ByCurrent:
					file = append(file, m)
				}
			}
			if len(file) == 0 {
				continue
			}
			share := combine(append(file, byDesign())).share
			for _, m := range early {
				over[m.Name] = append(over[m.Name], m.Share/share)
			}
		}
		for name, v := range over {
			if len(v) >= alignHours {
				a.way(name).offBut[left] = medianOf(v)
			}
		}
	}
}

// overCurve is the airflow by what does not stand on the dP, over what the fan's curve makes of the dP and, where it is
// read, the damper, by the file alone: the ways are brought into line with each other, which hides what was wrong from the
// first reading on. NaN where one of the two is not known.
func (a *airflow) overCurve(r *Reading) (ratio, sigma float64) {
	var buf [8]FlowMethod
	ms := a.answers(r, buf[:0], []Channel{Damper, DP})
	want, own, scale := a.fromDamper(r)
	if want != want {
		want, own, scale = a.fromCurve(r)
	}
	if len(ms) == 0 || !(want > 0) {
		return math.NaN(), math.NaN()
	}
	f := combine(ms)
	ratio = f.share / want
	return ratio, ratio * math.Hypot(f.sigma()/f.share, math.Hypot(own, scale)/want)
}

// way is the way of a name.
func (a *airflow) way(name string) *way {
	for i := range a.ways {
		if a.ways[i].name == name {
			return &a.ways[i]
		}
	}
	return nil
}

// align brings the ways into line.
func (a *airflow) align(h *History) {
	over, widths := map[string][]float64{}, map[string][]float64{}
	for _, r := range firstReadings(h) {
		ms := a.answers(&r, nil, nil)
		if len(ms) < 2 {
			continue
		}
		all := combine(ms)
		for _, m := range ms {
			over[m.Name] = append(over[m.Name], m.Share/all.share)
			widths[m.Name] = append(widths[m.Name], m.scale/m.Share)
		}
	}
	for i := range a.ways {
		w := &a.ways[i]
		if v := over[w.name]; len(v) >= alignHours && w.offBut[leftNone] == 0 {
			far := math.Exp(farOff * medianOf(widths[w.name]))
			w.off = max(1/far, min(far, medianOf(v)))
		}
	}
}

// tail is the number of degrees of freedom of the t distribution by which the ways are weighed against each
// other: one that the others contradict counts less the farther it lies off (Lange, Little and Taylor, 1989, from
// memory). Common practice, no source.
const tail = 3

// combine weighs the methods by inverse variance, of three and more those less that the others contradict, of two
// the one less that only assumes, and writes their weights. Where they contradict each other the widths grow by the
// square root of chi square over its degrees of freedom (Birge, 1932): that of the reading by how far they have
// parted since they were in line.
func combine(ms []FlowMethod) inferred {
	centre := math.NaN()
	switch {
	case len(ms) >= 3:
		mean, _ := weighed(ms, centre)
		centre = consensus(ms, mean)
	case len(ms) == 2 && ms[0].assumed != ms[1].assumed:
		centre = ms[0].Share
		if ms[0].assumed {
			centre = ms[1].Share
		}
	}
	share, sw := weighed(ms, centre)
	out := inferred{share: share}
	var chi, parted, own, scale float64
	for i := range ms {
		m := &ms[i]
		trust := m.trust(centre)
		d := m.Share - share
		m.Weight = trust / (m.Sigma * m.Sigma) / sw
		chi += trust * d * d / (m.Sigma * m.Sigma)
		parted += trust * d * d / (m.apart * m.apart)
		own += m.Weight * m.Weight * m.own * m.own
		scale += m.Weight * m.Weight * m.scale * m.scale
	}
	grow := func(chi float64) float64 {
		if len(ms) < 2 {
			return 1
		}
		return math.Sqrt(max(1, chi/float64(len(ms)-1)))
	}
	out.own, out.scale = grow(parted)*math.Sqrt(own), grow(chi)*math.Sqrt(scale)
	return out
}

// trust is what a method counts for given where the truth lies, over what its width alone makes it; 1 for NaN.
func (m *FlowMethod) trust(centre float64) float64 {
	if centre != centre {
		return 1
	}
	z := (m.Share - centre) / m.apart
	return (tail + 1) / (tail + z*z)
}

// weighed is the mean of the methods by inverse variance and trust, and the sum of the weights.
func weighed(ms []FlowMethod, centre float64) (mean, sum float64) {
	for i := range ms {
		w := ms[i].trust(centre) / (ms[i].Sigma * ms[i].Sigma)
		sum += w
		mean += w * ms[i].Share
	}
	return mean / sum, sum
}

// consensus is where the methods agree best: from each of them and from their mean the likelihood is climbed.
func consensus(ms []FlowMethod, mean float64) float64 {
	best, most := mean, math.Inf(-1)
	for i := -1; i < len(ms); i++ {
		c := mean
		if i >= 0 {
			c = ms[i].Share
		}
		for range 4 {
			c, _ = weighed(ms, c)
		}
		l := 0.0
		for k := range ms {
			z := (ms[k].Share - c) / ms[k].apart
			l -= math.Log1p(z * z / tail)
		}
		if l > most+1e-9 {
			best, most = c, l
		}
	}
	return best
}
