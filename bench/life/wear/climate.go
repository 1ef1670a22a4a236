package wear

import (
	"math"

	"dustwright/bench/causes/made"
)

// climate is the air of the hall.
type climate struct {
	mean, year, daily float64 // temperature [degC]
	summer            float64 // its turn [s]
	damp              float64 // relative humidity
}

func drawClimate(d made.Dice) climate {
	return climate{mean: d.Between(17, 24), year: d.Between(2, 9), daily: d.Between(0.5, 3.5), summer: d.Between(0, 365) * day, damp: d.Between(0.3, 0.6)}
}

func (c *climate) warm(t float64) float64 {
	return c.mean + c.year*math.Cos(2*math.Pi*(t-c.summer)/(365.25*day)) + c.daily*math.Cos(2*math.Pi*(t/day-0.62))
}

// wet is the relative humidity, higher at night and in a humid spell.
func (c *climate) wet(t float64, humid bool) float64 {
	return min(0.95, c.damp+0.08*math.Cos(2*math.Pi*(t/day-0.2))+0.05*math.Sin(t/(2.3*day))+0.25*b2f(humid))
}
