package plant

import (
	"math"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/unit"
)

// leastOpening is how far an opening of the damper has to go before it is worth the walk [1]. Common practice, no source.
const leastOpening = 0.03

// openingTask plans the next opening of a damper that was set on record: the filters age, and the step of the
// trim's schedule that comes next is due when the forecast dP reaches it. It needs damper points in the collector
// file and a forecast; without them there is no such task.
func openingTask(in TaskInput, now time.Time) []Task {
	var stands unit.Share
	var since Record
	for _, r := range in.Records {
		if r.Kind != KindDamperMove {
			continue
		}
		if body, err := Open(r); err == nil {
			if move, ok := body.(*DamperMove); ok {
				stands, since = move.To, r
			}
		}
	}
	j := in.Judgement
	if since.ID == "" || j == nil || j.Life == nil || len(j.Life.Fan) == 0 {
		return nil
	}
	t, err := in.Collector.Trim(j.TrimRequest())
	if err != nil {
		return nil // the trim page says what the file lacks
	}
	for _, step := range t.Steps {
		if math.IsNaN(float64(step.Open)) || step.Open < stands+leastOpening {
			continue
		}
		due := reached(j.Life.Fan, float64(step.FilterDP))
		if due.IsZero() {
			return nil
		}
		if due.Before(now) {
			due = now
		}
		return []Task{{ID: in.Collector.Tag + "/open-after-" + since.ID, Collector: in.Collector.Tag,
			What: collector.Say("Open the damper from %.0f %% to %.0f %%", 100*float64(stands), 100*float64(step.Open)),
			Why:  collector.Say("the filters have aged by then, and the airflow would fall short"), Due: due, Minutes: 15,
			Tools: []string{"pitot tube", "manometer"}, Caution: judge.Caution("live"), Page: "trim"}}
	}
	return nil
}

// reached is when the forecast's middle reaches a dP [Pa]; zero where it does not.
func reached(fan []FanPoint, dp float64) time.Time {
	for i, p := range fan {
		if p.P50 < dp {
			continue
		}
		if i == 0 || p.P50 == fan[i-1].P50 {
			return p.At
		}
		before := fan[i-1]
		share := (dp - before.P50) / (p.P50 - before.P50)
		return before.At.Add(time.Duration(share * float64(p.At.Sub(before.At))))
	}
	return time.Time{}
}
