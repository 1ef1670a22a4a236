package made

import (
	"math"
	"math/rand/v2"
)

// Dice is a source of chance with the few draws that simulators use.
type Dice struct{ *rand.Rand }

// Throw is the dice of a stream of a seed.
func Throw(seed, stream uint64) Dice { return Dice{rand.New(rand.NewPCG(seed, stream))} }

// Between is between two bounds, evenly.
func (d Dice) Between(a, b float64) float64 { return a + (b-a)*d.Float64() }

// Chance is true with probability p.
func (d Dice) Chance(p float64) bool { return d.Float64() < p }

// Spread is between two positive bounds, as likely in each octave.
func (d Dice) Spread(a, b float64) float64 { return a * math.Pow(b/a, d.Float64()) }

// OneOf picks a value.
func OneOf[T any](d Dice, values ...T) T { return values[d.IntN(len(values))] }
