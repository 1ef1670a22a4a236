// Package sense turns a collector's log into what a judgement needs: running periods, cleaning
// cycles, filter drag with the airflow inferred where nobody measured it, header drops valve by
// valve, and the changes somebody made without writing them down. A Reducer reads the rows once and
// keeps hours, cycles and counts (History); At answers from these as of any time (Features). It
// concludes nothing about causes; that is package judge's work. Sources stand beside each method.
//
//	r := sense.NewReducer(c)
//	r.Add(series)                            // again and again as readings come in
//	f := sense.At(r.History(), c, time.Now()) // nothing later is used
//
// # Where to look
//
// Rows become hours, while they come in:
//   - series.go, kind.go: a log in memory and its channels. reducer.go, chunk.go: hour by hour through it. history.go, packed.go:
//     what is kept of it, and how it is written. clock.go: times and zones.
//   - running.go: does the fan run. ring.go, rise.go, fine.go, pooled.go: small stores of recent values, slopes and quantiles.
//   - cycles.go, sawtooth.go, held.go: cleaning cycles by their flag, by pulses, by the fall of the dP, by dips of the header.
//   - air.go: pulses, header and leak detector valve by valve. lowest.go, behind.go: rows that show a fall late or show nothing else.
//     turns.go, due.go: pulses that are only counted, or only due. bout.go, last.go: the valves of one bout held against each other.
//   - refill.go: recharges of a receiver. start.go, fall.go: what the dP starts with and how it falls.
//
// Hours become days, and days features, as of a time:
//   - at.go, view.go: all that is seen as of a time. features.go, quantity.go: what comes out. days.go, days_cycles.go: a day's quantities;
//     of these passes.go (cleaning by the day), band.go, span.go, swing.go (how far the dP goes), header.go, taken.go (dust by the bin).
//   - airflow.go, airflow_ways.go, together.go: the airflow by every way there is, and all of them together. habit.go, speed.go, holds.go:
//     how readings go with each other here, fans on a drive, dampers on a controller.
//   - valves.go, sharedout.go, shared.go, left.go: what is told of each valve.
//   - baseline.go, alike.go, paced.go, standing.go: what is normal for this collector. onset.go, took.go: since when something changed,
//     and how long it took.
//   - level.go: the drag of filters that are never pulsed.
//
// What was changed, noted or not:
//   - changes.go, steps.go: damper moves. changes_set.go: set points. renewals.go, renewals_days.go: new filters. lives.go: the lives between them.
//   - notes.go: what is missing, in words. pick.go: medians and quantiles.
package sense
