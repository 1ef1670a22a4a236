package judge

// mark is what a cause at full severity does to a sight: a shift of its centre and a widening.
type mark struct{ shift, spread float64 }

// signatures holds what each cause does to each sight, reasoned from the physics of the machine
// (sense's definitions, on-demand cleaning between two set points): shifts are log ratios or
// differences, as the sight's key says. A sight that is not listed stays where it is. No source
// beyond that reasoning; the simulation checks it.
//
// The reasoning in short. The controller holds the dP between its set points, so blinded or badly
// cleaned filters first show as less taken off by a pulse and more pulses a cycle, and only when it
// can't reach the low set point as a higher drag. More dust shows as a faster rise with cleaning
// that still works. More air raises dP with the flow and loads faster (rise goes with the square of
// the flow); less air does the reverse, and which of damper, duct and fan it was shows in the
// static pressure and the motor's load against what the flow asks for.
var signatures = map[Cause]map[key]mark{
	FiltersBlinded: {"after": {0.45, 0.3}, "low": {0.4, 0.3}, "rise": {0.15, 0.25}, "per-pulse": {-0.8, 0.5}, "pulses": {0.8, 0.6},
		"cycles": {0.5, 0.5}, "raw": {0.3, 0.3}, "over-high": {0.15, 0.2}, "flow": {-0.05, 0.06}, "amps": {-0.02, 0.04}, "watts": {-0.03, 0.05}},
	DustLoadHeavy: {"after": {0.03, 0.1}, "low": {0.05, 0.12}, "rise": {0.8, 0.35}, "per-pulse": {0.1, 0.25}, "pulses": {0.05, 0.25},
		"cycles": {0.7, 0.35}, "raw": {0.05, 0.1}, "bin": {0.05, 0.1}, "emission": {0.1, 0.2}},
	CakeDamp: {"after": {0.4, 0.25}, "low": {0.35, 0.25}, "rise": {0.8, 0.45}, "per-pulse": {-0.6, 0.4}, "pulses": {0.7, 0.5},
		"cycles": {0.6, 0.5}, "raw": {0.3, 0.25}, "over-high": {0.15, 0.2}, "flow": {-0.05, 0.06}, "humidity": {0.25, 0.15}, "amps": {-0.02, 0.04}},
	AirflowHigh: {"flow": {0.18, 0.1}, "raw": {0.12, 0.12}, "rise": {0.3, 0.15}, "cycles": {0.3, 0.2}, "inlet": {0.3, 0.15}, "amps": {0.1, 0.06},
		"watts": {0.13, 0.08}, "damper": {0.25, 0.15}, "low": {0.05, 0.1}, "per-pulse": {0.1, 0.15}, "emission": {0.1, 0.2}},
	AirflowLow: {"flow": {-0.25, 0.15}, "raw": {-0.2, 0.2}, "rise": {-0.4, 0.3}, "cycles": {-0.5, 0.4}, "inlet": {-0.5, 0.25}, "amps": {-0.12, 0.08},
		"watts": {-0.16, 0.1}, "damper": {-0.25, 0.15}, "per-pulse": {-0.1, 0.2}},
	DuctBlocked: {"flow": {-0.25, 0.15}, "raw": {-0.2, 0.2}, "rise": {-0.4, 0.3}, "cycles": {-0.5, 0.4}, "inlet": {0.3, 0.25}, "inlet-resistance": {0.8, 0.4},
		"amps": {-0.12, 0.08}, "watts": {-0.16, 0.1}, "per-pulse": {-0.1, 0.2}},
	LeakInward: {"flow": {0.06, 0.08}, "raw": {0.05, 0.1}, "rise": {-0.1, 0.25}, "cycles": {-0.1, 0.25}, "inlet": {-0.5, 0.3}, "inlet-resistance": {-0.7, 0.4},
		"amps": {0.04, 0.05}, "watts": {0.05, 0.06}},
	FanWeak: {"flow": {-0.25, 0.15}, "raw": {-0.2, 0.2}, "rise": {-0.4, 0.3}, "cycles": {-0.5, 0.4}, "inlet": {-0.5, 0.3}, "fan-load": {-0.25, 0.15},
		"amps": {-0.3, 0.2}, "watts": {-0.45, 0.3}, "per-pulse": {-0.1, 0.2}},
	CleaningOff: {"after": {0.5, 0.5}, "low": {0.6, 0.4}, "raw": {0.5, 0.35}, "over-high": {0.4, 0.3}, "idle": {1, 0.15}, "cycles": {-2, 1}, "flow": {-0.08, 0.08},
		"header-drop": {0, 0.1}, "amps": {-0.04, 0.05}},
	HeaderPressureLow: {"after": {0.2, 0.2}, "low": {0.2, 0.2}, "rise": {0.1, 0.2}, "per-pulse": {-0.6, 0.4}, "pulses": {0.6, 0.4}, "cycles": {0.3, 0.4},
		"header": {-0.3, 0.15}, "recovery": {-0.3, 0.25}, "header-drop": {-0.3, 0.25}, "raw": {0.15, 0.2}, "over-high": {0.08, 0.15}},
	ValveDead: {"after": {0.12, 0.1}, "low": {0.12, 0.1}, "rise": {0.15, 0.12}, "per-pulse": {-0.25, 0.2}, "pulses": {0.25, 0.25}, "cycles": {0.2, 0.25},
		"raw": {0.05, 0.1}, "valve-share": {-1, 0.1}, "no-drop": {1, 0.1}},
	ValveWeak: {"after": {0.05, 0.06}, "low": {0.05, 0.06}, "rise": {0.06, 0.08}, "per-pulse": {-0.12, 0.12}, "pulses": {0.12, 0.15}, "cycles": {0.08, 0.15},
		"valve-share": {-0.5, 0.18}, "no-drop": {0.1, 0.15}},
	ValveStuckOpen: {"after": {0.2, 0.2}, "low": {0.2, 0.2}, "per-pulse": {-0.7, 0.5}, "pulses": {0.7, 0.5}, "cycles": {0.3, 0.4}, "header": {-0.5, 0.3},
		"recovery": {-0.5, 0.3}, "header-trend": {-3, 4}, "header-drop": {-0.7, 0.5}, "raw": {0.15, 0.2}, "valve-share": {-0.5, 0.6}, "no-drop": {0.5, 0.5}},
	GaugeLineBlocked: {"frozen": {0.5, 0.25}, "noise": {-1.5, 0.8}, "cycles": {-1.5, 1}, "per-pulse": {-0.8, 0.8}, "rise": {-1, 1.2}, "stopped": {0.8, 0.7},
		"raw": {0, 0.6}, "low": {0.1, 0.5}, "after": {0.1, 0.5}, "over-high": {0.1, 0.4}, "idle": {0.3, 0.5}},
	GaugeLineOff: {"near-zero": {-0.95, 0.15}, "negative": {0.4, 0.35}, "raw": {-3, 1.5}, "low": {-2, 1.5}, "after": {-2, 1.5}, "cycles": {-2, 1.5},
		"rise": {-2, 1.5}, "noise": {-0.5, 1}, "frozen": {0.2, 0.4}},
	FilterLeak: {"afterfilter": {1, 0.8}, "emission": {0.8, 0.5}, "emission-peak": {1, 0.6}, "emission-row": {1, 0.8}, "after": {-0.05, 0.06}, "low": {-0.05, 0.06}},
	BinOverfull: {"after": {0.2, 0.15}, "low": {0.2, 0.15}, "rise": {0.6, 0.3}, "per-pulse": {-0.35, 0.25}, "pulses": {0.4, 0.3}, "cycles": {0.6, 0.3},
		"bin": {0.3, 0.1}, "raw": {0.12, 0.12}, "inlet": {0.05, 0.1}},
}

// severities is the grid over which the severity of a cause is integrated, with its prior.
var severities = [...]struct{ s, p float64 }{{0.25, 0.2}, {0.5, 0.3}, {1, 0.3}, {1.7, 0.2}}
