package judge

import (
	"math"

	"dustwright/sense"
)

// stretches adds what a week, three weeks and the days since the record's turn show against the days before them: what
// is subtle is sure after weeks, and what changed on the same day as something else belongs to it.
func (k *quantity) stretches(m sense.Measure, out []sight) []sight {
	for _, s := range [...]struct {
		mark key
		of   *sense.Stretch
		size bool // also by what is worth a second look
	}{{aWeek, &m.Week, false}, {aMonth, &m.Weeks, false}, {turned, &m.SinceTurn, true}} {
		now, before := known(s.of.Now), known(s.of.Before)
		d := k.form.at(now) - k.form.at(before)
		if d != d {
			continue
		}
		sigma := math.Hypot(k.form.width(now, width(s.of.Now)), k.form.width(before, width(s.of.Before)))
		out = append(out, sight{k.key + s.mark + sure, d / math.Hypot(k.floor/2, sigma) / surely, nil})
		if s.size {
			out = append(out, sight{k.key + s.mark, d / math.Hypot(k.scale, sigma), nil})
		}
	}
	return out
}
