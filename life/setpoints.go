package life

import (
	"math"
	"slices"
	"time"

	"dustwright/collector"
	"dustwright/sense"
)

// Both set points were moved when both moves are found within movedTogether of each other: filters that no longer come down move
// the end of cleanings alone.
const movedTogether = 3 * 24 * time.Hour

// setPoints are those of the file, followed through the moves on record. As read [Pa].
type setPoints struct{ low, high moved }

// moved is a set point through its moves: at[i] is when it came to be level[i].
type moved struct {
	at    []time.Time // the first is zero
	level []float64
}

// setPointsOf follows the set points of the file through what moved them; which of the levels is the file's, the nearest tells.
func setPointsOf(c *collector.Collector, changes []sense.Change) setPoints {
	return setPoints{followed(float64(c.SetPoints.Low), sense.LowMoved, changes), followed(float64(c.SetPoints.High), sense.HighMoved, changes)}
}

func followed(file float64, kind string, changes []sense.Change) moved {
	m := moved{at: []time.Time{{}}, level: []float64{file}}
	for _, c := range changes {
		if c.Kind != kind || !(c.Before > 0 && c.After > 0) || !c.Logged && !withOther(c, changes) {
			continue
		}
		if len(m.at) == 1 {
			m.level[0] = c.Before
		}
		m.at, m.level = append(m.at, c.At), append(m.level, c.After)
	}
	anchor := 0
	for i, v := range m.level {
		if math.Abs(math.Log(v/file)) < math.Abs(math.Log(m.level[anchor]/file)) {
			anchor = i
		}
	}
	by := file / m.level[anchor]
	for i := range m.level {
		m.level[i] *= by
	}
	return m
}

// withOther reports that the other set point moved the same way at about the same time.
func withOther(c sense.Change, changes []sense.Change) bool {
	return slices.ContainsFunc(changes, func(o sense.Change) bool {
		set := o.Kind == sense.LowMoved || o.Kind == sense.HighMoved
		return set && o.Kind != c.Kind && o.At.Sub(c.At).Abs() <= movedTogether && (o.After > o.Before) == (c.After > c.Before)
	})
}

// then is the set point at a time [Pa].
func (m *moved) then(t time.Time) float64 {
	i := len(m.at) - 1
	for i > 0 && t.Before(m.at[i]) {
		i--
	}
	return m.level[i]
}
