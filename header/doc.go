// Package header is the compressed-air side of a collector: the header tank with its mass and energy
// balance, the pulse valves and their flow (ISO 6358), the regulator and supply behind it with droop,
// leaks, and what one pulse leaves in a header-pressure trace. Beside it stand the trade's sums: receiver
// size, pipe drop, leak tests, pressure dew point and condensate, compression power and air cost, and the
// air quality classes. It leaves out sound waves in the tank and blowpipe and the jet into the filter.
// Main sources: ISO 6358-1 (form of the flow equation), the blowdown closed forms in chemical
// engineering handbooks, ISO 8573-1 classes; the others beside their code.
package header
