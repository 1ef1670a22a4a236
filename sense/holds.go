package sense

import "math"

// Where something holds the airflow by the damper, it opens as the dP rises and shuts as it falls: of the hours in which both
// moved, by holdsOpen and by holdsDP in the log, more than holdsShare go together, and by holdsSure standard deviations more
// than the half that chance makes. Common practice, no source.
const (
	holdsOpen  = 0.002
	holdsDP    = 0.02
	holdsShare = 0.75
	holdsSure  = 4.0
)

// damperHolds reports that the damper is moved by what holds the airflow, not by somebody.
func damperHolds(hours []Hour) bool {
	n, along := 0.0, 0.0
	for i := 1; i < len(hours); i++ {
		a, b := &hours[i-1], &hours[i]
		if b.Start-a.Start != 3600 || !steady(a) || !steady(b) {
			continue
		}
		open, rise := b.Mean(Damper)-a.Mean(Damper), math.Log(b.Mean(DP)/a.Mean(DP))
		if !(math.Abs(open) > holdsOpen) || !(math.Abs(rise) > holdsDP) {
			continue
		}
		n++
		if open*rise > 0 {
			along++
		}
	}
	return along > holdsShare*n && along-n/2 > holdsSure*math.Sqrt(n)/2
}
