package feed

import (
	"bufio"
	"io"
	"math"
	"strconv"
	"time"

	"dustwright/sense"
	"dustwright/unit"
)

// columnOrder is the order of the channels in a written log: that of the format's own example.
var columnOrder = [...]sense.Channel{
	sense.Running, sense.Cleaning, sense.DP, sense.Header, sense.HeaderLow, sense.Pulse, sense.FanCurrent, sense.InletSP,
	sense.Damper, sense.Temperature, sense.Humidity, sense.AfterfilterDP, sense.Flow, sense.FlowIndex, sense.FanPower,
	sense.Barometer, sense.Emission, sense.BinLevel, sense.BinMass,
}

// writtenDigits is how many significant digits a reading is written with: enough that reading the
// file gives every value back within a billionth, few enough that 0.71 stays 0.71 in any unit.
const writtenDigits = 9

// LogWriter writes a series as a log in the tool's own format, piece by piece.
type LogWriter struct {
	w        *bufio.Writer
	sys      unit.System
	channels []sense.Channel
	units    []unit.Unit
	zone     *time.Location
	line     []byte
}

// NewLogWriter writes the header line for the channels and returns the writer of the rows. Times are
// written in zone, nil meaning UTC. It returns the error of w.
func NewLogWriter(w io.Writer, channels []sense.Channel, zone *time.Location, sys unit.System) (*LogWriter, error) {
	l := &LogWriter{w: bufio.NewWriterSize(w, 64<<10), sys: sys, zone: zone}
	if l.zone == nil {
		l.zone = time.UTC
	}
	has := map[sense.Channel]bool{}
	for _, c := range channels {
		has[c] = true
	}
	l.line = append(l.line, "time"...)
	for _, c := range columnOrder {
		if !has[c] {
			continue
		}
		head, u, err := Column(c, sys)
		if err != nil {
			return nil, err
		}
		l.channels, l.units = append(l.channels, c), append(l.units, u)
		l.line = append(append(l.line, ','), head...)
	}
	l.line = append(l.line, '\n')
	_, err := l.w.Write(l.line)
	return l, err
}

// Column is how a column of a channel is headed in a log that is written in a system of units, and its unit; a channel without unit
// has the factor 1.
func Column(c sense.Channel, sys unit.System) (head string, u unit.Unit, err error) {
	symbol := rules[c].us
	if sys == unit.SI {
		symbol = rules[c].si
	}
	if head = c.String(); symbol != "" {
		head += "[" + symbol + "]"
	}
	u, err = unitOf(c, symbol)
	return head, u, err
}

// Rows writes the rows of a series; channels it has not, and readings that are NaN, become empty
// cells.
func (l *LogWriter) Rows(s *sense.Series) error {
	firing := 0
	for row, ns := range s.Time {
		l.line = time.Unix(0, ns).In(l.zone).AppendFormat(l.line[:0], time.RFC3339Nano)
		for k, c := range l.channels {
			l.line = append(l.line, ',')
			if c == sense.Pulse {
				firing = l.pulses(s, row, firing)
				continue
			}
			if v := s.At(c, row); !math.IsNaN(v) {
				l.line = appendReading(l.line, l.units[k].From(v))
			}
		}
		l.line = append(l.line, '\n')
		if _, err := l.w.Write(l.line); err != nil {
			return err
		}
	}
	return nil
}

// pulses writes the valves that fired in a row, from firing number `at` on, and returns the number of
// the next firing; where none is named, how many fired ("x3"). A missing reading is written as nan, because an empty cell
// means that none fired.
func (l *LogWriter) pulses(s *sense.Series, row, at int) int {
	for at < len(s.Pulses) && int(s.Pulses[at].Row) < row {
		at++
	}
	from := at
	for ; at < len(s.Pulses) && int(s.Pulses[at].Row) == row; at++ {
		if at > from {
			l.line = append(l.line, ' ')
		}
		l.line = strconv.AppendUint(l.line, uint64(s.Pulses[at].Valve), 10)
	}
	if at > from || s.Col[sense.Pulse] == nil {
		return at
	}
	switch n := s.Col[sense.Pulse][row]; {
	case math.IsNaN(n):
		l.line = append(l.line, "nan"...)
	case n >= 1:
		l.line = strconv.AppendFloat(append(l.line, 'x'), math.Min(math.Round(n), mostPulses), 'f', 0, 64)
	}
	return at
}

// Close writes what is still held back. It does not close the writer underneath.
func (l *LogWriter) Close() error { return l.w.Flush() }

// appendReading writes a number with writtenDigits significant digits and no trailing zeros.
func appendReading(b []byte, v float64) []byte {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', writtenDigits-1, 64), 64)
	if err != nil {
		rounded = v
	}
	if a := math.Abs(rounded); rounded == 0 || a >= 1e-5 && a < 1e15 {
		return strconv.AppendFloat(b, rounded+0, 'f', -1, 64)
	}
	return strconv.AppendFloat(b, rounded, 'g', -1, 64)
}

// WriteCSV writes the whole series as a log in the tool's own format, with the units of the system and
// the channels the series has. Reading the log gives the series back, values within a billionth.
func WriteCSV(w io.Writer, s *sense.Series, sys unit.System) error {
	var channels []sense.Channel
	for c := range sense.NumChannels {
		if s.Has(c) {
			channels = append(channels, c)
		}
	}
	l, err := NewLogWriter(w, channels, s.Zone, sys)
	if err != nil {
		return err
	}
	if err := l.Rows(s); err != nil {
		return err
	}
	return l.Close()
}
