package header

import (
	"math"

	"dustwright/unit"
)

// ReceiverVolume returns the receiver that carries a demand above the supply for a time.
//
//	t      how long [s]
//	short  what the demand takes above the supply, in free air at the surroundings' pressure [m3/s]
//	p1,p2  highest and lowest allowed receiver pressure, gauge [Pa], p1 above p2
//	pa     pressure of the surroundings [Pa abs]
//	result [m3]; negative where the supply is larger (short below 0); NaN in, NaN out
//
// Source: V = t (qout-qin) Pa/(P1-P2), isothermal. Check values: testdata/receiver_sizing.csv.
func ReceiverVolume(t unit.Seconds, short unit.StdFlow, p1, p2 unit.Pressure, pa unit.AbsPressure) unit.Volume {
	return unit.Volume(float64(t) * float64(short) * float64(pa) / float64(p1-p2))
}

// UsableAir returns the free air that a receiver gives between two pressures.
//
//	volume [m3], p1, p2 highest and lowest pressure [Pa], pa of the surroundings [Pa abs]
//	result [m3 of free air]; NaN in, NaN out
//
// Source: V (P1-P2)/Pa, isothermal. Check values: testdata/receiver_sizing.csv.
func UsableAir(volume unit.Volume, p1, p2 unit.Pressure, pa unit.AbsPressure) unit.Volume {
	return unit.Volume(float64(volume) * float64(p1-p2) / float64(pa))
}

// DecayLoss returns the free air lost in a pressure decay test with the supply shut.
//
//	volume [m3], p1, p2 pressure at the start and after dt [Pa, s], pa of the surroundings [Pa abs]
//	result [m3/s of free air]; NaN in, NaN out
//
// Source: Q = V dp/(pa dt); US Navy MO-209 Tables 5-3 and 5-4. Check values: testdata/pressure_test_leak.csv.
func DecayLoss(volume unit.Volume, p1, p2 unit.Pressure, dt unit.Seconds, pa unit.AbsPressure) unit.StdFlow {
	return unit.StdFlow(float64(volume) * float64(p1-p2) / (float64(pa) * float64(dt)))
}

// LineLeak is DecayLoss times 1.25: the leak at line pressure, where the test ran down to half of it. NaN in, NaN out.
// Source: US DOE sourcebook formula, from memory (factor read in a public calculator). Check values: testdata/leak_load_test.csv.
func LineLeak(volume unit.Volume, p1, p2 unit.Pressure, dt unit.Seconds, pa unit.AbsPressure) unit.StdFlow {
	return 1.25 * DecayLoss(volume, p1, p2, dt, pa)
}

// LeakShare returns the share of a compressor's delivery that leaks, from its load times with no user on.
//
//	loaded, unloaded  seconds on and off load [s]
//	result            0 to 1; NaN in, NaN out
//
// Source: leak % = 100 T/(T+t). Check values: testdata/leak_load_test.csv.
func LeakShare(loaded, unloaded unit.Seconds) unit.Share {
	return unit.Share(loaded / (loaded + unloaded))
}

// PipeForm is one of the two published constants of the pipe formula; they differ by 13 %.
type PipeForm int

// The two forms.
const (
	PipeLow  PipeForm = iota // 7.57e4 q^1.85 L/(d^5 p), kg/cm2, m3/min, m, mm
	PipeHigh                 // 1.6e12 q^1.85 L/(d^5 p), kPa, m3/s, m, mm
)

// PipeDrop returns the pressure lost along a compressed-air pipe.
//
//	q      free air [m3/s]
//	length of the pipe with the fittings' equivalent [m], bore inside diameter [m]
//	p      pressure in the pipe [Pa abs]
//	form   which published constant; take PipeHigh where nothing else decides, it is the safe one
//	result [Pa]; NaN in, NaN out
//
// Source: public reference pages, both read. Check values: testdata/pipe_pressure_drop.csv.
func PipeDrop(q unit.StdFlow, length, bore unit.Length, p unit.AbsPressure, form PipeForm) unit.Pressure {
	d5 := math.Pow(float64(bore)*1000, 5)
	if form == PipeLow {
		const kgf = 98066.5 // Pa per kg/cm2
		return unit.Pressure(7.57e4 * math.Pow(float64(q)*60, 1.85) * float64(length) / (d5 * float64(p) / kgf) * kgf)
	}
	return unit.Pressure(1.6e12 * math.Pow(float64(q), 1.85) * float64(length) / (d5 * float64(p) / 1000) * 1000)
}
