// Package made says what a simulator hands over to be judged: one made-up collector, its log, and the truth.
package made

import (
	"time"

	"dustwright/collector"
	"dustwright/sense"
)

// Trial is one made-up collector with its log.
type Trial struct {
	Collector *collector.Collector
	Series    *sense.Series
	Truth     string    // the cause by its name, "none" for a healthy one
	Number    int       // of the valve or row, 0 where the cause has none
	Severity  float64   // 0.25 (subtle) to 1 (gross)
	Old       float64   // days since the onset
	Story     string    // what happened without anything being wrong
	At        time.Time // the end of the log
}
