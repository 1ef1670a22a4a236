package rehearse

import (
	"context"
	"math"
	"sort"
	"time"

	"dustwright/unit"
)

func durationOf(seconds float64) time.Duration {
	return time.Duration(seconds * float64(time.Second))
}

func sortedEvents(in []Event) []Event {
	out := append([]Event(nil), in...)
	sort.SliceStable(out, func(i, j int) bool { return out[i].After < out[j].After })
	return out
}

// run goes from event to event to the end of the log, and on to the first limit where a horizon is asked for.
func (s *sim) run(ctx context.Context) error {
	end := max(s.o.Length.Seconds(), s.o.Horizon.Seconds())
	if err := s.log.start(); err != nil {
		return err
	}
	for n := 0; s.t < end; n++ {
		if n%4096 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		target := min(end, s.nextCall())
		if s.ctl != nil && s.fx.silent < 1 {
			target = min(target, max(float64(s.ctl.Due()), s.t))
		}
		if err := s.advance(target); err != nil {
			return err
		}
		if err := s.calendar(); err != nil {
			return err
		}
		if err := s.control(); err != nil {
			return err
		}
		if s.book.done && s.t >= s.o.Length.Seconds() {
			break
		}
	}
	s.book.close(s)
	return nil
}

// nextCall is the next moment at which something outside filters and controller happens.
func (s *sim) nextCall() float64 {
	next := min(s.hourAt, s.faultAt)
	if s.running {
		next = min(next, min(s.shift.to, s.feed.until))
	} else {
		next = min(next, s.shift.from)
	}
	if s.event < len(s.o.Events) {
		next = min(next, s.o.Events[s.event].After.Seconds())
	}
	return max(next, s.t)
}

// calendar does what is due now.
func (s *sim) calendar() error {
	changed := false
	if s.running && s.t >= s.shift.to || !s.running && s.t >= s.shift.from && s.t < s.shift.to {
		s.switchFan()
		changed = true
	}
	if s.running && s.t >= s.feed.until {
		s.feed.step(s.t)
		changed = true
	}
	if s.t >= s.hourAt {
		s.hourly()
		changed = true
	}
	for s.event < len(s.o.Events) && s.t >= s.o.Events[s.event].After.Seconds() {
		if err := s.happen(&s.o.Events[s.event]); err != nil {
			return err
		}
		s.event++
		changed = true
	}
	if s.t >= s.faultAt {
		s.faultAt = s.nextFault()
		changed = true
	}
	if !changed {
		return nil
	}
	s.reload()
	return s.retune()
}

// switchFan turns the fan on or off by the schedule.
func (s *sim) switchFan() {
	s.running = !s.running
	s.refresh()
	if s.running {
		s.feed.step(s.t)
		return
	}
	s.shift = s.schedule.at(s.t, s.weekly())
	s.feed.until = math.Inf(1)
}

// hourly is the weather's step and what hands do by the clock.
func (s *sim) hourly() {
	warm, damp := 0.0, 0.0
	for i := range s.o.Events {
		switch e := &s.o.Events[i]; {
		case e.Kind == Weather && e.during(s.t):
			warm += e.Value
		case e.Kind == DampWeather && e.during(s.t):
			damp += e.Value
		}
	}
	s.weather.step(s.t, warm, damp)
	s.hourAt += hour
	s.refresh()
	s.book.hourly(s)
	if s.running && s.t >= s.trimAt {
		s.trim()
	}
	if s.t >= s.changeAt && !s.running {
		s.changeFilters()
	}
	if clock := math.Mod(float64(s.o.Start.Hour())+s.t/hour, 24); clock >= 7 && clock < 8 {
		s.lookAtBin()
	}
}

// weekly is the running time a week in force [s].
func (s *sim) weekly() float64 {
	w := float64(s.ph.Schedule)
	for i := range s.o.Events {
		if e := &s.o.Events[i]; e.Kind == MoreShifts && e.during(max(s.t, s.shift.to)) {
			w = e.Value
		}
	}
	return w
}

// reload sets the dust in the air at the hoods.
func (s *sim) reload() {
	f := s.feed.level
	for i := range s.o.Events {
		if e := &s.o.Events[i]; e.Kind == HeavyFeed && e.during(s.t) {
			f *= e.Value
		}
	}
	s.loading = float64(s.ph.Loading) * f
}

// nextFault is when a fault's severity is to be looked at again: its onset, its end, and every hour while it grows.
func (s *sim) nextFault() float64 {
	next := math.Inf(1)
	for i := range s.o.Faults {
		f := &s.o.Faults[i]
		on, full, off := f.After.Seconds(), (f.After + f.Ramp).Seconds(), f.Until.Seconds()
		if off > 0 && s.t >= off {
			continue
		}
		switch {
		case s.t < on:
			next = min(next, on)
		case s.t < full:
			next = min(next, min(full, s.t+hour))
		case off > 0:
			next = min(next, off)
		}
		if off > 0 {
			next = min(next, max(off, s.t))
		}
	}
	return next
}

// happen does one event.
func (s *sim) happen(e *Event) error {
	switch e.Kind {
	case ChangeFilters:
		s.changeFilters()
	case ChangeAfter:
		s.after.Dust = 0
		s.note(ChangeAfter, 0)
	case MoveDamper:
		s.moveDamper(e.Value)
	case SetPoints:
		if s.ctl == nil {
			return nil
		}
		if err := s.ctl.Reset(unit.Pressure(e.Value), unit.Pressure(e.Second)); err != nil {
			return err
		}
		if !math.IsNaN(e.Second) {
			s.high = e.Second
		}
		s.note(SetPoints, 0)
	case HeaderSet:
		s.headerSet = e.Value
		s.note(HeaderSet, 0)
	case EmptyBin:
		s.emptyBin()
	}
	return nil
}

// control lets the controller look at its gauge, and fires.
func (s *sim) control() error {
	if s.ctl == nil || s.fx.silent >= 1 {
		s.cleaning = false
		return nil
	}
	a := s.ctl.Step(unit.Seconds(s.t), unit.Pressure(s.now.gauge), s.running)
	s.cleaning = a.Cleaning
	if a.Fire == 0 || s.fx.silent > 0 && s.dice.Float64() < s.fx.silent {
		return nil
	}
	return s.fire(a.Fire - 1)
}
