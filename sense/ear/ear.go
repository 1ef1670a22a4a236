// Package ear finds the pulses of a cleaning cycle in a sound recording and says of each valve whether
// it fires as the others do. It works on samples alone: it adapts to the noise of the fan, to
// hammering and talk, to clipping and automatic gain, to the echo of the room and to an interval
// that drifts. Levels are only ever compared within one recording. Where a recording is not good
// enough it says so and why. Method: short-time spectra in logarithmic bands; the most regular chain of
// bursts, with rests of the controller in it; a template of the group's usual pulse, stretch by stretch of time and band by
// band, against what the same cells hold between pulses; for every moment at which a pulse was due, how likely each level of that
// template explains it, its parts louder or fainter than the whole, all the times of a valve together; how loud a valve's
// pulses are against a smooth run along the row, of which the phone hears one end better; and how each quarter of the gap
// after a pulse stands over the noise before, against the other gaps, with and without a hiss that sounds about like a valve. That all
// valves of a cycle sound alike and that there are as many pulses as valves is common practice, no published source.
package ear

import (
	"errors"
	"fmt"
	"math"
)

// State is what is said of a valve.
type State string

// The states of a valve. Unsure is said where the recording does not tell.
const (
	OK        State = "ok"
	Weak      State = "weak"
	Dead      State = "dead"
	StuckOpen State = "stuck-open"
	Unsure    State = "unsure"
)

// Spec is what is known of the collector.
type Spec struct {
	Valves   int     // pulse valves in a cycle; 0 unknown
	Interval float64 // from one pulse to the next [s]; NaN unknown
	Order    []int   // valves in firing order; nil: 1, 2, 3 ...
}

// Valve is what was heard of one valve.
type Valve struct {
	Number      int     `json:"number"`      // in firing order from the first slot in the recording, unless the order is known
	State       State   `json:"state"`       //
	Count       int     `json:"count"`       // pulses heard
	Expected    int     `json:"expected"`    // times it was due
	Level       float64 `json:"level"`       // against the group [dB]; NaN where nothing was heard
	LevelSigma  float64 `json:"levelSigma"`  // standard uncertainty of Level [dB]
	Length      float64 `json:"length"`      // against the group [1]; NaN where nothing was heard
	Tone        float64 `json:"tone"`        // treble against bass, against the group [dB]
	Double      int     `json:"double"`      // times it fired twice
	Hiss        float64 `json:"hiss"`        // noise after its pulse over the quietest stretch between pulses [dB]
	Probability float64 `json:"probability"` // of State
	Why         string  `json:"why"`
	heard       int     // times it was heard, doubles once
	likely      float64 // how much likelier all the times it was due are with its pulses than without [ln]
	joint       float64 // level of those pulses against the group [dB]
	below       float64 // how far its pulses lie below what its place in the row lets expect [dB]
	late        float64 // second half of its pulses against their first, against the group [dB]
	open        float64 // how much likelier its noise is with it open than shut [ln]
}

// Pulse is one pulse heard.
type Pulse struct {
	At    float64 `json:"at"`    // onset [s from the start]
	Level float64 `json:"level"` // over the noise [dB]
	Valve int     `json:"valve"` // 0: outside the cycle
}

// Result is what was heard in one recording.
type Result struct {
	Valves   []Valve  `json:"valves"`
	Pulses   []Pulse  `json:"pulses"`
	Interval float64  `json:"interval"` // mean, from one pulse to the next [s]
	Cycles   float64  `json:"cycles"`   // how many cycles the recording holds
	Margin   float64  `json:"margin"`   // of the group's pulses over the noise [dB]
	Numbered string   `json:"numbered"` // how the numbers of the valves were had
	Notes    []string `json:"notes"`    // what a person should know about the recording
	Slots    []Slot   `json:"slots"`    // every moment at which a pulse was due, in order
}

// Slot is one moment at which a pulse was due.
type Slot struct {
	At     float64 `json:"at"`     // due, or heard [s]
	Valve  int     `json:"valve"`  //
	Heard  bool    `json:"heard"`  //
	Level  float64 `json:"level"`  // against the group [dB]
	Length float64 `json:"length"` // against the group [1]
}

// ErrUnusable is wrapped by every error of Analyse.
var ErrUnusable = errors.New("the recording is not good enough")

// unusable says why, and what to do.
func unusable(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrUnusable, fmt.Sprintf(format, args...))
}

// The least a recording must be. A pulse's crack lies above 2 kHz, and a lower sampling rate loses it.
const (
	leastRate    = 16000
	leastSeconds = 5
)

// closest is the shortest interval between pulses that can be told apart [s]: a pulse and its echo take about half of it.
const closest = 1.0

// Analyse listens to a recording: samples between -1 and 1 at rate per second. It returns an error
// wrapping ErrUnusable, as a sentence, where nothing can be said. Samples that are not finite count as
// silence. It does not change samples and keeps no state.
func Analyse(samples []float32, rate int, spec Spec) (*Result, error) {
	if rate <= 0 {
		return nil, unusable("it gives no sampling rate")
	}
	seconds := float64(len(samples)) / float64(rate)
	switch {
	case rate < leastRate:
		return nil, unusable("it was made at %d samples a second, which cuts off the crack of a pulse; record at 44,100 or 48,000", rate)
	case spec.Interval > 0 && spec.Interval < closest:
		return nil, unusable("pulses %.3g s apart run into one another; give the time from one pulse to the next, such as 10 s", spec.Interval)
	case seconds < leastSeconds:
		return nil, unusable("it is %.1f s long; record at least one whole cleaning cycle%s", seconds, cycleHint(spec))
	}
	samples, offset := sounding(samples)
	if len(samples) == 0 {
		return nil, unusable("it is silent; see that the microphone is not covered and record again")
	}
	seconds = float64(len(samples)) / float64(rate)
	if spec.Valves > 0 && seconds < 0.85*float64(spec.Valves-1)*spec.Interval {
		return nil, unusable("%.0f s of it have sound, and one cycle of %d valves at %.3g s takes %.0f s; record at least one whole cycle",
			seconds, spec.Valves, spec.Interval, float64(spec.Valves)*spec.Interval)
	}
	r, err := listen(samples, rate).tell(spec)
	if err != nil {
		return nil, err
	}
	r.shift(float64(offset) / float64(rate))
	return r, nil
}

// tell finds the row of pulses in a recording and says what each valve does.
func (s *sound) tell(spec Spec) (*Result, error) {
	rows := s.rows(spec)
	if rows == nil {
		return nil, unusable("no regular row of pulses stands out of the noise; %s", closer)
	}
	return s.conclude(rows, spec)
}

// sounding cuts off the silence that was added before and after a recording, and says how many samples
// went at its start. It makes samples that are not finite silent, on a copy.
func sounding(samples []float32) (part []float32, offset int) {
	for _, v := range samples {
		if v != v || v > math.MaxFloat32 || v < -math.MaxFloat32 {
			samples = finite(samples)
			break
		}
	}
	top := loudest(samples)
	if top < 1e-4 {
		return nil, 0
	}
	least := top / 1e5
	for offset < len(samples) && samples[offset] <= least && samples[offset] >= -least {
		offset++
	}
	end := len(samples)
	for end > offset && samples[end-1] <= least && samples[end-1] >= -least {
		end--
	}
	return samples[offset:end], offset
}

func finite(samples []float32) []float32 {
	out := make([]float32, len(samples))
	for i, v := range samples {
		if v-v == 0 {
			out[i] = v
		}
	}
	return out
}

// shift moves all times.
func (r *Result) shift(by float64) {
	for i := range r.Pulses {
		r.Pulses[i].At += by
	}
	for i := range r.Slots {
		r.Slots[i].At += by
	}
}

// cycleHint says how long that is, where it is known.
func cycleHint(spec Spec) string {
	if t := float64(spec.Valves) * spec.Interval; t > 0 && !math.IsNaN(t) {
		return fmt.Sprintf(", %.0f s here", t)
	}
	return ""
}
