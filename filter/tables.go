package filter

import (
	"math"
	"strings"

	"dustwright/unit"
)

// Units of the published tables.
const (
	inwgPerFpm = unit.InchWater / (unit.Foot / 60)                   // drag, in. w.g. per ft/min [Pa s/m]
	k2Trade    = inwgPerFpm / (unit.Pound / (unit.Foot * unit.Foot)) // K2, in. w.g./((ft/min)(lb/ft2)) [1/s]
	poundFoot3 = unit.Pound / unit.CubicFoot                         // [kg/m3]
	permTest   = 0.5 * unit.InchWater                                // dP of the permeability test [Pa]
)

// DustSize is a column of the published K2 table: the largest particles of the dust.
type DustSize int

// Columns of the table, coarse to fine.
const (
	Um800 DustSize = iota // about 800 um
	Um100                 // about 100 um
	Um44                  // about 44 um
	Below90
	Below45
	Below20
	Below2
)

// PublishedK2 returns the specific resistance of a dust's cake from the one table that is public.
//
//	dust   name as in the table, e.g. "granite", "zinc oxide (flocculated)"; case does not count
//	size   column
//	result [1/s]; false where the table has no such entry
//
// Source: Wang et al., "Fabric Filtration", 2004, Table 1 p. 62. Check values: testdata/k2_dust_resistance.csv.
func PublishedK2(dust string, size DustSize) (Resistance, bool) {
	nan := math.NaN()
	for _, r := range [...]struct {
		dust string
		k    [7]float64
	}{
		{"granite", [7]float64{1.58, 2.2, nan, nan, nan, 19.8, nan}},
		{"foundry", [7]float64{0.62, 1.58, 3.78, nan, nan, nan, nan}},
		{"gypsum", [7]float64{nan, nan, 6.3, nan, nan, 18.9, nan}},
		{"feldspar", [7]float64{nan, nan, 6.3, nan, nan, 27.3, nan}},
		{"stone", [7]float64{0.96, nan, nan, 6.3, nan, nan, nan}},
		{"lamp black", [7]float64{nan, nan, nan, nan, nan, nan, 47.2}},
		{"zinc oxide (flocculated)", [7]float64{nan, nan, nan, nan, nan, nan, 15.7}},
		{"wood", [7]float64{nan, nan, nan, 6.3, nan, 25.2, nan}},
		{"resin (cold)", [7]float64{0.62, nan, 11.0, nan, nan, nan, nan}},
		{"oats", [7]float64{1.58, nan, 9.6, 8.8, nan, nan, nan}},
		{"corn", [7]float64{0.62, nan, 1.58, 3.78, nan, nan, nan}},
	} {
		if strings.EqualFold(r.dust, dust) && size >= 0 && int(size) < len(r.k) && !math.IsNaN(r.k[size]) {
			return Resistance(r.k[size] * k2Trade), true
		}
	}
	return Resistance(nan), false
}

// GasToCloth returns the customary filtration velocities for a dust: flow over net filter area.
//
//	dust   name as in the table, e.g. "fly ash", "sawdust (wood)"; case does not count
//	result [m/s]: woven bags shaken or cleaned by reverse air, and felt bags cleaned by pulses; false where
//	       the table has no such dust. Cartridges run far lower: 1 to 4 ft/min, fume and fine dust 1 to 2
//
// Source: EPA Cost Manual Table 1.1, from memory except fly ash. Check values: testdata/gas_to_cloth_ratio.csv.
func GasToCloth(dust string) (woven, pulse unit.Velocity, ok bool) {
	for _, r := range gasToCloth() {
		if strings.EqualFold(r.dust, dust) {
			return unit.Velocity(r.woven * unit.Foot / 60), unit.Velocity(r.pulse * unit.Foot / 60), true
		}
	}
	nan := unit.Velocity(math.NaN())
	return nan, nan, false
}

type clothRow struct {
	dust         string
	woven, pulse float64 // ft/min
}

func gasToCloth() []clothRow {
	return []clothRow{
		{"alumina", 2.5, 8}, {"asbestos", 3.0, 10}, {"bauxite", 2.5, 8}, {"carbon black", 1.5, 5}, {"coal", 2.5, 8},
		{"cocoa/chocolate", 2.8, 12}, {"clay", 2.5, 9}, {"cement", 2.0, 8}, {"cosmetics", 1.5, 10}, {"enamel frit", 2.5, 9},
		{"feeds/grain", 3.5, 14}, {"feldspar", 2.2, 9}, {"fertilizer", 3.0, 8}, {"flour", 3.0, 12}, {"fly ash", 2.5, 5},
		{"graphite", 2.0, 5}, {"gypsum", 2.0, 10}, {"iron ore", 3.0, 11}, {"iron oxide", 2.5, 7}, {"iron sulfate", 2.0, 6},
		{"lead oxide", 2.0, 6}, {"leather dust", 3.5, 12}, {"lime", 2.5, 10}, {"limestone", 2.7, 8}, {"mica", 2.7, 9},
		{"paint pigments", 2.5, 7}, {"paper", 3.5, 10}, {"plastics", 2.5, 7}, {"quartz", 2.8, 9}, {"rock dust", 3.0, 9},
		{"sand", 2.5, 10}, {"sawdust (wood)", 3.5, 12}, {"silica", 2.5, 7}, {"slate", 3.5, 12}, {"soap/detergents", 2.0, 5},
		{"spices", 2.7, 10}, {"starch", 3.0, 8}, {"sugar", 2.0, 13}, {"talc", 2.5, 10}, {"tobacco", 3.5, 13}, {"zinc oxide", 2.0, 5},
	}
}
