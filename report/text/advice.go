package text

import (
	"fmt"
	"io"
	"math"

	"dustwright/collector"
	"dustwright/rehearse"
	"dustwright/unit"
)

// Advice prints today's set points beside the advised.
func Advice(w io.Writer, sys unit.System, c *collector.Collector, a *rehearse.Advice) error {
	p := &page{sys: sys}
	p.title(c)
	p.advised(c, a)
	p.say("Nothing is applied: whoever changes set points does it at the controller and the regulator, and looks first whether the filters' maker allows the header pressure.")
	if a.Changed {
		p.say("Go there in steps, one setting at a time, and watch dP and airflow for a week or two after each.")
	}
	p.gap()
	p.trials(c, a)
	if len(a.Binding) > 0 {
		p.gap()
		p.say("Limits that bind:")
		for _, b := range a.Binding {
			p.indented("  - ", "%s.", b.Text.In(sys))
		}
	}
	p.gap()
	p.say("Taken:")
	for _, n := range a.Notes {
		p.indented("  - ", "%s.", n)
	}
	p.say("%d runs with the same weather, work and dust (seed %d), each from new filters to the first limit of their life or to the run's end.", a.Runs, a.Seed)
	p.say(aboutRehearsal)
	return p.print(w)
}

// advised is the sentence that matters.
func (p *page) advised(c *collector.Collector, a *rehearse.Advice) {
	s := a.Advised.Settings
	least := "came out at least 1 % cheaper"
	if a.Basis == rehearse.ByEnergy {
		least = "took at least 1 % less energy"
	}
	if !a.Changed {
		p.say("No set points within the limits %s than today's: leave them as they are.", least)
		return
	}
	cleaning := fmt.Sprintf("a pulse every %s and the header at %s", p.q(s.Interval), p.q(s.Header))
	if a.Mode == collector.OnDemand {
		cleaning = fmt.Sprintf("cleaning from %s down to %s, ", p.q(s.High), p.q(s.Low)) + cleaning
	}
	if a.Basis == rehearse.ByEnergy {
		e := a.Today.PerYear.Energy
		p.say("With %s, it would take about %s a year less than with today's set points (%s).", cleaning, unit.Energy(a.Saving), share(unit.Energy(a.Saving), e))
		return
	}
	p.say("With %s, it would cost about %s a year less than with today's set points (%s).", cleaning, money(c, a.Saving),
		share(unit.Share(a.Saving), unit.Share(a.Today.PerYear.Cost)))
}

// trials is the table.
func (p *page) trials(c *collector.Collector, a *rehearse.Advice) {
	cells := func(label string, f func(*rehearse.Trial) string) { p.row(label, f(&a.Today), f(&a.Advised), "") }
	p.row("", "today", "advised", "")
	if a.Mode == collector.OnDemand {
		cells("low set point", func(t *rehearse.Trial) string { return p.q(t.Low) })
		cells("high set point", func(t *rehearse.Trial) string { return p.q(t.High) })
	}
	cells("pulse interval", func(t *rehearse.Trial) string { return p.q(t.Interval) })
	cells("header pressure", func(t *rehearse.Trial) string { return p.q(t.Header) })
	cells("life of the filters", func(t *rehearse.Trial) string {
		if math.IsNaN(float64(t.Summary.LifeDays)) {
			return fmt.Sprintf("over %.0f days", t.Summary.Days)
		}
		return fmt.Sprintf("%.0f days (%s)", float64(t.Summary.LifeDays), t.Summary.Limit)
	})
	cells("pulses a year", func(t *rehearse.Trial) string { return unit.Grouped(int(t.PerYear.Pulses)) })
	cells("compressed air a year", func(t *rehearse.Trial) string { return p.std(t.PerYear.Air) })
	cells("of the air supply", func(t *rehearse.Trial) string { return t.Supply.In(p.sys) })
	cells("fan electricity a year", func(t *rehearse.Trial) string { return p.q(t.PerYear.FanEnergy) })
	cells("mean airflow", func(t *rehearse.Trial) string { return p.q(t.Summary.MeanFlow) })
	cells("lowest airflow", func(t *rehearse.Trial) string { return p.q(t.Summary.LowestFlow) })
	cells("time below 95 % of design", func(t *rehearse.Trial) string { return t.Summary.ShortFlow.In(p.sys) })
	if a.Basis == rehearse.ByEnergy {
		cells("compressor electricity a year", func(t *rehearse.Trial) string { return p.q(t.PerYear.AirEnergy) })
		return
	}
	cells("electricity of the fan", func(t *rehearse.Trial) string { return money(c, t.PerYear.Electricity) })
	cells("compressed air", func(t *rehearse.Trial) string { return money(c, t.PerYear.Pulsing) })
	if a.Basis == rehearse.ByCost {
		cells("filters", func(t *rehearse.Trial) string { return money(c, t.PerYear.Filters) })
	}
	cells("cost a year", func(t *rehearse.Trial) string { return money(c, t.PerYear.Cost) })
}
