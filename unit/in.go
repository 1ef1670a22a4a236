package unit

// In prints the pressure for a person, see Print.
func (q Pressure) In(sys System) string { return Print(KindPressure, float64(q), sys) }

// In prints the absolute pressure for a person, see Print.
func (q AbsPressure) In(sys System) string { return Print(KindAbsPressure, float64(q), sys) }

// In prints the flow for a person, see Print.
func (q Flow) In(sys System) string { return Print(KindFlow, float64(q), sys) }

// In prints the standard flow for a person, see Print.
func (q StdFlow) In(sys System) string { return Print(KindStdFlow, float64(q), sys) }

// In prints the mass flow for a person, see Print.
func (q MassFlow) In(sys System) string { return Print(KindMassFlow, float64(q), sys) }

// In prints the density for a person, see Print.
func (q Density) In(sys System) string { return Print(KindDensity, float64(q), sys) }

// In prints the velocity for a person, see Print.
func (q Velocity) In(sys System) string { return Print(KindVelocity, float64(q), sys) }

// In prints the length for a person, see Print.
func (q Length) In(sys System) string { return Print(KindLength, float64(q), sys) }

// In prints the area for a person, see Print.
func (q Area) In(sys System) string { return Print(KindArea, float64(q), sys) }

// In prints the volume for a person, see Print.
func (q Volume) In(sys System) string { return Print(KindVolume, float64(q), sys) }

// In prints the temperature for a person, see Print.
func (q Temperature) In(sys System) string { return Print(KindTemperature, float64(q), sys) }

// In prints the power for a person, see Print.
func (q Power) In(sys System) string { return Print(KindPower, float64(q), sys) }

// In prints the current for a person, see Print.
func (q Current) In(sys System) string { return Print(KindCurrent, float64(q), sys) }

// In prints the voltage for a person, see Print.
func (q Voltage) In(sys System) string { return Print(KindVoltage, float64(q), sys) }

// In prints the mass for a person, see Print.
func (q Mass) In(sys System) string { return Print(KindMass, float64(q), sys) }

// In prints the concentration for a person, see Print.
func (q Concentration) In(sys System) string { return Print(KindConcentration, float64(q), sys) }

// In prints the drag for a person, see Print.
func (q Drag) In(sys System) string { return Print(KindDrag, float64(q), sys) }

// In prints the time for a person, see Print.
func (q Seconds) In(sys System) string { return Print(KindSeconds, float64(q), sys) }

// In prints the share for a person, see Print.
func (q Share) In(sys System) string { return Print(KindShare, float64(q), sys) }

// In prints the speed for a person, see Print.
func (q Speed) In(sys System) string { return Print(KindSpeed, float64(q), sys) }

// In prints the viscosity for a person, see Print.
func (q Viscosity) In(sys System) string { return Print(KindViscosity, float64(q), sys) }

// In prints the conductance for a person, see Print.
func (q Conductance) In(sys System) string { return Print(KindConductance, float64(q), sys) }

// In prints the energy for a person, see Print.
func (q Energy) In(sys System) string { return Print(KindEnergy, float64(q), sys) }
