package sense

import "dustwright/unit"

// Kind returns what the channel measures, for parsing and printing; KindNumber for counts and
// channels of any unit.
func (c Channel) Kind() unit.Kind {
	switch c {
	case DP, AfterfilterDP, Header, HeaderLow, InletSP:
		return unit.KindPressure
	case Flow:
		return unit.KindFlow
	case FanCurrent:
		return unit.KindCurrent
	case FanPower:
		return unit.KindPower
	case Damper, Humidity, BinLevel:
		return unit.KindShare
	case Temperature:
		return unit.KindTemperature
	case Barometer:
		return unit.KindAbsPressure
	case BinMass:
		return unit.KindMass
	default:
		return unit.KindNumber
	}
}
