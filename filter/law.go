package filter

import (
	"fmt"
	"math"

	"dustwright/unit"
)

// Law is how medium, dust and pulse behave; it is the same for all rows of a collector.
type Law struct {
	Media unit.Drag  // drag of the clean medium [Pa s/m], above 0
	K2    Resistance // drag per areal cake [1/s], above 0

	SeasonRise unit.Drag  // residual drag gained by seasoning in the end [Pa s/m], 0 or more
	SeasonDust Areal      // areal dust over which it gains 63 % [kg/m2], above 0
	CreepDust  Resistance // residual drag gained per areal dust passed, for good [1/s], 0 or more
	CreepPulse unit.Drag  // residual drag gained per full pulse, for good [Pa s/m], 0 or more

	RemoveMax      unit.Share    // share of its cake a row loses to the strongest pulse, fan off, 0 to 1
	RemovePressure unit.Pressure // header gauge pressure at which 63 % of RemoveMax is reached [Pa], above 0
	Online         unit.Share    // the share removed while the row filters, over that with the fan off, 0 to 1
	ReturnBelow    unit.Share    // of what comes off while filtering, what settles on the next row down, 0 to 1
	ReturnBeside   unit.Share    // and on the row above and below alike, each this share, 0 to 1
}

// Check returns nil if every value of the law can be, else a sentence.
func (l Law) Check() error {
	for _, v := range []struct {
		what     string
		value    float64
		positive bool
	}{
		{"the clean medium's drag [Pa s/m]", float64(l.Media), true}, {"K2 [1/s]", float64(l.K2), true},
		{"the seasoning's rise [Pa s/m]", float64(l.SeasonRise), false}, {"the seasoning's dust [kg/m2]", float64(l.SeasonDust), true},
		{"the creep per dust [1/s]", float64(l.CreepDust), false}, {"the creep per pulse [Pa s/m]", float64(l.CreepPulse), false},
		{"the cleaning pressure [Pa]", float64(l.RemovePressure), true},
	} {
		if math.IsNaN(v.value) || math.IsInf(v.value, 0) || v.value < 0 || v.positive && v.value == 0 {
			return fmt.Errorf("%s can't be %g", v.what, v.value)
		}
	}
	for _, v := range []struct {
		what  string
		value unit.Share
	}{
		{"the share a pulse removes at most", l.RemoveMax}, {"the share removed while filtering", l.Online},
		{"the share returned below", l.ReturnBelow}, {"the share returned beside", l.ReturnBeside},
		{"all that is returned", l.ReturnBelow + 2*l.ReturnBeside},
	} {
		if !(v.value >= 0 && v.value <= 1) {
			return fmt.Errorf("%s must lie between 0 and 1; it is %g", v.what, float64(v.value))
		}
	}
	return nil
}
