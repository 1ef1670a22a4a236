package life

import (
	"math"
	"time"

	"dustwright/collector"
	"dustwright/sense"
)

// surelyMoved is the confidence from which a set point that moved by the record did so.
const surelyMoved = 0.5

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
		if c.Kind != kind || !(c.Before > 0 && c.After > 0) || !c.Logged && c.Confidence < surelyMoved {
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

// then is the set point at a time [Pa].
func (m *moved) then(t time.Time) float64 {
	i := len(m.at) - 1
	for i > 0 && t.Before(m.at[i]) {
		i--
	}
	return m.level[i]
}
