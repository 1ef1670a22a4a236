// Package lifetest invents lives of filters for tests and benchmarks of package life: pulse-jet
// filters that season, creep and bend, filters never pulsed that run to their limit in the
// laboratory, and long static ones whose growth wanders. The curves are built on other equations
// than the ones life fits (rates integrated step by step under a wandering load, several laws),
// so that a forecast can't recognise its own form. The true age at the limit is kept beside.
package lifetest

import (
	"math"
	"math/rand/v2"
)

// Point is one reading of an invented life.
type Point struct {
	Hours float64 // running hours since birth
	DP    float64 // [Pa] as read, at design flow
	Dust  float64 // kg/m2 taken up; NaN when nobody knows the feed
}

// Life is one invented life up to its limit.
type Life struct {
	Points []Point // to the limit and a little beyond
	End    float64 // running hours at which the true level reaches the limit
	Limit  float64 // [Pa]
	Clean  float64 // [Pa] level of new filters, as a collector file would give it; NaN unknown
	Feed   float64 // kg/m2 per running hour, NaN unknown
}

// Case is a life with earlier lives of the same machine.
type Case struct {
	Kind    string
	Pulsed  bool
	Earlier []Life
	Life    Life
}

type source struct{ *rand.Rand }

func (r source) between(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
func (r source) spread(s float64) float64       { return math.Exp(s * r.NormFloat64()) }
func (r source) pick(n int) int                 { return r.IntN(n) }

func newSource(seed uint64) source { return source{rand.New(rand.NewPCG(seed, 0x11fe))} }
