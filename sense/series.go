package sense

import (
	"fmt"
	"math"
	"time"
)

// Channel names one column of a collector's log. The order is fixed: stored histories use it.
type Channel uint8

// The channels of the log, with the SI unit each carries in a Series.
const (
	DP            Channel = iota // pressure difference across the filters [Pa]
	AfterfilterDP                // pressure difference across the after-filter [Pa]
	Flow                         // measured airflow, actual [m3/s]
	FlowIndex                    // anything proportional to the airflow, any unit
	Header                       // header pressure at the time of the row [Pa, gauge]
	HeaderLow                    // lowest header pressure since the last row [Pa, gauge]
	FanCurrent                   // fan motor current [A]
	FanPower                     // fan motor electric power [W]
	InletSP                      // static pressure at the collector inlet [Pa, negative is suction]
	Damper                       // damper opening [0..1]
	Running                      // fan running [0 or 1; a share of the interval is accepted]
	Cleaning                     // controller cleaning [0 or 1]
	Pulse                        // pulses since the last row [count]; which valves fired is in Series.Pulses
	Temperature                  // air temperature [K]
	Humidity                     // relative humidity [0..1]
	Barometer                    // ambient pressure [Pa, absolute]
	Emission                     // leak detector, any unit
	BinLevel                     // bin fill [0..1]
	BinMass                      // dust taken away at this time [kg]
	NumChannels                  // how many there are
)

// channelNames holds the spelling of the log format, in the order of the constants.
var channelNames = [NumChannels]string{
	"dp", "afterfilter_dp", "flow", "flow_index", "header", "header_low", "fan_current", "fan_power",
	"inlet_sp", "damper", "running", "cleaning", "pulse", "temperature", "humidity", "barometer",
	"emission", "bin_level", "bin_mass",
}

// String returns the channel's spelling in the log.
func (c Channel) String() string {
	if c < NumChannels {
		return channelNames[c]
	}
	return fmt.Sprintf("channel %d", uint8(c))
}

// ParseChannel returns the channel with exactly this log spelling, and false where there is none;
// ChannelNames serves the caller who wants to name the nearest one.
func ParseChannel(name string) (Channel, bool) {
	for c, n := range channelNames {
		if n == name {
			return Channel(c), true
		}
	}
	return NumChannels, false
}

// ChannelNames returns the log spellings of all channels in their fixed order.
func ChannelNames() []string { return append([]string(nil), channelNames[:]...) }

// Firing says that a valve fired between the previous row and this one.
type Firing struct {
	Row   int32 // index into Series.Time
	Valve uint8 // number of the valve, 1 is the first
}

// Series is a stretch of a collector's log, one column per channel, all in SI.
type Series struct {
	Time   []int64                // unix nanoseconds, ascending, no two alike
	Col    [NumChannels][]float64 // nil: the log has no such channel; NaN: no reading in this row
	Pulses []Firing               // sorted by Row; within a row in firing order
	Zone   *time.Location         // the log's own clock, for printing; nil means UTC
	Source string                 // where it came from, for messages
}

// Len returns the number of rows.
func (s *Series) Len() int { return len(s.Time) }

// Has reports whether the channel occurs in the series; the pulse channel counts as present when
// either its column or a firing is there.
func (s *Series) Has(c Channel) bool {
	if c >= NumChannels {
		return false
	}
	return s.Col[c] != nil || (c == Pulse && len(s.Pulses) > 0)
}

// At returns the reading of channel c in row i, NaN where there is none.
func (s *Series) At(c Channel, i int) float64 {
	if col := s.Col[c]; col != nil {
		return col[i]
	}
	return math.NaN()
}

// When returns the time of row i in the series' own zone.
func (s *Series) When(i int) time.Time {
	if s.Zone == nil {
		return time.Unix(0, s.Time[i]).UTC()
	}
	return time.Unix(0, s.Time[i]).In(s.Zone)
}
