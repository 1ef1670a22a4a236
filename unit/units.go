package unit

// entry is one unit and every way it is written. The first spelling is the one in messages. Spaces and
// dots don't count, case only where it tells two units of a kind apart (mPa, MPa). UCUM codes stand in their
// UCUM form; superscripts, the degree sign and the micro sign are folded before the search.
type entry struct {
	factor, offset float64
	spellings      []string
}

// u is an entry without offset.
func u(factor float64, spellings ...string) entry {
	return entry{factor: factor, spellings: spellings}
}

// Factors: NIST SP 811 appendix B and the UCUM table, exact where they are definitions; the water and mercury
// columns are the conventional ones (UCUM). What is not a plain conversion says so beside it.
const (
	minute = 60.0
	hour   = 3600.0
	day    = 24 * hour
	torr   = Atmosphere / 760
	gallon = 231 * Inch * Inch * Inch
	barPa  = 1e5
	btu    = 1055.05585262 // International Table
)

// units is the whole table. It is read-only.
var units = [numKinds][]entry{
	KindPressure: {
		u(1, "Pa", "Pa(g)", "Pag", "Pa gauge", "pascal", "pascals", "N/m2"),
		u(1e-3, "mPa"),
		u(100, "hPa", "hPa(g)"),
		u(1e3, "kPa", "kPa(g)", "kPag", "kPa gauge", "kN/m2"),
		u(1e6, "MPa", "MPa(g)", "MPag", "N/mm2"),
		u(barPa, "bar", "bar(g)", "barg", "bar gauge", "bars"),
		u(100, "mbar", "mbar(g)", "mbarg", "millibar"),
		u(Psi, "psi", "[psi]", "psig", "psi(g)", "psi gauge", "lb/in2", "lbf/in2", "lbs/in2", "psid"),
		u(Psi/16, "oz/in2", "osi", "ozf/in2"),
		u(InchWater, "in.w.g.", "[in_i'H2O]", "[in_us'H2O]", "in.w.c.", "inH2O", "in water", "in wg gauge", "iwg", "iwc", "inches w.g.",
			"inches w.c.", "inches H2O", "inches water", "inch water", "inches of water", "inch w.g.", "inch w.c.", "in WS", "in of water",
			"\"w.g.", "\"w.c.", "\"H2O", "\"water", "''w.g.", "''w.c.", "''H2O", "inAq", "in WCG", "ins w.g.", "in of H2O",
			"inches wg gauge", "in water gauge", "inches water gauge", "in water column", "inches water column"),
		u(9.80665, "mmH2O", "mm[H2O]", "mm w.g.", "mm w.c.", "mmWS", "mmCE", "mm water", "mmWG", "kgf/m2"),
		u(98.0665, "cmH2O", "cm[H2O]", "cm w.g.", "cm w.c."),
		u(9806.65, "mH2O", "m[H2O]", "m w.g.", "m w.c."),
		u(12*InchWater, "ftH2O", "[ft_i'H2O]", "ft w.c.", "ft w.g."),
		u(InchMercury, "inHg", "[in_i'Hg]", "inches Hg", "inches of mercury", "\"Hg", "''Hg"),
		u(torr, "mmHg", "mm[Hg]", "torr"),
		u(98066.5, "kgf/cm2", "kg/cm2", "at"),
	},
	KindAbsPressure: {
		u(1, "Pa", "Pa abs", "Pa(a)", "Paa", "pascal"),
		u(100, "hPa", "hPa abs", "hPa(a)"),
		u(1e3, "kPa", "kPa abs", "kPa(a)", "kPaa", "kPa absolute"),
		u(1e6, "MPa abs", "MPa(a)", "MPaa"),
		u(barPa, "bar(a)", "bara", "bar abs", "bar absolute"),
		u(100, "mbar", "mbar abs", "mbar(a)", "mbara", "millibar"),
		u(Psi, "psia", "psi(a)", "psi abs", "psi absolute"),
		u(InchMercury, "inHg", "[in_i'Hg]", "inHg abs", "inches Hg", "inches of mercury", "\"Hg", "''Hg"),
		u(torr, "mmHg", "mm[Hg]", "torr", "mmHg abs"),
		u(Atmosphere, "atm"),
	},
	KindFlow: {
		u(CubicFoot/minute, "cfm", "acfm", "ft3/min", "[cft_i]/min", "[ft_i]3/min", "cu ft/min", "cubic feet per minute", "cubic feet/min",
			"CFM actual", "actual cfm", "ft3 min-1", "icfm"),
		u(CubicFoot/hour, "ft3/h", "cfh", "acfh", "[cft_i]/h", "ft3/hr"),
		u(CubicFoot, "ft3/s", "cfs", "[cft_i]/s", "ft3/sec"),
		u(1, "m3/s", "m3/sec", "m3 s-1", "cms", "Am3/s", "cubic metres per second", "cubic meters per second", "kL/s"),
		u(1/minute, "m3/min", "m3 min-1", "Am3/min", "cmm"),
		u(1/hour, "m3/h", "m3/hr", "m3 h-1", "Am3/h", "cmh", "cubic metres per hour", "cubic meters per hour", "m3ph"),
		u(1e-3, "L/s", "L/sec", "lps", "dm3/s", "L s-1"),
		u(1e-3/minute, "L/min", "lpm", "dm3/min", "L min-1"),
		u(1e-3/hour, "L/h", "L/hr", "dm3/h"),
	},
	// Standard flows: those with another reference are brought by mass to the compressed-air trade's (ScfDensity).
	KindStdFlow: {
		u(CubicFoot/minute, "scfm", "standard cfm", "std cfm", "scf/min", "std ft3/min", "sft3/min"),
		u(CubicFoot/hour, "scfh", "scf/h", "scf/hr", "std ft3/h"),
		u(1, "m3/s std", "std m3/s"),
		u(1/hour, "m3/h std", "std m3/h"),
		u(1e-3, "L/s std", "std L/s"),
		u(1e-3/minute, "L/min std", "std L/min"),
		u(AnrDensity/ScfDensity*1e-3/minute, "L/min ANR", "L/min(ANR)", "dm3/min ANR", "dm3/min(ANR)", "lpm ANR"),
		u(AnrDensity/ScfDensity*1e-3, "L/s ANR", "L/s(ANR)", "dm3/s ANR", "dm3/s(ANR)"),
		u(AnrDensity/ScfDensity/hour, "m3/h ANR", "m3/h(ANR)"),
		u(AnrDensity/ScfDensity/minute, "m3/min ANR", "m3/min(ANR)"),
		u(NormalDensity/ScfDensity/hour, "Nm3/h", "Nm3/hr", "m3N/h", "m3/h(N)", "Ncmh"),
		u(NormalDensity/ScfDensity/minute, "Nm3/min", "m3N/min"),
		u(NormalDensity/ScfDensity, "Nm3/s", "m3N/s"),
		u(NormalDensity/ScfDensity*1e-3/minute, "NL/min", "Nlpm", "Nl/min"),
		u(NormalDensity/ScfDensity*1e-3, "NL/s"),
	},
	KindMassFlow: {
		u(1, "kg/s", "kg s-1"),
		u(1/minute, "kg/min"),
		u(1/hour, "kg/h", "kg/hr"),
		u(1e-3, "g/s"),
		u(1e-3/minute, "g/min"),
		u(1e-3/hour, "g/h", "g/hr"),
		u(1/day, "kg/d", "kg/day"),
		u(1000/hour, "t/h"),
		u(Pound, "lb/s", "[lb_av]/s"),
		u(Pound/minute, "lb/min", "[lb_av]/min", "lbs/min"),
		u(Pound/hour, "lb/h", "[lb_av]/h", "lb/hr", "lbs/h", "lbs/hr", "pph"),
		u(Pound/day, "lb/d", "lb/day", "lbs/day"),
		u(Grain/minute, "gr/min", "[gr]/min"),
	},
	KindDensity: {
		u(1, "kg/m3", "kg m-3", "g/L", "g/dm3"),
		u(1e3, "g/cm3", "g/cc", "kg/L", "kg/dm3", "t/m3", "g/mL"),
		u(Pound/CubicFoot, "lb/ft3", "[lb_av]/[cft_i]", "lbs/ft3", "lb/cu ft", "lbs/cu ft", "pcf", "lbm/ft3", "lb ft-3", "[lb_av]/[ft_i]3"),
		u(1e-3, "g/m3"),
	},
	KindConcentration: {
		u(1, "kg/m3", "kg m-3", "g/L"),
		u(1e-3, "g/m3", "g m-3", "mg/L"),
		u(1e-6, "mg/m3", "mg m-3", "mg/am3"),
		u(1e-9, "ug/m3", "mcg/m3"),
		u(Grain/CubicFoot, "gr/ft3", "[gr]/[cft_i]", "gr/cf", "gr/acf", "grains/ft3", "grains per cubic foot", "gr/cu ft", "[gr]/[ft_i]3"),
		u(Pound/CubicFoot, "lb/ft3", "[lb_av]/[cft_i]", "lbs/ft3"),
	},
	KindVelocity: {
		u(1, "m/s", "m/sec", "m s-1", "mps"),
		u(1/minute, "m/min", "m3/(m2.min)", "m3/m2/min", "m min-1"),
		u(1/hour, "m/h", "m3/(m2.h)", "m3/m2/h"),
		u(1/3.6, "km/h", "kph", "kmh"),
		u(0.01, "cm/s"),
		u(Foot/minute, "ft/min", "[ft_i]/min", "fpm", "feet per minute", "feet/min", "cfm/ft2", "ft3/min/ft2", "afpm", "ft min-1"),
		u(Foot, "ft/s", "[ft_i]/s", "fps", "ft/sec", "feet per second"),
		u(5280*Foot/hour, "mph", "[mi_i]/h", "mi/h"),
	},
	KindLength: {
		u(1, "m", "metre", "metres", "meter", "meters"),
		u(1e-3, "mm", "millimetre", "millimetres", "millimeter", "millimeters"),
		u(0.01, "cm", "centimetre", "centimetres", "centimeter", "centimeters"),
		u(1e3, "km", "kilometre", "kilometres", "kilometer", "kilometers"),
		u(1e-6, "um", "micron", "microns", "micrometre", "micrometer"),
		u(Inch, "in", "[in_i]", "inch", "inches", "ins", "\"", "''"),
		u(Foot, "ft", "[ft_i]", "foot", "feet", "'"),
		u(3*Foot, "yd", "[yd_i]", "yard", "yards"),
		u(1e-3*Inch, "mil", "[mil_i]", "thou", "mils"),
		u(5280*Foot, "mi", "[mi_i]", "mile", "miles"),
	},
	KindArea: {
		u(1, "m2", "sq m", "square metre", "square metres", "square meter", "square meters"),
		u(1e-4, "cm2", "sq cm"),
		u(1e-6, "mm2", "sq mm"),
		u(Foot*Foot, "ft2", "[sft_i]", "[ft_i]2", "sq ft", "square foot", "square feet", "sf"),
		u(Inch*Inch, "in2", "[sin_i]", "[in_i]2", "sq in", "square inch", "square inches"),
		u(9*Foot*Foot, "yd2", "[syd_i]", "sq yd"),
	},
	KindVolume: {
		u(1, "m3", "cubic metre", "cubic metres", "cubic meter", "cubic meters", "cu m", "cbm"),
		u(1e-3, "L", "dm3", "litre", "litres", "liter", "liters", "ltr"),
		u(1e-6, "mL", "cm3", "cc"),
		u(gallon, "gal", "[gal_us]", "gallon", "gallons", "US gal", "gals"),
		u(4.54609e-3, "imp gal", "[gal_br]", "UK gal"),
		u(CubicFoot, "ft3", "[cft_i]", "[ft_i]3", "cu ft", "cubic foot", "cubic feet", "cf"),
		u(Inch*Inch*Inch, "in3", "[cin_i]", "[in_i]3", "cu in", "cubic inch", "cubic inches"),
		u(27*CubicFoot, "yd3", "[cyd_i]", "cu yd", "cubic yards"),
	},
	KindTemperature: {
		u(1, "K", "kelvin", "degK"),
		{1, ZeroCelsius, []string{"degC", "Cel", "C", "celsius", "degrees C", "oC"}},
		{5.0 / 9, 459.67 * 5 / 9, []string{"degF", "[degF]", "F", "fahrenheit", "degrees F", "oF"}},
		u(5.0/9, "degR", "[degR]", "R", "rankine"),
	},
	KindPower: {
		u(1, "W", "watt", "watts"),
		u(1e-3, "mW"),
		u(1e3, "kW", "kilowatt", "kilowatts"),
		u(1e6, "MW", "megawatt"),
		u(Horsepower, "hp", "[HP]", "bhp", "horsepower"),
		u(735.49875, "PS", "metric hp", "ch", "cv (metric)"),
		u(btu/hour, "Btu/h", "[Btu_IT]/h", "Btu/hr", "btuh"),
	},
	KindCurrent: {
		u(1, "A", "amp", "amps", "ampere", "amperes", "Arms"),
		u(1e-3, "mA", "milliamp", "milliamps"),
		u(1e6, "MA"),
		u(1e3, "kA"),
	},
	KindVoltage: {
		u(1, "V", "volt", "volts", "VAC", "Vrms", "VDC"),
		u(1e-3, "mV"),
		u(1e6, "MV"),
		u(1e3, "kV"),
	},
	KindMass: {
		u(1, "kg", "kilogram", "kilograms", "kgs"),
		u(1e-3, "g", "gram", "grams"),
		u(1e-6, "mg", "milligram", "milligrams"),
		u(1e3, "t", "tonne", "tonnes", "metric ton", "Mg"),
		u(Pound, "lb", "[lb_av]", "lbs", "lbm", "pound", "pounds"),
		u(Pound/16, "oz", "[oz_av]", "ounce", "ounces"),
		u(Grain, "gr", "[gr]", "grain", "grains"),
		u(2000*Pound, "short ton", "[ston_av]", "US ton", "short tons"),
	},
	KindDrag: {
		u(1, "Pa.s/m", "Pa/(m/s)", "Pa s m-1", "N.s/m3"),
		u(1e3, "kPa.s/m", "kPa/(m/s)"),
		u(60, "Pa.min/m", "Pa/(m/min)"),
		u(InchWater/(Foot/minute), "in.w.g./(ft/min)", "in.w.g./fpm", "in.w.c./fpm", "in.w.c./(ft/min)", "inH2O/fpm", "inH2O/(ft/min)",
			"in.w.g. per fpm", "[in_i'H2O]/([ft_i]/min)", "in.w.g.min/ft", "[in_i'H2O].min/[ft_i]"),
	},
	KindSeconds: {
		u(1, "s", "sec", "secs", "second", "seconds"),
		u(1e-3, "ms", "msec", "millisecond", "milliseconds"),
		u(1e-6, "us", "microsecond", "microseconds"),
		u(minute, "min", "mins", "minute", "minutes"),
		u(hour, "h", "hr", "hrs", "hour", "hours"),
		u(day, "d", "day", "days"),
		u(7*day, "wk", "week", "weeks", "wks"),
		u(30.4375*day, "mo", "month", "months"),     // UCUM: a twelfth of a Julian year
		u(365.25*day, "yr", "year", "years", "yrs"), // UCUM: Julian year
	},
	KindShare: {
		u(0.01, "%", "percent", "pct", "%RH", "% open"),
		u(1, "1", "{share}", "m3/m3"),
		u(1e-6, "ppm", "[ppm]"),
	},
	KindSpeed: {
		u(1/minute, "rpm", "1/min", "/min", "r/min", "rev/min", "min-1", "{rpm}", "[rpm]", "revs/min"),
		u(1, "1/s", "/s", "rps", "rev/s", "r/s", "s-1", "Hz"),
	},
	KindViscosity: {
		u(1, "Pa.s", "kg/(m.s)", "N.s/m2"),
		u(1e-3, "mPa.s", "cP"),
		u(1e-6, "uPa.s"),
		u(Pound/Foot, "lb/(ft.s)", "[lb_av]/([ft_i].s)", "lbm/(ft.s)"),
	},
	// Cv and Kv: see ConductanceOfKv for the assumption and its width.
	KindConductance: {
		u(1, "m3/(s.Pa)", "m3/s/Pa", "m3/(Pa.s)"),
		u(1e-8, "dm3/(s.bar)", "L/(s.bar)", "L/s/bar", "dm3/s/bar", "dm3/(bar.s)"),
		u(1e-8/minute, "L/(min.bar)", "dm3/(min.bar)", "L/min/bar"),
		u(ConductanceOfKv*KvOfCv, "Cv"),
		u(ConductanceOfKv, "Kv", "Kvs", "m3/h Kv"),
	},
	KindEnergy: {
		u(1, "J", "joule", "joules", "N.m", "W.s"),
		u(1e3, "kJ"),
		u(1e6, "MJ"),
		u(1e-3, "mJ"),
		u(hour, "Wh"),
		u(1e3*hour, "kWh"),
		u(1e6*hour, "MWh"),
		u(1e-3*hour, "mWh"),
		u(Foot*Pound*StandardGravity, "ft.lbf", "ft-lb", "ft.lb"),
		u(btu, "Btu", "[Btu_IT]"),
	},
}
