package trace

import (
	"errors"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// rows reads everything below the header line.
func (rd *reader) rows() error {
	rd.firstRow = true
	for {
		b, err := rd.next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if line := strings.TrimSpace(string(b)); line != "" && line[0] != '#' {
			if err := rd.row(string(b)); err != nil {
				return err
			}
		}
	}
}

// row reads one row. Only a clock that jumps back ends the reading.
func (rd *reader) row(line string) error {
	cells := strings.Split(line, string(rd.delim))
	get := func(i int) string {
		if i < 0 || i >= len(cells) {
			return ""
		}
		return strings.Trim(strings.TrimSpace(cells[i]), `"'`)
	}
	t, ok := rd.time(get(rd.timeCol))
	if !ok {
		rd.fault(cells, rd.timeCol, "no time can be read from it; seconds such as 12.34 are expected")
		return nil
	}
	if !rd.firstRow && t < rd.last-1 {
		return rd.fail(columnAt(cells, rd.timeCol), "the time goes back from %.2f s to %.2f s; if two recordings stand in one file, give them one by one", rd.last, t)
	}
	rd.disorder = rd.disorder || !rd.firstRow && t < rd.last
	if rd.firstRow || t > rd.last {
		rd.last, rd.firstRow = t, false
	}
	p, ok := rd.number(get(rd.pressCol))
	if !ok {
		rd.fault(cells, rd.pressCol, "no pressure can be read from it")
		p = math.NaN()
	} else {
		rd.read++
	}
	rd.store.add(t, rd.scale.SI(p))
	rd.mark(cells, get(rd.pulseCol))
	return nil
}

// fault keeps the first cell that can't be read and counts the others.
func (rd *reader) fault(cells []string, i int, why string) {
	rd.bad++
	if rd.firstBad != nil {
		return
	}
	if i >= len(cells) {
		rd.firstBad = rd.fail(0, "the row has %d cells, the header line promises more", len(cells))
		return
	}
	text := cells[i]
	if len(text) > 40 {
		text = text[:40] + "..."
	}
	rd.firstBad = rd.fail(columnAt(cells, i), "%q: %s", text, why)
}

// time reads a time cell [s]; stamps count from the first one.
func (rd *reader) time(cell string) (float64, bool) {
	if !rd.stamps {
		v, ok := rd.number(cell)
		return v, ok && !math.IsNaN(v) && math.Abs(v) < 1e12
	}
	s, err := time.Parse(time.RFC3339Nano, strings.Replace(cell, " ", "T", 1))
	if err != nil {
		v, ok := rd.number(cell)
		return v, ok && !math.IsNaN(v) && math.Abs(v) < 1e12
	}
	if rd.epoch.IsZero() {
		rd.epoch = s
	}
	return s.Sub(rd.epoch).Seconds(), true
}

// number reads a number cell; NaN and true for a cell that says there is no reading.
func (rd *reader) number(cell string) (float64, bool) {
	switch strings.ToLower(cell) {
	case "", "-", "nan", "na", "n/a", "null":
		return math.NaN(), true
	}
	if rd.delim != ',' && strings.Count(cell, ",") == 1 && !strings.Contains(cell, ".") {
		cell = strings.Replace(cell, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil || math.IsInf(v, 0) {
		return math.NaN(), false
	}
	return v, true
}

// mark notes the valves of a pulse cell. A number that stays is the same firing.
func (rd *reader) mark(cells []string, cell string) {
	held := rd.held
	rd.held = cell
	if cell == "" || cell == held {
		return
	}
	for _, word := range strings.Fields(cell) {
		v, ok := rd.number(word)
		if ok && (math.IsNaN(v) || v == 0) {
			continue
		}
		if !ok || v != math.Trunc(v) || v < 1 || v > 255 {
			rd.fault(cells, rd.pulseCol, "a valve's number is expected, 1 to 255")
			return
		}
		rd.store.mark(int(v))
	}
}

// add takes one reading; NaN is a row without one.
func (s *rowStore) add(t, p float64) {
	s.each = max(s.each, 1)
	if s.n == s.each {
		s.flush()
	}
	s.n++
	s.t += (t - s.t) / float64(s.n)
	if !math.IsNaN(p) {
		s.good++
		s.p += (p - s.p) / float64(s.good)
	}
}

// mark marks the reading added last.
func (s *rowStore) mark(valve int) { s.marks = append(s.marks, Mark{Row: len(s.time), Valve: valve}) }

// flush ends the row being gathered.
func (s *rowStore) flush() {
	if s.n == 0 {
		return
	}
	p := s.p
	if s.good == 0 {
		p = math.NaN()
	}
	s.time, s.press = append(s.time, s.t), append(s.press, p)
	s.n, s.good, s.t, s.p = 0, 0, 0, 0
	if len(s.time) >= maxRows {
		s.halve()
	}
}

// halve averages the rows by twos.
func (s *rowStore) halve() {
	n := (len(s.time) + 1) / 2
	for i := range n {
		a := 2 * i
		b := min(a+1, len(s.time)-1) // an odd last row stands for itself
		s.time[i] = (s.time[a] + s.time[b]) / 2
		switch {
		case math.IsNaN(s.press[a]):
			s.press[i] = s.press[b]
		case math.IsNaN(s.press[b]):
			s.press[i] = s.press[a]
		default:
			s.press[i] = (s.press[a] + s.press[b]) / 2
		}
	}
	s.time, s.press = s.time[:n], s.press[:n]
	for k := range s.marks {
		s.marks[k].Row /= 2
	}
	s.each *= 2
}

// settle gives the rows in order of time, rows of one time averaged.
func (s *rowStore) settle() (t, p []float64, marks []Mark) {
	order := make([]int, len(s.time))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case s.time[a] < s.time[b]:
			return -1
		case s.time[a] > s.time[b]:
			return 1
		}
		return 0
	})
	row := make([]int, len(order)) // where each row went
	count := 0
	for _, i := range order {
		k := len(t) - 1
		if k < 0 || s.time[i] > t[k] {
			t, p = append(t, s.time[i]), append(p, s.press[i])
			k, count = k+1, 1
		} else if v := s.press[i]; !math.IsNaN(v) {
			if math.IsNaN(p[k]) {
				p[k], count = v, 1
			} else {
				count++
				p[k] += (v - p[k]) / float64(count)
			}
		}
		row[i] = k
	}
	for _, m := range s.marks {
		m.Row = row[min(m.Row, len(row)-1)]
		marks = append(marks, m)
	}
	slices.SortStableFunc(marks, func(a, b Mark) int { return a.Row - b.Row })
	return t, p, marks
}
