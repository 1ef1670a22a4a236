package rehearse

import "fmt"

// Channel names one column of a collector's log.
type Channel uint8

// The channels, in the order and with the SI unit of the log format.
const (
	DP            Channel = iota // across the filters [Pa]
	AfterFilterDP                // across the after-filter [Pa]
	Flow                         // airflow [m3/s]
	FlowIndex                    // proportional to the airflow
	Header                       // header pressure, gauge [Pa]
	HeaderLow                    // lowest header pressure since the last row, gauge [Pa]
	FanCurrent                   // [A]
	FanPower                     // electrical [W]
	InletSP                      // at the collector inlet, negative is suction [Pa]
	Damper                       // open share
	Running                      // 0 or 1
	Cleaning                     // 0 or 1
	Pulse                        // pulses since the last row; the valves stand in Firings
	Temperature                  // [K]
	Humidity                     // share
	Barometer                    // absolute [Pa]
	Emission                     // leak detector, any unit
	BinLevel                     // share of full
	BinMass                      // taken away since the last row [kg]
	NumChannels
)

func channelNames() [NumChannels]string {
	return [NumChannels]string{"dp", "afterfilter_dp", "flow", "flow_index", "header", "header_low", "fan_current", "fan_power",
		"inlet_sp", "damper", "running", "cleaning", "pulse", "temperature", "humidity", "barometer", "emission", "bin_level", "bin_mass"}
}

// String returns the channel's spelling in the log format.
func (c Channel) String() string {
	if c < NumChannels {
		return channelNames()[c]
	}
	return fmt.Sprintf("channel %d", uint8(c))
}

// ParseChannel returns the channel of exactly this spelling, and false where there is none.
func ParseChannel(name string) (Channel, bool) {
	for c, n := range channelNames() {
		if n == name {
			return Channel(c), true
		}
	}
	return NumChannels, false
}

// ChannelNames returns all spellings in their order.
func ChannelNames() []string {
	n := channelNames()
	return n[:]
}

// Firing says that a valve was told to fire between the row before and this one; a dead valve is told too.
type Firing struct {
	Row   int32 // index of the row
	Valve uint8 // 1 is the first
}
