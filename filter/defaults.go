package filter

import "dustwright/unit"

// DefaultMedia is the drag of new cartridge medium when nobody measured it: 0.5 in. w.g. at 1.7 ft/min.
// from memory.
const DefaultMedia unit.Drag = 14400 // [Pa s/m]

// Default returns a law for cartridges whose dust and medium nobody measured.
//
//	media  drag of the clean medium [Pa s/m], above 0; 0 or NaN = DefaultMedia
//	result K2 as for dusts of a few micrometres, seasoning that adds 70 % of the clean drag within the first
//	       tens of cycles, creep that ends the filters' life after one to two years of hard use
//
// Source: K2 between zinc oxide below 2 um (1.6e5 1/s) and lamp black (4.7e5 1/s), Wang et al. 2004 Table 1;
// everything else from memory: sizes that give the facts of DESIGN.md section 3 (new below 1 in. w.g., seasoned 1 to 6).
func Default(media unit.Drag) Law {
	if !(media > 0) {
		media = DefaultMedia
	}
	return Law{
		Media: media, K2: 2.2e5,
		SeasonRise: 0.7 * media, SeasonDust: 2, // from memory
		CreepDust: 220, CreepPulse: 0.05, // from memory
		RemoveMax: 0.85, RemovePressure: 241317, // 35 psi; from memory
		Online: 0.4, ReturnBelow: 0.15, ReturnBeside: 0.05, // from memory: a cycle of all rows takes off a fifth of the cake
	}
}
