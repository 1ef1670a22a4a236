package unit

// Kind says what a number measures. Two kinds may share a dimension (gauge and absolute pressure, actual
// and standard flow) and are still never taken for each other.
type Kind int

// The kinds of quantity. KindNumber is dimensionless or "any unit": its value is kept as written.
const (
	KindNumber Kind = iota
	KindPressure
	KindAbsPressure
	KindFlow
	KindStdFlow
	KindMassFlow
	KindDensity
	KindVelocity
	KindLength
	KindArea
	KindVolume
	KindTemperature
	KindPower
	KindCurrent
	KindVoltage
	KindMass
	KindConcentration
	KindDrag
	KindSeconds
	KindShare
	KindSpeed
	KindViscosity
	KindConductance
	KindEnergy
	numKinds
)

// kindFacts is what the package knows about one kind besides its units.
type kindFacts struct {
	name    string    // with its article, as it stands in a sentence
	bare    string    // without article
	example [2]string // accepted spellings, US and SI
	atLeast float64   // smallest value that means anything; used when bounded
	bounded bool
}

// facts is read-only.
var facts = [numKinds]kindFacts{
	KindNumber:        {name: "a number", bare: "number", example: [2]string{"12.5", "12.5"}},
	KindPressure:      {name: "a pressure", bare: "pressure", example: [2]string{"2.0 in.w.g.", "500 Pa"}},
	KindAbsPressure:   {name: "an absolute pressure", bare: "absolute pressure", example: [2]string{"14.7 psia", "1013 hPa"}, bounded: true},
	KindFlow:          {name: "an airflow", bare: "airflow", example: [2]string{"4200 cfm", "7100 m3/h"}, bounded: true},
	KindStdFlow:       {name: "a standard flow", bare: "standard flow", example: [2]string{"20 scfm", "34 Nm3/h"}, bounded: true},
	KindMassFlow:      {name: "a mass flow", bare: "mass flow", example: [2]string{"5 lb/h", "2 kg/h"}, bounded: true},
	KindDensity:       {name: "a density", bare: "density", example: [2]string{"0.075 lb/ft3", "1.2 kg/m3"}, bounded: true},
	KindVelocity:      {name: "a velocity", bare: "velocity", example: [2]string{"3500 ft/min", "18 m/s"}},
	KindLength:        {name: "a length", bare: "length", example: [2]string{"3 1/2 in", "180 m"}},
	KindArea:          {name: "an area", bare: "area", example: [2]string{"215 ft2", "20 m2"}, bounded: true},
	KindVolume:        {name: "a volume", bare: "volume", example: [2]string{"55 gal", "20 L"}, bounded: true},
	KindTemperature:   {name: "a temperature", bare: "temperature", example: [2]string{"68 degF", "20 degC"}, bounded: true},
	KindPower:         {name: "a power", bare: "power", example: [2]string{"15 hp", "11 kW"}},
	KindCurrent:       {name: "a current", bare: "current", example: [2]string{"18.5 A", "18.5 A"}},
	KindVoltage:       {name: "a voltage", bare: "voltage", example: [2]string{"460 V", "400 V"}},
	KindMass:          {name: "a mass", bare: "mass", example: [2]string{"120 lb", "55 kg"}, bounded: true},
	KindConcentration: {name: "a dust concentration", bare: "dust concentration", example: [2]string{"0.30 gr/ft3", "0.7 g/m3"}, bounded: true},
	KindDrag:          {name: "a drag", bare: "drag", example: [2]string{"0.5 in.w.g./(ft/min)", "25000 Pa.s/m"}},
	KindSeconds:       {name: "a time", bare: "time", example: [2]string{"150 ms", "10 s"}},
	KindShare:         {name: "a share", bare: "share", example: [2]string{"54 %", "54 %"}},
	KindSpeed:         {name: "a speed of rotation", bare: "speed of rotation", example: [2]string{"3550 rpm", "2950 rpm"}, bounded: true},
	KindViscosity:     {name: "a viscosity", bare: "viscosity", example: [2]string{"0.018 cP", "1.8e-5 Pa.s"}, bounded: true},
	KindConductance:   {name: "a valve flow", bare: "valve flow", example: [2]string{"18 Cv", "70 dm3/(s.bar)"}, bounded: true},
	KindEnergy:        {name: "an energy", bare: "energy", example: [2]string{"12 kWh", "43 MJ"}},
}

// String returns the kind's name as it stands in a sentence, without article: "airflow".
func (k Kind) String() string {
	if k < 0 || k >= numKinds {
		return "unknown kind"
	}
	return facts[k].bare
}

// Examples returns one accepted spelling in US customary units and one in SI.
func (k Kind) Examples() (us, si string) {
	if k < 0 || k >= numKinds {
		return "", ""
	}
	return facts[k].example[US], facts[k].example[SI]
}
