package sense

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"dustwright/solve"
)

// A habit is how one reading goes with others in the collector's own record, before what is looked at: curves and
// files are off by some percent, which hides small changes; what the same machine did before is not. It is a
// linear law of logs, held loosely to the slopes that physics asks for, where a record shows too little to tell
// them (ridge; Hastie, Tibshirani and Friedman, The Elements of Statistical Learning, 2009, section 3.4.1, from
// memory).
type habit struct {
	q     Quantity
	y     hourLog
	by    []hourLog
	param []float64 // of one and of by
	apart float64   // standard deviation of what hours show beyond it that lie likeHours apart: gates of hoods open and shut
}

// hourLog is one of the logs of an hour's means.
type hourLog uint8

const (
	logDP hourLog = iota
	logFlow
	logIndex
	logSuction // half of it: it goes as the airflow does
	logWatts
	logAmps
	logAfter
	logDamper
	logDensity
	numLogs
)

// slope is what the log of one reading does for each unit of another's, and how far it may lie from that.
type slope struct {
	of         hourLog
	at, spread float64
}

// habits lists what is held against what: of each list the first that the record has. Slopes: fan laws and square
// law, rounded; common practice, no source. What goes through ducts and an after-filter that stay as they are is told by
// the square law and by creeping flow, so nearly alike on every machine.
var habits = [...]struct {
	q       Quantity
	y       []hourLog
	by      []slope // of these the first the record has
	besides []slope // and all of these
}{
	{AirBeyond, []hourLog{logFlow, logIndex}, []slope{{logDP, -0.2, 0.15}}, []slope{{logDamper, 0.2, 0.3}, {logDensity, 0, 0.5}}},
	{SuctionBeyond, []hourLog{logSuction}, []slope{{logDP, -0.2, 0.15}}, []slope{{logDamper, 0.2, 0.3}, {logDensity, 0.5, 0.5}}},
	{MotorBeyond, []hourLog{logWatts, logAmps}, []slope{{logDP, -0.12, 0.15}}, []slope{{logDamper, 0.12, 0.3}, {logDensity, 0.8, 0.5}}},
	{DuctBeyond, []hourLog{logSuction}, []slope{{logFlow, 1, 0.1}, {logIndex, 1, 0.1}}, []slope{{logDensity, 0.5, 0.3}}},
	{LoadBeyond, []hourLog{logWatts, logAmps}, []slope{{logFlow, 0.6, 0.4}, {logIndex, 0.6, 0.4}}, []slope{{logDensity, 0.8, 0.4}}},
	{DrawBeyond, []hourLog{logWatts, logAmps}, []slope{{logSuction, 0.6, 0.4}}, []slope{{logDensity, 0.5, 0.4}}},
	{AfterBeyond, []hourLog{logAfter}, []slope{{logFlow, 1, 0.15}, {logIndex, 1, 0.15}, {logSuction, 1, 0.15}}, nil},
}

// A habit is learned from hours that ended habitBefore before the end of the record, or from the first habitShare
// of them where that leaves fewer than habitHours, thinned to habitMost. hourScatter is what an hour's reading
// scatters by, in the log, and likeHours how many that follow each other count as one. A slope lies at most slopeReach
// spreads off that of physics: where gates of hoods open and shut, or an after-filter fills up, a record shows others,
// which hold for these and not for a fault. Common practice, no source.
const (
	habitBefore = 35 * 86400
	habitShare  = 0.5
	habitHours  = 48
	habitLeast  = 12
	habitMost   = 240
	hourScatter = 0.02
	likeHours   = 6
	slopeReach  = 1.5
)

// logsOf returns the logs of an hour's means, NaN where it has none.
func (a *airflow) logsOf(h *Hour) (l [numLogs]float64) {
	r := hourReading(h)
	ln := func(x float64) float64 {
		if x > 0 {
			return math.Log(x)
		}
		return math.NaN()
	}
	l[logDP], l[logFlow], l[logIndex] = ln(float64(h.DP.P50)), ln(r.Of(Flow)), ln(r.Of(FlowIndex))
	l[logSuction] = ln(-r.Of(InletSP)) / 2
	l[logWatts], l[logAmps] = ln(r.Of(FanPower)), ln(r.Of(FanCurrent))
	l[logAfter] = ln(r.Of(AfterfilterDP))
	l[logDamper], l[logDensity] = ln(r.Of(Damper)), ln(a.density(&r))
	return l
}

// steady reports that the fan ran through the hour and the dP was read.
func steady(h *Hour) bool { return h.Running > 0.9 && h.DP.N > 0 }

// learnHabits fits the habits to the record as of a time [unix s].
func (a *airflow) learnHabits(hours []Hour, at int64) []habit {
	var run []int
	old := 0
	for i := range hours {
		if steady(&hours[i]) {
			run = append(run, i)
			if hours[i].Start < at-habitBefore {
				old = len(run)
			}
		}
	}
	if old < habitHours {
		old = int(habitShare * float64(len(run)))
	}
	if old < habitLeast {
		return nil
	}
	logs := make([][numLogs]float64, 0, habitMost)
	var n [numLogs]int
	step := 1 + old/habitMost
	for k := 0; k < old; k += step {
		l := a.logsOf(&hours[run[k]])
		for i, x := range l {
			if x == x {
				n[i]++
			}
		}
		logs = append(logs, l)
	}
	has := func(x hourLog) bool { return 2*n[x] > len(logs) && n[x] >= habitLeast }
	var out []habit
	for _, k := range habits {
		h := habit{q: k.q, y: numLogs}
		for i := len(k.y) - 1; i >= 0; i-- {
			if has(k.y[i]) {
				h.y = k.y[i]
			}
		}
		var by []slope
		for _, s := range k.by {
			if s.of != h.y && has(s.of) {
				by = append(by, s)
				break
			}
		}
		if h.y == numLogs || len(by) == 0 {
			continue
		}
		for _, s := range k.besides {
			if has(s.of) {
				by = append(by, s)
			}
		}
		if h.fit(logs, by) {
			h.apart = h.scatter(logs, (likeHours+step-1)/step)
			out = append(out, h)
		}
	}
	return out
}

// slopeHeld is how heavily a slope is held that would lie too far off.
const slopeHeld = 1e3

// fit finds the slopes, strays weighed down; false where they can't be found.
func (h *habit) fit(logs [][numLogs]float64, by []slope) bool {
	for _, s := range by {
		h.by = append(h.by, s.of)
	}
	var rows [][]float64
	var y, weight []float64
	for _, l := range logs {
		row := make([]float64, 1+len(by))
		row[0] = 1
		for i, s := range by {
			row[1+i] = l[s.of]
		}
		rows, y, weight = append(rows, row), append(y, l[h.y]), append(weight, 1)
	}
	h.param = make([]float64, 1+len(by))
	own := len(rows)
	for i, s := range by {
		h.param[1+i] = s.at
		row := make([]float64, 1+len(by))
		row[1+i] = hourScatter * math.Sqrt(likeHours) / s.spread
		rows, y, weight = append(rows, row), append(y, s.at*row[1+i]), append(weight, 1)
	}
	off := make([]float64, 0, len(logs))
	for i := range logs {
		off = append(off, h.beyond(&logs[i]))
	}
	h.param[0] = medianOf(known(off))
	for range 4 { // from the slopes of physics on, so that a stretch with something wrong in it is passed over
		for i := range logs {
			if z := h.beyond(&logs[i]) / (3 * hourScatter); z == z {
				weight[i] = 1 / (1 + z*z)
			}
		}
		f, err := solve.LeastSquares(rows, y, weight)
		if err != nil {
			return false
		}
		h.param = f.Param
		for i, s := range by {
			if off, most := h.param[1+i]-s.at, slopeReach*s.spread; math.Abs(off) > most {
				h.param[1+i] = s.at + math.Copysign(most, off)
				rows[own+i][1+i], y[own+i] = slopeHeld, slopeHeld*h.param[1+i]
			}
		}
	}
	return true
}

// beyond is what the reading shows beyond what the habit says, in the log; NaN where something is missing.
func (h *habit) beyond(l *[numLogs]float64) float64 {
	x := l[h.y] - h.param[0]
	for i, k := range h.by {
		x -= h.param[1+i] * l[k]
	}
	return x
}

// farApart is the share of differences that count towards the scatter: a change that stays makes a few that are large.
const farApart = 0.95

// scatter is the standard deviation of what is beyond, by the differences of hours that many apart (von Neumann's; from
// memory), so that a change that stays is none of it; 0 where there are too few.
func (h *habit) scatter(logs [][numLogs]float64, apart int) float64 {
	var d []float64
	for i := apart; i < len(logs); i++ {
		if x := h.beyond(&logs[i]) - h.beyond(&logs[i-apart]); x == x {
			d = append(d, x*x/2)
		}
	}
	if len(d) < habitLeast {
		return 0
	}
	slices.Sort(d)
	return math.Sqrt(stat.Mean(d[:int(farApart*float64(len(d)))], nil))
}

// leastBeyond is the least width of a day's median of what is beyond a habit.
const leastBeyond = 0.002

// beyond works out what the hours of a part show beyond the collector's habits.
func (s *summariser) beyond(d *Day, p part) {
	if len(s.habits) == 0 {
		return
	}
	var each [len(habits)][]float64
	for k := range s.habits {
		each[k] = s.left[k][:0]
	}
	for i := range p.hours {
		if !steady(&p.hours[i]) {
			continue
		}
		l := s.a.logsOf(&p.hours[i])
		for k := range s.habits {
			if x := s.habits[k].beyond(&l); x == x {
				each[k] = append(each[k], x)
			}
		}
	}
	s.left = each
	for k, v := range each {
		if n := float64(len(v)); n > 0 {
			mid, own := medianOf(v), hypot(max(leastBeyond, 1.25*spreadOf(v)), hourScatter/2)/math.Sqrt(n)
			width := hypot(own, s.habits[k].apart/math.Sqrt(max(1, n/likeHours)))
			if s.habits[k].q == AfterBeyond {
				mid = math.Exp(mid)
				width *= mid
			}
			d.set(s.habits[k].q, mid, width)
		}
	}
}
