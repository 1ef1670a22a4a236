// Package unit holds the quantities of the trade as Go types: what a number measures is part of
// its type, and every value inside the program is in SI. Other units exist only at the edges:
// Parse functions read what people and devices write, In methods print what people read.
// Sources of the factors stand beside the table in units.go.
package unit

// Each type is one kind of quantity in its SI unit. NaN means "no reading".
type (
	// Pressure is a pressure difference or a gauge pressure [Pa]; negative is suction.
	Pressure float64
	// AbsPressure is an absolute pressure [Pa].
	AbsPressure float64
	// Flow is an actual volume flow, at the conditions of the place it is measured [m3/s].
	Flow float64
	// StdFlow is a flow counted at standard conditions [m3/s at StdAirDensity for ventilation air,
	// at ScfDensity for compressed air].
	StdFlow float64
	// MassFlow is a mass flow [kg/s].
	MassFlow float64
	// Density is mass per volume [kg/m3].
	Density float64
	// Velocity is a speed along a line [m/s].
	Velocity float64
	// Length is a length [m].
	Length float64
	// Area is an area [m2].
	Area float64
	// Volume is a volume [m3].
	Volume float64
	// Temperature is a thermodynamic temperature [K].
	Temperature float64
	// Power is a power [W].
	Power float64
	// Current is an electric current [A].
	Current float64
	// Voltage is an electric potential difference [V].
	Voltage float64
	// Mass is a mass [kg].
	Mass float64
	// Concentration is mass of dust per volume of air [kg/m3].
	Concentration float64
	// Drag is filter resistance: pressure difference per face velocity [Pa s/m].
	Drag float64
	// Seconds is a length of time in physics [s]; calendars use time.Time and time.Duration.
	Seconds float64
	// Share is a ratio, 0 to 1 for parts of a whole; percent exists only in print.
	Share float64
	// Speed is a rotational speed [revolutions per second].
	Speed float64
	// Viscosity is a dynamic viscosity [Pa s].
	Viscosity float64
	// Conductance is the sonic conductance of ISO 6358 [m3/(s Pa)], at 100 kPa, 20 degC, 65 % RH.
	Conductance float64
	// Energy is an energy [J].
	Energy float64
)

// System is the family of units a person reads.
type System int

// US customary units as the trade uses them, and SI.
const (
	US System = iota
	SI
)
