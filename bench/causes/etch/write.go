package etch

import (
	"math/rand/v2"
	"time"

	"dustwright/sense"
)

// write makes the log: each channel through its instrument, then the rows through the logger.
func (b *bench) write(rec *record, d *dials, r *rand.Rand) *sense.Series {
	var cols [sense.NumChannels][]float64
	for c := range sense.NumChannels {
		switch {
		case d.of[c].dead || c == sense.Pulse && d.pulses == 2:
		case c == sense.Running || c == sense.Cleaning || c == sense.Pulse:
			cols[c] = rec.col[c]
		default:
			cols[c] = d.of[c].read(b, rec, rec.col[c], r)
		}
	}
	rows, times := b.kept(rec, d, r)
	out := &sense.Series{Time: times, Source: "etch", Zone: time.UTC}
	for c, col := range cols {
		if col == nil {
			continue
		}
		short := make([]float64, len(rows))
		for i, row := range rows {
			short[i] = col[row]
		}
		out.Col[c] = short
	}
	if d.pulses == 0 {
		out.Pulses = refire(rec.fired, rows, d.lostFire)
	}
	if !d.lostFire && cols[sense.Pulse] != nil { // counters count on while no row is written
		last := -1
		for i, row := range rows {
			var n float64
			for j := max(last+1, row-longest); j <= row; j++ {
				n += rec.col[sense.Pulse][j]
			}
			out.Col[sense.Pulse][i], last = n, row
		}
	}
	return out
}

// kept are the rows that the logger writes, and their times.
func (b *bench) kept(rec *record, d *dials, r *rand.Rand) ([]int, []int64) {
	rows := make([]int, 0, rec.rows())
	times := make([]int64, 0, rec.rows())
	start := b.start.UnixNano()
	last := int64(-1 << 62)
	for i, t := range rec.time {
		if i < rec.rows()-1 && (d.missed > 0 && r.Float64() < d.missed || d.asleep && rec.col[sense.Running][i] == 0 || within(d.gaps, t)) {
			continue
		}
		if t >= d.jump[0] && t < d.jump[1] {
			t += d.by
		}
		if d.jitter > 0 {
			t += d.jitter * (r.Float64() - 0.5)
		}
		at := start + int64(t*1e3)*1e6
		if at <= last {
			continue
		}
		rows, times, last = append(rows, i), append(times, at), at
	}
	return rows, times
}

func within(spans [][2]float64, t float64) bool {
	for _, s := range spans {
		if t >= s[0] && t < s[1] {
			return true
		}
	}
	return false
}

// longest is how many missing rows a counter counts through.
const longest = 3

// refire gives the pulses the rows that are left. Those of a missing row are lost, or come with the next one.
func refire(fired []sense.Firing, rows []int, lost bool) []sense.Firing {
	out := make([]sense.Firing, 0, len(fired))
	k := 0
	for _, f := range fired {
		for k < len(rows) && rows[k] < int(f.Row) {
			k++
		}
		if k == len(rows) {
			break
		}
		if rows[k] == int(f.Row) || !lost && rows[k]-int(f.Row) <= longest {
			out = append(out, sense.Firing{Row: int32(k), Valve: f.Valve})
		}
	}
	return out
}
