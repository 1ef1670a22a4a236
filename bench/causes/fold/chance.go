package fold

import (
	"math"
	"math/rand/v2"
)

// hash mixes three words into one. Everything that varies while a machine runs comes from it and from the clock
// rather than from a stream, so that a machine and its twin without the trouble meet the same luck.
func hash(a, b, c uint64) uint64 {
	x := a ^ b*0x9e3779b97f4a7c15 ^ c*0xd1342543de82ef95
	for range 2 {
		x ^= x >> 31
		x *= 0xbf58476d1ce4e5b9
		x ^= x >> 29
		x *= 0x94d049bb133111eb
	}
	return x ^ x>>32
}

// dice is a hashed number between 0 and 1.
func dice(seed, tag uint64, k int64) float64 {
	return float64(hash(seed, tag, uint64(k))>>11) / (1 << 53)
}

// bell is a hashed number of mean 0 and deviation 1, of nearly normal distribution.
func bell(seed, tag uint64, k int64) float64 {
	h := hash(seed, tag, uint64(k))
	sum := 0.0
	for range 4 {
		sum += float64(h & 0xffff)
		h >>= 16
	}
	return (sum/65536 - 2) * math.Sqrt(3)
}

// wander is a smooth hashed course of mean 0 and deviation of about 0.8 that forgets itself over a time [s].
func wander(seed, tag uint64, t, span float64) float64 {
	k := math.Floor(t / span)
	u := t/span - k
	u = u * u * (3 - 2*u)
	return bell(seed, tag, int64(k))*(1-u) + bell(seed, tag, int64(k)+1)*u
}

// between draws evenly.
func between(g *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*g.Float64() }

// scaled draws evenly in the logarithm.
func scaled(g *rand.Rand, lo, hi float64) float64 { return lo * math.Pow(hi/lo, g.Float64()) }

// happens is true with a probability.
func happens(g *rand.Rand, p float64) bool { return g.Float64() < p }

// pickOne draws one of a list.
func pickOne[T any](g *rand.Rand, of ...T) T { return of[g.IntN(len(of))] }

// clamp keeps a number within bounds.
func clamp(x, lo, hi float64) float64 { return math.Max(lo, math.Min(hi, x)) }

// to rounds to a multiple of a step; 0 leaves the number alone.
func to(x, step float64) float64 {
	if step <= 0 {
		return x
	}
	return math.Round(x/step) * step
}
