// Package sense turns a collector's log into what a judgement needs: running periods, cleaning
// cycles, filter drag with the airflow inferred where nobody measured it, header drops valve by
// valve, and the changes somebody made without writing them down. A Reducer reads the rows once and
// keeps hours, cycles and counts (History); At answers from these as of any time (Features). It
// concludes nothing about causes; that is package judge's work. Sources stand beside each method.
//
//	r := sense.NewReducer(c)
//	r.Add(series)                            // again and again as readings come in
//	f := sense.At(r.History(), c, time.Now()) // nothing later is used
package sense
