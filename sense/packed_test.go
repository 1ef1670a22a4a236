package sense

import (
	"bytes"
	"encoding/gob"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// Hours and cycles come back as they were written, whatever is in their fields; cut short they are an error.
func TestPackedHoursAndCycles(t *testing.T) {
	nan := float32(math.NaN())
	full := noReading()
	for i := range full {
		full[i] = float32(i) - 1.5
	}
	some := noReading()
	some[0], some[len(some)-1] = 0, float32(math.Inf(-1))
	hours := hourList{
		{},
		{Start: 1771027200, Last: 3599, Rows: math.MaxUint32, Step: 60, Running: 0.5, Cleaning: nan, Pulses: 7, Offline: 1 << 31, Has: 1<<NumChannels - 1,
			Stats: []Stat{{N: 60, Mean: 500, SD: 3, Min: -1, Max: 1e30}, {}, {N: math.MaxUint32, Mean: nan}},
			DP:    HourDP{N: 1, P10: 2, P50: 3, P90: 4, Noise: nan, Frozen: 5, Negative: 6, Still: 7, StillMean: 8, Fall: 19, Start: 20, Low: full},
			Air:   HourAir{N: 9, Rest: 10, Noise: 11, Trend: -12, Busy: 13, BusyN: 14, Soon: 15, SoonN: 16, Late: 17, LateN: 18, Stood: 19, StoodN: 20}},
		{Start: -3600, DP: HourDP{Low: some}},
	}
	hours[0].DP.Low = noReading()
	cycles := cycleList{
		{Before: noReading(), After: noReading()},
		{Start: math.MaxInt64 / 2, End: math.MaxInt64/2 + 90e9, By: ByStop, Long: true, Cut: true, Pulses: -1, Before: full, After: some,
			BeforeSD: 1, AfterSD: 2, Filtering: nan, Rise: 3, RiseEarly: 4, RiseLate: 5},
		{Start: -5, End: -7, By: BySawtooth, Cut: true, Before: some, After: noReading()},
	}
	var b bytes.Buffer
	if err := (&History{Version: HistoryVersion, Hours: hours, Cycles: cycles}).Write(&b); err != nil {
		t.Fatal(err)
	}
	text := b.Bytes()
	h, err := ReadHistory(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(hours, h.Hours, cmpopts.EquateNaNs()) + cmp.Diff(cycles, h.Cycles, cmpopts.EquateNaNs()); d != "" {
		t.Error(d)
	}
	packed := [2][]byte{}
	packed[0], _ = hours.GobEncode()
	packed[1], _ = cycles.GobEncode()
	for n := range packed[0] {
		if err := new(hourList).GobDecode(packed[0][:n]); err == nil {
			t.Errorf("%d of %d bytes of hours were read", n, len(packed[0]))
		}
	}
	for n := range packed[1] {
		if err := new(cycleList).GobDecode(packed[1][:n]); err == nil {
			t.Errorf("%d of %d bytes of cycles were read", n, len(packed[1]))
		}
	}
}

// A history from before hours were packed says what to do.
func TestHistoryOfTheLayoutBefore(t *testing.T) {
	var b bytes.Buffer
	was := struct {
		Version int
		Hours   []Hour
	}{2, []Hour{{Start: 3600}}}
	if err := gob.NewEncoder(&b).Encode(was); err != nil {
		t.Fatal(err)
	}
	if _, err := ReadHistory(&b); err == nil || !strings.Contains(err.Error(), "layout 2") {
		t.Errorf("error %v", err)
	}
}
