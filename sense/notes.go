package sense

import (
	"fmt"
	"math"
)

// flowMissing says in plain words how the airflow was come by, where nobody measured it.
func flowMissing(ms []FlowMethod) string {
	if len(ms) == 0 {
		return "no channel shows the airflow"
	}
	sigma := 0.0
	for _, m := range ms {
		if m.Name == ByMeasurement {
			return ""
		}
		sigma += 1 / (m.Sigma * m.Sigma)
	}
	width := 100 * 2 / math.Sqrt(sigma)
	switch ms[0].Name {
	case ByDesign:
		return fmt.Sprintf("no channel shows the airflow: design flow is taken, within %.0f %%", width)
	case ByCurve:
		return fmt.Sprintf("the airflow is inferred from the fan curve and the dP, as if nobody had moved the damper, within %.0f %%", width)
	}
	return fmt.Sprintf("the airflow is inferred from the %s, within %.0f %%", ms[0].Name, width)
}

// notes writes what is missing and what that costs, into the features and into the quantities.
func (v *view) notes(f *Features, s *summariser) {
	miss := func(why string, qs ...Quantity) {
		for _, q := range qs {
			m := f.Get(q)
			if !m.Now.Known() {
				m.Now = Unknown(why)
			}
		}
	}
	if s.red != nil {
		miss("the filters are never pulsed", DragAfter, DragBefore, Trigger, Stop, Recovered, DropPerCycle, DropPerPulse, RiseBend,
			CyclesPerHour, PulsesPerHour, PulsesPerCycle, CleaningShare)
		if s.red.flowBy == "" {
			f.Notes = append(f.Notes, "no channel shows the airflow, so a change of flow looks like a change of the filters")
		}
	}
	switch f.CyclesBy {
	case "":
		miss("no cleaning cycle can be seen: rows come too far apart, or there was none", Trigger, Stop, DragAfter, DragBefore,
			Recovered, DropPerCycle, RiseRate, RiseBend, CyclesPerHour, CleaningShare)
	case BySawtooth.String():
		f.Notes = append(f.Notes, "the log does not say when it cleans: cycles are taken from the saw-tooth of the dP")
	}
	if !f.Seen[Pulse] {
		miss("the log does not name the valves that fired", PulsesPerHour, PulsesPerCycle, DropPerPulse, HeaderDrop, HeaderRecovery, HeaderLacks, EmissionPeak)
	}
	if f.Turns {
		f.Notes = append(f.Notes, "no valve is named in the log: valves are told from each other by their turns, and none by its number")
	}
	if !f.Seen[Header] && !f.Seen[HeaderLow] {
		miss("the header pressure is not in the log", HeaderLevel, HeaderDrop, HeaderRecovery, HeaderTrend, HeaderLacks, HeaderNoise, HeaderBehind, HeaderSwing, HeaderLowest, HeaderStood, HeaderSags, HeaderEmptied)
	}
	if f.RunningBy != Running.String() {
		f.Notes = append(f.Notes, runningNote(f.RunningBy))
	}
	if t := f.Get(FlowShare).Now.Missing; t != "" {
		f.Notes = append(f.Notes, t)
	}
}

func runningNote(by string) string {
	if by == "assumed" {
		return "nothing shows whether the fan runs: it is taken to run in every row"
	}
	return fmt.Sprintf("whether the fan runs is taken from the %s", by)
}
