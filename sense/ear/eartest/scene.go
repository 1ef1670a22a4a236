package eartest

import (
	"math"
	"math/rand/v2"
)

// Fault is what ails a valve in a made recording.
type Fault int

// The faults, with the forms a real one takes drawn at random.
const (
	Good Fault = iota
	Weak
	Dead
	Stuck
)

// String is the word of the state a fault has to be heard as.
func (f Fault) String() string { return [...]string{"ok", "weak", "dead", "stuck-open"}[f] }

// StuckForm is how a valve that does not shut sounds.
type StuckForm int

// The forms of a stuck valve.
const (
	Stays   StuckForm = iota // hisses from its pulse on and does not stop
	Returns                  // hisses after each of its pulses and dies away before the next is due
	Until                    // hisses at one level until the next pulse
)

// Scene is a recording to be made. Valves are counted from 0 in the order in which they are due.
type Scene struct {
	Seed     uint64
	Rate     int
	Voice    int // of a pulse, below Voices
	Valves   int
	Interval float64 // mean, from one pulse to the next [s]
	Nominal  float64 // what the controller is said to be set to [s]
	Due      int     // pulses due
	Lead     float64 // before the first is due [s]
	Tail     float64 // after the last is due [s]
	SNR      float64 // pulse rms while it lasts over noise rms [dB]
	Faults   []Fault // one per valve
	Form     StuckForm
	Doubles  []int   // valves that fire twice
	Drift    float64 // share by which the interval grows over the recording
	Jitter   float64 // standard deviation of each pulse's time [s]
	Colour   float64 // of the fan: 0 white, 1 pink, 2 brown
	Tones    int     // harmonics of the blades
	Hammer   float64 // blows a second
	Talk     float64 // level of talk over the noise [dB]; -Inf none
	Clip     float64 // level at which it clips, of the loudest sample [1]; 0 none
	AGC      float64 // release time of an automatic gain [s]; 0 none
	Echo     float64 // reverberation time [s]; 0 none
	Swell    float64 // slow change of the noise level over the recording [dB]
	Turn     float64 // change of the recorder's gain halfway [dB]
	Codec    bool    // only 300 to 3400 Hz get through
}

// Truth is what was made.
type Truth struct {
	At    []float64 // of every pulse that sounds [s]
	Valve []int     // from 0
}

// Pulses counts the pulses of a valve.
func (t Truth) Pulses(valve int) int {
	n := 0
	for _, v := range t.Valve {
		if v == valve {
			n++
		}
	}
	return n
}

// Draw draws a scene as varied as recordings are, of one voice at a signal to noise ratio.
func Draw(seed uint64, voice int, snr float64) Scene {
	r := rand.New(rand.NewPCG(seed, 77+uint64(voice)))
	s := Scene{Seed: seed, Voice: voice, SNR: snr, Talk: math.Inf(-1)}
	s.Rate = []int{16000, 22050, 22050, 44100, 48000}[r.IntN(5)]
	s.Valves = []int{2, 3, 4, 4, 5, 6, 6, 8, 8, 10, 12, 16, 24}[r.IntN(13)]
	s.Nominal = []float64{3, 4, 5, 6, 8, 10, 15, 30}[r.IntN(8)]
	for s.Nominal*float64(s.Valves) > 100 {
		s.Nominal, s.Valves = s.Nominal*0.7, max(2, s.Valves-1)
	}
	s.Nominal = math.Max(3, math.Round(s.Nominal))
	s.Interval = s.Nominal * (1 + 0.07*(2*r.Float64()-1))
	s.Due = s.Valves + r.IntN(s.Valves+1)
	if s.Valves < 6 {
		s.Due += s.Valves * r.IntN(3)
	}
	s.Lead = s.Interval * (0.15 + 0.7*r.Float64())
	s.Tail = math.Max(1, s.Interval*(0.15+0.7*r.Float64()))
	s.faults(r)
	s.Drift = 0.02 * r.NormFloat64()
	s.Jitter = 0.03 * r.Float64()
	s.surround(r)
	return s
}

// faults gives each scene some faults, weak, dead and stuck alike; at least half of the valves are
// sound and one at most does not shut.
func (s *Scene) faults(r *rand.Rand) {
	s.Faults = make([]Fault, s.Valves)
	s.Form = StuckForm(r.IntN(3))
	stuck := false
	for n := r.IntN(min(4, s.Valves/2+1)); n > 0; n-- {
		v, f := r.IntN(s.Valves), []Fault{Weak, Dead, Stuck}[r.IntN(3)]
		if s.Faults[v] != Good || f == Stuck && stuck {
			continue
		}
		s.Faults[v], stuck = f, stuck || f == Stuck
	}
	if r.Float64() < 0.15 {
		s.Doubles = []int{r.IntN(s.Valves)}
	}
}

// Even gives a scene one valve of each fault in turn, as many as half of its valves, so that many
// scenes together have as many of each.
func (s Scene) Even() Scene {
	r := rand.New(rand.NewPCG(s.Seed, 11+uint64(s.Voice)))
	s.Faults, s.Form = make([]Fault, s.Valves), StuckForm(r.IntN(3))
	kinds := []Fault{Weak, Dead, Stuck}
	r.Shuffle(len(kinds), func(i, k int) { kinds[i], kinds[k] = kinds[k], kinds[i] })
	for i, v := range r.Perm(s.Valves)[:min(len(kinds), s.Valves/2)] {
		s.Faults[v] = kinds[i]
	}
	return s
}

// surround draws what disturbs a recording.
func (s *Scene) surround(r *rand.Rand) {
	s.Colour, s.Tones = 2*r.Float64(), r.IntN(5)
	chance := func(p float64, v float64) float64 {
		if r.Float64() < p {
			return v
		}
		return 0
	}
	s.Hammer = chance(0.3, 0.05+0.3*r.Float64())
	if r.Float64() < 0.25 {
		s.Talk = -5 + 12*r.Float64()
	}
	s.Clip = chance(0.2, 0.35+0.5*r.Float64())
	s.AGC = chance(0.25, 0.3+2*r.Float64())
	s.Echo = chance(0.6, 0.15+0.9*r.Float64())
	s.Swell = 2 * r.NormFloat64()
	s.Turn = chance(0.15, 3*r.NormFloat64())
	s.Codec = r.Float64() < 0.1
}
