package duct

import (
	"math"
	"strings"

	"dustwright/unit"
)

// DustClass groups dusts by the air velocity that keeps them in flight.
type DustClass uint8

// Classes from light to heavy. DustUnknown has no velocity.
const (
	DustUnknown DustClass = iota
	DustVapour
	DustFume
	DustFineLight
	DustDryPowder
	DustIndustrial
	DustHeavy
	DustHeavyMoist
)

// classFacts is one class: its name, its velocities in ft/min, and the words that give it away.
type classFacts struct {
	class    DustClass
	name     string
	min, max float64
	words    []string
}

// classes lists the classes, heaviest first, so that "moist sawdust" is taken for what is hardest to carry.
// Velocities: guidance document for fuel burning equipment and air pollution control, annex 5 (a
// government document, verified). The words are its examples and common practice.
func classes() []classFacts {
	return []classFacts{
		{DustHeavyMoist, "heavy or moist", 4500, 4500, []string{"moist", "wet ", "damp", "sticky", "quicklime", "buffing lint", "oily"}},
		{DustHeavy, "heavy dust", 4000, 5000, []string{"turning", "chips", "blast", "shot", "lead dust", "swarf", "heavy sawdust", "grit"}},
		{DustFume, "fume", 2000, 2500, []string{"fume", "weld", "plasma", "laser", "zinc oxide", "aluminium oxide", "aluminum oxide", "solder", "smoke of metal", "thermal cutting", "oxyfuel"}},
		{DustFineLight, "very fine light dust", 2500, 3000, []string{"lint", "wood flour", "cotton", "flour", "fine wood", "sanding dust", "paper"}},
		{DustDryPowder, "dry dust and powder", 3000, 4000, []string{"powder", "shaving", "rubber", "sawdust", "wood", "plastic", "pharma", "sugar", "starch", "tablet", "toner", "soap", "milk"}},
		{DustIndustrial, "average industrial dust", 3500, 4000, []string{"grind", "granite", "silica", "clay", "limestone", "foundry", "sand", "cement", "brick", "stone", "metal", "concrete", "mineral", "polish", "coal", "ceramic", "glass", "steel", "alumin", "iron", "dust"}},
		{DustVapour, "vapour, gas or smoke", 1000, 2000, []string{"vapour", "vapor", "gas", "smoke", "mist"}},
	}
}

// String returns the class's name, "unknown" for DustUnknown.
func (c DustClass) String() string {
	for _, f := range classes() {
		if f.class == c {
			return f.name
		}
	}
	return "unknown"
}

// TransportVelocity returns the range of duct velocities [m/s] that keeps dust of the class in flight: below
// the first it drops out. NaN for DustUnknown.
// Source: guidance document for fuel burning equipment and air pollution control systems, annex 5
// (verified). Check values: testdata/transport_velocity.csv.
func TransportVelocity(c DustClass) (low, high unit.Velocity) {
	const fpm = unit.Foot / 60
	for _, f := range classes() {
		if f.class == c {
			return unit.Velocity(f.min * fpm), unit.Velocity(f.max * fpm)
		}
	}
	return unit.Velocity(math.NaN()), unit.Velocity(math.NaN())
}

// ClassOfDust tells the class from what people call the dust, as "mild-steel cutting fume"; DustUnknown where no
// word is recognised: it doesn't guess. The second result is the word that decided.
// Source: the examples of the document under TransportVelocity, and common practice.
func ClassOfDust(text string) (DustClass, string) {
	low := strings.ToLower(" " + text + " ")
	low = strings.NewReplacer("-", " ", "_", " ", ",", " ", "/", " ").Replace(low)
	for _, f := range classes() {
		for _, w := range f.words {
			if strings.Contains(low, " "+w) || len(w) > 4 && strings.Contains(low, w) {
				return f.class, strings.TrimSpace(w)
			}
		}
	}
	return DustUnknown, ""
}
