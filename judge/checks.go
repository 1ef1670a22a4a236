package judge

// Check is something a person can do to tell causes apart.
type Check struct {
	ID      string   `json:"id"`
	Number  int      `json:"number,omitempty"` // valve or row to do it on; 0 for none
	Text    string   `json:"text"`             // what to do; %d stands for the number
	Finding string   `json:"finding"`          // the answer "yes" means this was found
	Minutes float64  `json:"minutes"`
	Tools   []string `json:"tools,omitempty"`
	Caution string   `json:"caution"` // the text, not the id
	Gain    float64  `json:"gain"`    // expected information per minute [bit/min]
}

// CheckEntry is a check as registered, with the chance of finding what it looks for under each cause.
// Chances are common practice, no source; a plant can add its own checks (Options.Checks).
type CheckEntry struct {
	ID      string
	Text    string
	Finding string
	Minutes float64
	Tools   []string
	Caution string            // id in the list of cautions
	Yes     map[Cause]float64 // chance of the finding given the cause (of the same number, for numbered causes)
	Else    float64           // chance of the finding under any other cause
}

// Chance returns the probability of the finding when the cause holds; number is the valve or row the
// check is done on, 0 for a check of the whole machine.
func (c CheckEntry) Chance(cause Cause, causeNumber, number int) float64 {
	p, ok := c.Yes[cause]
	if !ok || number != 0 && causeNumber != 0 && number != causeNumber {
		return c.Else
	}
	return p
}

// Do returns what to do, on a valve or row by its number; 0 speaks of one whose number is not known.
func (c CheckEntry) Do(number int) string { return numbered(c.Text, number) }

// Finds returns the finding that is asked for, likewise.
func (c CheckEntry) Finds(number int) string { return numbered(c.Finding, number) }

// Numbered reports whether the check is done on one valve or row.
func (c CheckEntry) Numbered() bool { return numbered(c.Text, 1) != c.Text }

// Checks returns the list of all checks.
func Checks() []CheckEntry { return checks[:] }

// CheckOf returns the entry of a check and whether there is one.
func CheckOf(id string) (CheckEntry, bool) {
	for _, c := range checks {
		if c.ID == id {
			return c, true
		}
	}
	return CheckEntry{}, false
}

var checks = [...]CheckEntry{
	{"pilot-exhaust", "Feel for the exhaust puff of pilot %d while it fires",
		"no puff, or a faint one", 3, nil, "live",
		map[Cause]float64{ValveDead: 0.88, ValveWeak: 0.35, CleaningOff: 0.95, ValveStuckOpen: 0.35, HeaderPressureLow: 0.12}, 0.03},
	{"count-pulses", "Listen through one whole cleaning cycle and count the pulses",
		"fewer full pulses than valves", 2, nil, "live",
		map[Cause]float64{ValveDead: 0.95, ValveWeak: 0.5, CleaningOff: 0.97, ValveStuckOpen: 0.55, HeaderPressureLow: 0.25}, 0.03},
	{"header-gauge", "Read the header gauge just before a pulse and again just before the next one",
		"below the set pressure before a pulse", 2, nil, "live",
		map[Cause]float64{HeaderPressureLow: 0.95, ValveStuckOpen: 0.9}, 0.04},
	{"header-hiss", "Listen along the header and the blow tubes between pulses",
		"a hiss that does not stop", 2, nil, "live",
		map[Cause]float64{ValveStuckOpen: 0.93, HeaderPressureLow: 0.2, ValveWeak: 0.1}, 0.03},
	{"supply-pressure", "Read the pressure ahead of the regulator and across the air filter and dryer while it pulses",
		"the supply sags or a filter takes more than 5 psi", 4, nil, "live",
		map[Cause]float64{HeaderPressureLow: 0.9, ValveStuckOpen: 0.25}, 0.05},
	{"watch-controller", "Watch the cleaning controller while the dP stands above its high set point",
		"it does not call for pulses", 3, nil, "live",
		map[Cause]float64{CleaningOff: 0.95, GaugeLineOff: 0.5, GaugeLineBlocked: 0.3}, 0.03},
	{"sensing-lines", "Follow both sensing lines from the gauge to the collector and look for a line off, crossed or cracked",
		"a line is off, crossed or cracked", 3, nil, "live",
		map[Cause]float64{GaugeLineOff: 0.92, GaugeLineBlocked: 0.08}, 0.02},
	{"blow-lines", "Gauge off, blow both sensing lines out towards the collector, below 25 psi, and compare the reading before and after",
		"the reading is another one afterwards", 8, []string{"regulated air below 25 psi"}, "sensing-line",
		map[Cause]float64{GaugeLineBlocked: 0.95, GaugeLineOff: 0.25}, 0.04},
	{"damper-mark", "Compare the damper's blade with the mark of the last trim",
		"it is not on its mark", 2, nil, "live",
		map[Cause]float64{AirflowHigh: 0.8, AirflowLow: 0.9}, 0.05},
	{"airflow", "Measure the airflow with a traverse",
		"more than 5 % off design", 30, []string{"pitot tube", "manometer"}, "traverse",
		map[Cause]float64{AirflowHigh: 0.95, AirflowLow: 0.95, DuctBlocked: 0.9, FanWeak: 0.9, LeakInward: 0.6, FiltersBlinded: 0.6, CakeDamp: 0.5}, 0.1},
	{"hood-pressure", "Read the static pressure at each hood's branch against its commissioning value",
		"a branch is far off while the others are not", 10, []string{"manometer"}, "live",
		map[Cause]float64{DuctBlocked: 0.88, LeakInward: 0.3}, 0.05},
	{"doors", "Walk round doors, hatches, bin seal and duct joints and feel for air going in",
		"air goes in where it should not", 4, nil, "live",
		map[Cause]float64{LeakInward: 0.92, BinOverfull: 0.05}, 0.04},
	{"fan-drive", "Look at the fan's rotation and listen to its belt; compare the motor current with commissioning",
		"wrong rotation, a slipping belt, or current off", 5, []string{"clamp meter"}, "fan",
		map[Cause]float64{FanWeak: 0.9, AirflowHigh: 0.3, AirflowLow: 0.2}, 0.06},
	{"bin-level", "Look at the bin's level",
		"it is past two thirds", 2, nil, "bin",
		map[Cause]float64{BinOverfull: 0.97, DustLoadHeavy: 0.3}, 0.06},
	{"header-drain", "Open the header's drain a crack",
		"water or oil comes out", 3, nil, "compressed-air",
		map[Cause]float64{CakeDamp: 0.65, HeaderPressureLow: 0.12}, 0.06},
	{"ask-production", "Ask the people at the machines served what they run now",
		"more hours, more material or another dust than before", 3, nil, "",
		map[Cause]float64{DustLoadHeavy: 0.88, CakeDamp: 0.2}, 0.12},
	{"downtime-clean", "Stop the fan and let the controller run ten cleaning cycles, then read the dP at the same airflow",
		"the dP does not come back", 20, nil, "live",
		map[Cause]float64{FiltersBlinded: 0.92, CakeDamp: 0.8, ValveDead: 0.3, CleaningOff: 0.9, HeaderPressureLow: 0.4}, 0.08},
	{"cake", "Lock out, open one row and look at the cake",
		"it is damp, greasy or caked hard", 25, []string{"respirator", "lamp rated for the dust"}, "open-collector",
		map[Cause]float64{CakeDamp: 0.93, FiltersBlinded: 0.5}, 0.05},
	{"clean-side", "Lock out and look for dust on the clean side, below row %d first",
		"dust lies there", 20, []string{"lamp rated for the dust"}, "open-collector",
		map[Cause]float64{FilterLeak: 0.94}, 0.03},
	{"bench-valve", "Take valve %d through the bench check of pilot and diaphragm",
		"one of the two is bad", 10, nil, "compressed-air",
		map[Cause]float64{ValveDead: 0.9, ValveWeak: 0.85, ValveStuckOpen: 0.9}, 0.04},
}
