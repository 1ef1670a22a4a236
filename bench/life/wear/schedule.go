package wear

import (
	"math"

	"dustwright/bench/causes/made"
)

// schedule is when the fan runs and how much dust comes. The record begins on a Monday at midnight.
type schedule struct {
	made.Dice
	begin, end float64 // of a working day [s]
	days       int     // a week
	nights     bool    // through the nights between working days
	late       float64 // how much begin and end scatter [s]
	ragged     float64 // how much the load wanders from week to week
	closes     int     // number of the week, of 52, with which the summer's closing begins; 0 never
	weeks      int     // how many
	share0     float64
	today      int
	on, off    float64 // today's [s]
	halt       float64 // the last stop for work on a machine that never rests [s]
	resume     float64 // its end [s]
	night      float64 // load at night
	drift      float64 // this week's load, log
	puff       float64 // load of the last hours, log
}

// drawSchedule draws the working hours.
func drawSchedule(d made.Dice) schedule {
	s := schedule{Dice: d, late: d.Between(2, 20) * 60, ragged: d.Spread(0.06, 0.3), today: -1, night: 1}
	s.begin, s.days = made.OneOf(d, 6.0, 6.5, 7, 7, 8)*hour, 5
	switch d.IntN(6) {
	case 0, 1:
		s.end = s.begin + made.OneOf(d, 8, 8, 8.5, 9)*hour
	case 2:
		s.end, s.days = s.begin+12*hour, made.OneOf(d, 5, 6)
	case 3:
		s.end = s.begin + 16*hour
	case 4:
		s.end, s.nights = 22*hour, true
	case 5:
		s.begin, s.end, s.days, s.nights = 0, day, 7, true
	}
	if s.nights {
		s.night = d.Between(0.55, 1)
	}
	if d.Chance(0.5) && s.days < 7 {
		s.closes, s.weeks = 20+d.IntN(30), 1+d.IntN(2)
	}
	switch {
	case s.days == 7:
		s.share0 = 0.99
	case s.nights:
		s.share0 = (float64(s.days-1)*day + s.end - s.begin) / week
	default:
		s.share0 = float64(s.days) * (s.end - s.begin) / week
	}
	return s
}

// share is the part of the time in which the fan runs.
func (s *schedule) share() float64 { return s.share0 }

// runs reports whether the fan runs at a second of the record; times must not fall.
func (s *schedule) runs(t float64) bool {
	if n := int(t / day); n != s.today {
		s.turn(n)
	}
	return t >= s.on && t < s.off && (t < s.halt || t >= s.resume)
}

// turn draws a new day.
func (s *schedule) turn(n int) {
	first := float64(n) * day
	s.today = n
	wd := n % 7
	if wd == 0 {
		s.drift = 0.75*s.drift + 0.66*s.ragged*s.NormFloat64()
	}
	s.on, s.off = first, first
	w := n / 7 % 52
	holiday := s.closes > 0 && w >= s.closes && w < s.closes+s.weeks || s.days < 7 && s.Chance(0.02)
	switch {
	case s.days == 7:
		s.off = first + day
		if s.Chance(0.03) { // a stop for work on something
			s.halt = first + s.Between(6, 14)*hour
			s.resume = s.halt + s.Spread(1, 9)*hour
		}
	case wd >= s.days || holiday:
	case s.nights:
		s.off = first + day
		if wd == 0 {
			s.on = first + s.begin + s.late*s.NormFloat64()
		}
		if wd == s.days-1 {
			s.off = first + s.end + s.late*s.NormFloat64()
		}
	default:
		s.on = max(first, first+s.begin+s.late*s.NormFloat64())
		s.off = min(first+day, first+s.end+s.late*math.Abs(s.NormFloat64()))
	}
}

// load is the dust that comes, in usual loads, over the next dt seconds.
func (s *schedule) load(t, dt float64) float64 {
	k := math.Exp(-dt / (1.5 * hour))
	s.puff = k*s.puff + 0.25*math.Sqrt(1-k*k)*s.NormFloat64()
	l := math.Exp(s.drift + s.puff)
	if h := math.Mod(t, day) / hour; s.nights && (h < 6 || h >= 22) {
		l *= s.night
	}
	return l
}
