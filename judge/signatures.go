package judge

// mark is where a sight lies, and how far it scatters beyond its own uncertainty.
type mark struct{ centre, spread float64 }

// healthy is where each sight of a sound collector lies.
var healthy = map[key]mark{
	"after":            {0, 0.05},
	"afterfilter":      {-0.02, 0.16},
	"amps":             {0, 0.02},
	"bin":              {0, 0.02},
	"cycles":           {0.01, 0.77},
	"damper":           {0.05, 0.07},
	"emission":         {-0.01, 0.15},
	"emission-peak":    {0.5, 1.22},
	"emission-row":     {0, 0.32},
	"fan-load":         {0, 0.02},
	"flow":             {-0.07, 0.05},
	"frozen":           {0, 0.02},
	"header":           {0, 0.02},
	"header-drop":      {0, 0.02},
	"header-trend":     {0, 0.02},
	"humidity":         {0, 0.08},
	"idle":             {0, 0.55},
	"inlet":            {0.01, 0.07},
	"inlet-resistance": {0, 0.03},
	"low":              {0, 0.07},
	"near-zero":        {0, 0.05},
	"negative":         {0, 0.02},
	"no-drop":          {0, 0.02},
	"noise":            {0, 0.06},
	"over-high":        {0, 0.02},
	"per-pulse":        {-0.02, 0.53},
	"pulses":           {0.03, 0.38},
	"raw":              {0.01, 0.08},
	"recovery":         {0, 0.09},
	"rise":             {-0.06, 0.96},
	"stopped":          {0, 0.11},
	"valve-share":      {0, 0.02},
	"watts":            {0, 0.02},
}

// signatures holds where each cause puts the sights that it moves; a sight that is not listed stays where it is in a
// healthy collector. Source: the simulation (bench/causes, odd seeds: many machines, severities from subtle to gross,
// onsets hours to weeks old), as median and scatter, pulled towards healthy where few trials showed the sight, the
// scatter widened by a third since real machines differ more; what a cause does and in which direction follows from
// the physics. In short: the controller holds the dP between its set points, so blinded or badly cleaned filters show
// as a higher drag after cleaning and less taken off by a pulse; more dust as a faster rise with cleaning that still
// works; more air as a dP and a motor load that go with the flow, less air the reverse, and which of damper, duct, leak
// and fan it was shows in the static pressure and the motor's load against what the flow asks for.
var signatures = map[Cause]map[key]mark{
	FiltersBlinded: {
		"after": {0.15, 0.16}, "damper": {0.07, 0.12}, "flow": {-0.1, 0.09}, "idle": {0.36, 0.63}, "inlet-resistance": {0, 0.05},
		"low": {0.18, 0.21}, "noise": {0, 0.04}, "over-high": {0, 0.15}, "pulses": {-0.11, 0.82},
		"raw": {0.1, 0.22}, "stopped": {0.03, 0.08},
	},
	DustLoadHeavy: {
		"bin": {0, 0.07}, "emission": {0.41, 0.27}, "idle": {0.27, 0.66}, "noise": {-0.09, 0.12}, "over-high": {0, 0.06},
		"rise": {0.48, 1.15},
	},
	CakeDamp: {
		"after": {0.02, 0.06}, "bin": {0, 0.02}, "cycles": {0.25, 0.74}, "emission-peak": {0.46, 1.87},
		"noise": {0, 0.11}, "over-high": {0, 0.05}, "per-pulse": {-0.33, 0.8},
		"pulses": {-0.04, 0.59}, "raw": {0.01, 0.14},
	},
	AirflowHigh: {
		"after": {0.01, 0.07}, "afterfilter": {0.03, 0.18}, "amps": {0.02, 0.04}, "bin": {0, 0.04}, "cycles": {0.01, 0.41},
		"damper": {0.21, 0.09}, "fan-load": {0, 0.02}, "flow": {-0.04, 0.1}, "idle": {0.25, 0.69}, "inlet": {0.12, 0.16},
		"inlet-resistance": {0.04, 0.09}, "low": {0.03, 0.08}, "raw": {0.04, 0.09},
		"rise": {0.05, 1.64}, "watts": {0.01, 0.05},
	},
	AirflowLow: {
		"after": {-0.02, 0.16}, "amps": {-0.06, 0.07}, "damper": {-0.13, 0.1}, "emission-peak": {0.14, 1.17},
		"fan-load": {-0.01, 0.02}, "flow": {-0.13, 0.15}, "inlet": {-0.3, 0.34}, "inlet-resistance": {-0.02, 0.2},
		"low": {-0.06, 0.22}, "per-pulse": {0.43, 0.88}, "pulses": {0.05, 0.62}, "raw": {-0.14, 0.23},
		"recovery": {0, 0.2}, "watts": {-0.05, 0.06},
	},
	DuctBlocked: {
		"after": {-0.08, 0.14}, "afterfilter": {-0.1, 0.22}, "amps": {-0.05, 0.06}, "fan-load": {-0.07, 0.07},
		"flow": {-0.07, 0.11}, "header": {-0.01, 0.02}, "inlet": {0.51, 0.28}, "inlet-resistance": {0.75, 0.31},
		"low": {-0.17, 0.18}, "over-high": {0, 0.02}, "per-pulse": {0.16, 0.62}, "raw": {-0.06, 0.16},
		"rise": {-0.1, 1.53}, "stopped": {0.01, 0.07}, "watts": {-0.04, 0.06},
	},
	LeakInward: {
		"after": {0.05, 0.08}, "afterfilter": {0.06, 0.21}, "amps": {0.01, 0.02}, "cycles": {0, 1.16}, "fan-load": {0.05, 0.03},
		"flow": {-0.1, 0.06}, "frozen": {0, 0.02}, "inlet": {-0.31, 0.19}, "inlet-resistance": {-0.34, 0.19},
		"low": {0.06, 0.09}, "noise": {0, 0.04}, "per-pulse": {-0.11, 0.86}, "raw": {0.03, 0.07},
		"rise": {-0.18, 2.54}, "stopped": {0.04, 0.11}, "watts": {0.01, 0.03},
	},
	FanWeak: {
		"after": {0, 0.09}, "amps": {-0.04, 0.11}, "cycles": {0.02, 0.4}, "fan-load": {-0.02, 0.1}, "frozen": {0, 0.06},
		"inlet": {-0.1, 0.22}, "inlet-resistance": {-0.03, 0.17}, "noise": {0, 0.04},
		"over-high": {0, 0.02}, "per-pulse": {0.23, 0.7}, "raw": {-0.02, 0.1}, "recovery": {-0.01, 0.18},
		"stopped": {0.04, 0.15}, "watts": {-0.03, 0.12},
	},
	CleaningOff: {
		"amps": {-0.15, 0.09}, "damper": {0.04, 0.12}, "fan-load": {-0.01, 0.02}, "flow": {-0.66, 0.34}, "header": {0, 0.02},
		"idle": {0.87, 0.11}, "inlet": {-0.9, 0.47}, "inlet-resistance": {-0.03, 0.11}, "low": {1.57, 0.7},
		"over-high": {0.99, 0.19}, "raw": {1.05, 0.42}, "watts": {-0.16, 0.1},
	},
	HeaderPressureLow: {
		"header": {-0.13, 0.17}, "header-drop": {0, 0.33}, "idle": {0.3, 0.66}, "over-high": {0, 0.12},
		"per-pulse": {-0.07, 0.86}, "pulses": {0.01, 0.63}, "raw": {0.02, 0.14}, "recovery": {-0.03, 0.12},
		"rise": {-0.56, 1.64},
	},
	ValveDead: {
		"after": {0.1, 0.1}, "amps": {-0.01, 0.02}, "inlet": {-0.02, 0.07}, "low": {0.13, 0.1}, "noise": {-0.05, 0.12},
		"over-high": {0, 0.13}, "per-pulse": {-0.18, 0.84}, "raw": {0.12, 0.1}, "recovery": {0, 0.05}, "rise": {-0.1, 2.28},
		"valve-share": {-1, 0.08}, "no-drop": {1, 0.1}, "watts": {-0.01, 0.02},
	},
	ValveWeak: {
		"after": {0, 0.03}, "bin": {0, 0.03}, "cycles": {0.36, 0.56}, "frozen": {-0.01, 0.02}, "low": {0, 0.03},
		"noise": {0, 0.02}, "over-high": {0, 0.02}, "per-pulse": {0.04, 1.04},
		"valve-share": {-0.4, 0.25},
	},
	ValveStuckOpen: {
		"after": {0.35, 0.23}, "amps": {-0.01, 0.04}, "flow": {-0.11, 0.1}, "header": {-0.76, 0.03},
		"header-drop": {-2.25, 1.84}, "idle": {0.42, 0.6}, "inlet": {-0.02, 0.21}, "low": {0.38, 0.3},
		"noise": {-0.05, 0.07}, "over-high": {0.14, 0.25}, "pulses": {-0.3, 0.61}, "raw": {0.3, 0.26}, "valve-share": {0, 4.26},
		"watts": {-0.01, 0.03},
	},
	GaugeLineBlocked: {
		"near-zero": {-0.2, 0.4},
		"after":     {-0.1, 0.26}, "amps": {-0.02, 0.02}, "fan-load": {-0.01, 0.02}, "frozen": {0.06, 0.13}, "inlet": {-0.1, 0.08},
		"inlet-resistance": {-0.04, 0.05}, "low": {-0.33, 1.21}, "noise": {-0.5, 0.47},
		"over-high": {0, 0.02}, "raw": {-0.02, 0.38}, "stopped": {2.43, 1.74}, "watts": {-0.02, 0.02},
	},
	GaugeLineOff: {
		"near-zero": {-0.8, 0.3},
		"after":     {0, 0.72}, "amps": {-0.03, 0.03}, "cycles": {-0.46, 1.18}, "emission-peak": {0.94, 1.37},
		"fan-load": {-0.01, 0.02}, "flow": {-0.08, 0.1}, "frozen": {0, 0.06}, "header-drop": {0, 0.02}, "inlet": {-0.15, 0.16},
		"inlet-resistance": {-0.06, 0.08}, "low": {-0.12, 1.6}, "negative": {0, 0.5},
		"noise": {0, 0.1}, "over-high": {0, 0.02}, "raw": {-0.14, 1.37}, "recovery": {-0.04, 0.13}, "rise": {-0.45, 1.22},
		"watts": {-0.03, 0.04},
	},
	FilterLeak: {
		"afterfilter": {0.02, 0.27}, "bin": {0, 0.02}, "emission": {1.34, 0.88}, "emission-row": {0.17, 0.41},
		"noise": {0, 0.03}, "over-high": {0, 0.02}, "per-pulse": {0.04, 0.83},
	},
	BinOverfull: {
		"bin": {0.92, 1.49}, "cycles": {0.01, 0.5}, "frozen": {0, 0.05}, "idle": {0.24, 0.69}, "low": {0.01, 0.05},
		"over-high": {0, 0.03}, "per-pulse": {-0.21, 0.73}, "pulses": {0.06, 1.13}, "raw": {0.01, 0.05}, "stopped": {0.06, 0.11},
	},
}
