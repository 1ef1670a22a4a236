package life

import (
	"fmt"
	"math"
)

// basis says in sentences what a forecast rests on.
func (n *now) basis(views []*view, age float64) []string {
	var out []string
	if n.main != nil {
		if n.current.Held {
			out = append(out, fmt.Sprintf("The dP was held at its low set point for all the %s running hours of this life: it says no more than that the filters leave less.", count(age)))
		} else {
			out = append(out, fmt.Sprintf("%d readings over %s running hours of this life.", len(n.current.Points), count(age)))
		}
		out = append(out, n.main.earlier())
		if n.current.ByPulses {
			out = append(out, "While the dP is held at the low set point, the pulses that a cleaning takes tell how the filters age.")
		}
		if n.in.FlowAssumed {
			out = append(out, "Nobody measures the airflow: the damper is taken to make good a part of what it seems to lose.")
		}
		if n.dust {
			out = append(out, "Age is counted as the dust taken up.")
		}
		if s := n.main.told(); s != "" {
			out = append(out, s)
		}
		if sure, _ := n.main.passed(); sure == 1 {
			out = append(out, "The newest readings lie beyond the limit.")
		}
	}
	if r := float64(n.in.Risk); r > 0 {
		out = append(out, fmt.Sprintf("The date to order by leaves 1 chance in %.0f that they are due before new ones are here.", 1/r))
	}
	if len(views) > 1 && views[0].first < 0.9 {
		out = append(out, fmt.Sprintf("Which limit comes first is open: %s with %.0f %%.", views[0].limit, 100*views[0].first))
	}
	return out
}

// earlier says how many earlier lives there are to compare with, and whose.
func (o *outlook) earlier() string {
	whose := "."
	switch {
	case o.lives == 0:
		return "No earlier life to compare with, so the width is that of curves in general."
	case o.sisters == o.lives:
		whose = ", of collectors of the same kind."
	case o.sisters > 0:
		whose = fmt.Sprintf(", %d of them of collectors of the same kind.", o.sisters)
	}
	if o.lives == 1 {
		return "One earlier life" + whose
	}
	return fmt.Sprintf("%d earlier lives%s", o.lives, whose)
}

// told says which tells more by now: what earlier lives held, or the curve of this one.
func (o *outlook) told() string {
	if o.lives == 0 || len(o.f.pr.end) == 0 {
		return ""
	}
	var m, sq float64
	for _, c := range o.cells {
		l := math.Log(c.end)
		m += c.weight * l
		sq += c.weight * l * l
	}
	after := math.Max(sq-m*m, 0)
	var pm, psq float64
	for _, p := range o.f.pr.end {
		pm += p.weight * p.mean
		psq += p.weight * (p.mean*p.mean + p.sigma*p.sigma)
	}
	share := 1 - after/(psq-pm*pm)
	switch {
	case share < 0.3:
		return "So far the earlier lives tell most, the curve little."
	case share > 0.8:
		return "By now the curve of this life tells most."
	}
	return "Earlier lives and the curve of this one both count."
}

// count prints running hours at a sensible precision.
func count(h float64) string {
	switch {
	case h < 10:
		return fmt.Sprintf("%.1f", h)
	case h < 1000:
		return fmt.Sprintf("%.0f", h)
	}
	return fmt.Sprintf("%d,%03d", int(h)/1000, int(h)%1000)
}
