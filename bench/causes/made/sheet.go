package made

import (
	"fmt"
	"strings"
)

// Sheet is a collector's file as it is written, by somebody who knows this and that of the machine.
type Sheet struct {
	strings.Builder
	Dice Dice
}

// Line writes a line, or several.
func (s *Sheet) Line(format string, args ...any) { fmt.Fprintf(s, format+"\n", args...) }

// Maybe writes what is known with a chance.
func (s *Sheet) Maybe(known float64, format string, args ...any) {
	if s.Dice.Chance(known) {
		s.Line(format, args...)
	}
}
