package header

import (
	"math"

	"dustwright/unit"
)

// WaterClass returns the ISO 8573-1 water class of compressed air known by its pressure dew point.
//
//	dew    pressure dew point at line pressure [K]
//	result 1 (driest) to 6; 0 where even class 6 (+10 degC) is not met, and for NaN
//
// Source: ISO 8573-1:2010 as reproduced in public texts. Check values: testdata/iso8573_1_water_oil.csv.
func WaterClass(dew unit.Temperature) int {
	for i, c := range [...]float64{-70, -40, -20, 3, 7, 10} {
		if float64(dew) <= 273.15+c+1e-9 {
			return i + 1
		}
	}
	return 0
}

// LiquidClass returns the ISO 8573-1 water class of air that carries liquid water.
//
//	water  liquid water [kg/m3], above 0
//	result 7 to 9; 0 where there is more than 10 g/m3 (class X), and for NaN
//
// Source: ISO 8573-1:2010 as reproduced in public texts. Check values: testdata/iso8573_1_water_oil.csv.
func LiquidClass(water unit.Concentration) int {
	for i, c := range [...]float64{0.5e-3, 5e-3, 10e-3} {
		if float64(water) <= c {
			return i + 7
		}
	}
	return 0
}

// OilClass returns the ISO 8573-1 class of the total oil (liquid, aerosol, vapour).
//
//	oil    [kg/m3], 0 or more
//	result 1 to 4; 0 where there is more than 5 mg/m3 (class X), and for NaN
//
// Source: ISO 8573-1:2010 as reproduced in public texts. Check values: testdata/iso8573_1_water_oil.csv.
func OilClass(oil unit.Concentration) int {
	for i, c := range [...]float64{0.01e-6, 0.1e-6, 1e-6, 5e-6} {
		if float64(oil) <= c*(1+1e-12) {
			return i + 1
		}
	}
	return 0
}

// Particles is a count of particles per cubic metre at 20 degC and 1 bar, by size.
type Particles struct {
	To05, To1, To5 float64 // 0.1 to 0.5, 0.5 to 1 and 1 to 5 um [1/m3]; NaN = not counted
}

// ParticleClass returns the ISO 8573-1 particle class of counted particles, none above 5 um.
//
//	result 1 to 5, the strictest class whose every limit is met by what was counted; 0 where none is, or
//	       where nothing that a class needs was counted
//
// Source: ISO 8573-1:2010 as reproduced in public texts. Check values: testdata/iso8573_1_particles.csv.
func ParticleClass(p Particles) int {
	inf := math.Inf(1)
	for i, c := range [...][3]float64{{20000, 400, 10}, {400000, 6000, 100}, {inf, 90000, 1000}, {inf, inf, 10000}, {inf, inf, 100000}} {
		if (math.IsInf(c[0], 1) || p.To05 <= c[0]) && (math.IsInf(c[1], 1) || p.To1 <= c[1]) && p.To5 <= c[2] {
			return i + 1
		}
	}
	return 0
}

// ParticleMassClass returns the ISO 8573-1 particle class of a particle mass: 6 up to 5 mg/m3, 7 up to 10.
//
//	mass   [kg/m3], above 0
//	result 6 or 7; 0 for more (class X), and for NaN
//
// Source: ISO 8573-1:2010 as reproduced in public texts. Check values: testdata/iso8573_1_particles.csv.
func ParticleMassClass(mass unit.Concentration) int {
	switch {
	case mass <= 5e-6:
		return 6
	case mass <= 10e-6:
		return 7
	}
	return 0
}
