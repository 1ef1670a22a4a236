package export

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/parquet-go/parquet-go"
	"github.com/xuri/excelize/v2"

	"dustwright/sense"
	"dustwright/unit"
)

// units are the SI units of the channels, by channel; "" for a bare number.
func units(c sense.Channel) string {
	switch c {
	case sense.DP, sense.AfterfilterDP, sense.Header, sense.HeaderLow, sense.InletSP, sense.Barometer:
		return "Pa"
	case sense.Flow:
		return "m3/s"
	case sense.FanCurrent:
		return "A"
	case sense.FanPower:
		return "W"
	case sense.Temperature:
		return "K"
	case sense.BinMass:
		return "kg"
	case sense.Damper, sense.Humidity, sense.BinLevel:
		return "1"
	}
	return ""
}

// MostRows is the number of readings a sheet of a spreadsheet holds.
const MostRows = 1_048_575

// ErrTooLong is returned for a stretch that no spreadsheet holds.
var ErrTooLong = errors.New("a spreadsheet holds 1,048,575 rows; choose a shorter stretch, or CSV or Parquet")

// Column says how the column of a channel is headed, and in what unit it is.
type Column func(sense.Channel) (head string, u unit.Unit, err error)

// XLSX writes a series as a spreadsheet: times in the zone, one column a channel, in the unit that column says, empty cells where
// nothing was read.
func XLSX(w io.Writer, s *sense.Series, zone *time.Location, column Column) (err error) {
	if s.Len() > MostRows {
		return ErrTooLong
	}
	f := excelize.NewFile()
	defer func() { err = errors.Join(err, f.Close()) }()
	sheet, err := f.NewStreamWriter("Sheet1")
	if err != nil {
		return fmt.Errorf("spreadsheet: %w", err)
	}
	head, cols := []any{"time"}, channels(s)
	in := map[sense.Channel]unit.Unit{}
	for _, c := range cols {
		name, u, err := column(c)
		if err != nil {
			return fmt.Errorf("spreadsheet: %w", err)
		}
		head, in[c] = append(head, name), u
	}
	if err := sheet.SetRow("A1", head); err != nil {
		return fmt.Errorf("spreadsheet: %w", err)
	}
	fired := firings(s)
	for i, t := range s.Time {
		row := []any{time.Unix(0, t).In(zone).Format("2006-01-02T15:04:05Z07:00")}
		for _, c := range cols {
			row = append(row, cell(s, c, i, fired, in[c]))
		}
		if err := sheet.SetRow(fmt.Sprintf("A%d", i+2), row); err != nil {
			return fmt.Errorf("spreadsheet: %w", err)
		}
	}
	if err := sheet.Flush(); err != nil {
		return fmt.Errorf("spreadsheet: %w", err)
	}
	if _, err := f.WriteTo(w); err != nil {
		return fmt.Errorf("spreadsheet: %w", err)
	}
	return nil
}

// channels lists the channels that are there.
func channels(s *sense.Series) (cols []sense.Channel) {
	for c := range sense.NumChannels {
		if s.Has(sense.Channel(c)) {
			cols = append(cols, sense.Channel(c))
		}
	}
	return cols
}

// firings lists the valves that fired in each row, as the log writes them.
func firings(s *sense.Series) map[int32]string {
	out := map[int32]string{}
	for _, f := range s.Pulses {
		out[f.Row] = strings.TrimSpace(fmt.Sprintf("%s %d", out[f.Row], f.Valve))
	}
	return out
}

// cell is the value of a channel in a row, in a unit and to seven digits, nil where there is none.
func cell(s *sense.Series, c sense.Channel, row int, fired map[int32]string, in unit.Unit) any {
	if text, ok := fired[int32(row)]; ok && c == sense.Pulse {
		return text
	}
	v := s.At(c, row)
	if math.IsNaN(v) || c == sense.Pulse {
		return nil
	}
	v, _ = strconv.ParseFloat(strconv.FormatFloat(in.From(v), 'g', 7, 64), 64) // of a number that was just written
	return v
}

// Reading is one row of the Parquet file.
type Reading struct {
	Time    time.Time `parquet:"time,timestamp(millisecond)"`
	Channel string    `parquet:"channel,dict"`
	Value   float64   `parquet:"value"`
	Unit    string    `parquet:"unit,dict"`
}

// Parquet writes a series as one row a reading, in order of time; a firing is a row of channel "pulse"
// whose value is the valve.
func Parquet(w io.Writer, s *sense.Series) error {
	p := parquet.NewGenericWriter[Reading](w, parquet.Compression(&parquet.Zstd))
	cols := channels(s)
	var rows []Reading
	next := 0
	for i, t := range s.Time {
		at := time.Unix(0, t).UTC()
		for _, c := range cols {
			if v := s.At(c, i); c != sense.Pulse && !math.IsNaN(v) {
				rows = append(rows, Reading{at, c.String(), v, units(c)})
			}
		}
		for ; next < len(s.Pulses) && int(s.Pulses[next].Row) == i; next++ {
			rows = append(rows, Reading{at, sense.Pulse.String(), float64(s.Pulses[next].Valve), ""})
		}
		if len(rows) > 8192 || i == len(s.Time)-1 {
			if _, err := p.Write(rows); err != nil {
				return fmt.Errorf("parquet: %w", err)
			}
			rows = rows[:0]
		}
	}
	if err := p.Close(); err != nil {
		return fmt.Errorf("parquet: %w", err)
	}
	return nil
}
