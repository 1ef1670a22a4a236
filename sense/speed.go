package sense

import "math"

// A fan at one speed takes no more power where the filters resist more: its airflow falls. Where a drive turns it faster
// instead, to hold the airflow, its load climbs with the dP over every saw-tooth, and the curve in the file tells nothing
// of the airflow. That is so where the log of the load climbs by driveSlope for each unit of the log of the dP on the
// middle day and by leastSlope on the lower quarter, over driveDays of cycles that take deepTooth off the log of the dP.
// Common practice, no source.
const (
	driveSlope = 0.05
	leastSlope = 0.03
	driveDays  = 5
	deepTooth  = 0.1
)

// driven reports that a drive turns the fan faster where the filters resist more.
func driven(days []Passes) bool {
	for _, c := range [...]Channel{FanPower, FanCurrent} {
		var slopes []float64
		for i := range days {
			p := &days[i]
			deep := math.Log(p.Before.Of(DP) / p.After.Of(DP))
			if x := math.Log(p.Before.Of(c) / p.After.Of(c)); deep > deepTooth && !math.IsInf(x, 0) && x == x {
				slopes = append(slopes, x/deep)
			}
		}
		if len(slopes) >= driveDays && quantileOf(slopes, 0.5) > driveSlope && quantileOf(slopes, 0.25) > leastSlope {
			return true
		}
	}
	return false
}
