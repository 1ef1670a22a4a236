package collector

import (
	"math"

	"dustwright/unit"
)

// Controller is the cleaning controller: it decides which valve fires when. On demand it starts when the dP reaches
// the high set point and stops when it has come down to the low one; timed and continuous it fires a valve every
// interval while the fan runs; after the fan stops it fires its downtime cycles. The firing order goes on where it left
// off. Time is the caller's: any clock that only goes forward. It belongs to one goroutine.
type Controller struct {
	mode      Mode
	order     []int
	interval  float64
	low, high float64
	alarm     float64
	downtime  int // pulses fired after the fan stops

	next    int     // place in order that fires next
	due     float64 // no pulse before this time
	demand  bool    // cleaning on demand is on
	left    int     // downtime pulses still to fire
	running bool
}

// Action is what the controller does at one moment.
type Action struct {
	Fire     int  // the valve it fires, 0 for none
	Cleaning bool // it is in a cleaning run, between pulses too
	Alarm    bool // the dP is at or above the alarm set point
}

// NewController makes the controller as the file sets it. It returns ErrMissing with the keys it cannot do without: the
// mode, the interval, and on demand the low and high set points. Without downtime cycles it fires none.
func (c *Collector) NewController() (*Controller, error) {
	need := []string{"cleaning.mode"}
	if c.Cleaning.Mode != None {
		need = append(need, "header.interval")
	}
	if c.Cleaning.Mode == OnDemand {
		need = append(need, "setpoints.low", "setpoints.high")
	}
	if keys := absent(c, need...); keys != nil {
		return nil, &Missing{What: "the cleaning controller", Keys: keys}
	}
	k := &Controller{mode: c.Cleaning.Mode, order: c.FiringOrder(), interval: float64(c.Header.Interval),
		low: float64(c.SetPoints.Low), high: float64(c.SetPoints.High), alarm: float64(c.SetPoints.Alarm)}
	if k.mode != None {
		k.downtime = max(0, c.Cleaning.DowntimeCycles) * len(k.order)
	}
	return k, nil
}

// Step looks at the machine and acts.
//
//	now      time [s], not before the last call's
//	dp       across the filters as the controller's gauge has it [Pa]; NaN (no reading) changes nothing
//	running  the fan runs
//
// It fires at most one valve. Call it at least as often as pulses are due (see Due): it does not make up for what a
// late call missed.
func (k *Controller) Step(now unit.Seconds, dp unit.Pressure, running bool) Action {
	t, p := float64(now), float64(dp)
	if k.running && !running {
		k.left = k.downtime
	}
	if running {
		k.left = 0
	} else {
		k.demand = false
	}
	k.running = running
	if k.mode == OnDemand && running {
		k.demand = p >= k.high || k.demand && !(p <= k.low)
	}
	a := Action{Cleaning: k.cleaning(), Alarm: p >= k.alarm}
	if !a.Cleaning || t < k.due || len(k.order) == 0 {
		return a
	}
	a.Fire = k.order[k.next]
	k.next = (k.next + 1) % len(k.order)
	k.due = t + k.interval
	if !running {
		k.left--
	}
	return a
}

// cleaning reports whether pulses are wanted now.
func (k *Controller) cleaning() bool {
	if !k.running {
		return k.left > 0
	}
	return k.demand || k.mode == Timed || k.mode == Continuous
}

// Due is the earliest time at which Step can fire the next valve if dP and fan stay as they are [s]; +Inf while no
// cleaning is on. The time may lie in the past. It takes no reading, so NaN does not arise.
func (k *Controller) Due() unit.Seconds {
	if !k.cleaning() {
		return unit.Seconds(math.Inf(1))
	}
	return unit.Seconds(k.due)
}

// Reset changes the low and high set points while the controller runs, as a person at its panel does; NaN leaves one as
// it is. It returns Faults where low would not lie below high, and then changes nothing.
func (k *Controller) Reset(low, high unit.Pressure) error {
	l, h := k.low, k.high
	if !math.IsNaN(float64(low)) {
		l = float64(low)
	}
	if !math.IsNaN(float64(high)) {
		h = float64(high)
	}
	if l >= h {
		return Faults{{Key: "setpoints.high", Text: shown(unit.Pressure(h)) + " is not above setpoints.low, which is " + shown(unit.Pressure(l))}}
	}
	k.low, k.high = l, h
	return nil
}
