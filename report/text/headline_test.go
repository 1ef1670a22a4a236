package text

import (
	"strings"
	"testing"

	"dustwright/judge"
	"dustwright/plant"
)

// A trouble that is likeliest with little belief is not named as what it is.
func TestALowBeliefIsNotToldAsTheCause(t *testing.T) {
	for _, c := range []struct {
		name   string
		causes []judge.Probability
		told   bool
	}{
		{"many things may be", []judge.Probability{{Cause: judge.LeakInward, P: 0.18}, {Cause: judge.None, P: 0.17}, {Cause: judge.CleaningOff, P: 0.07}}, false},
		{"one stands out", []judge.Probability{{Cause: judge.LeakInward, P: 0.6}, {Cause: judge.None, P: 0.2}}, true},
	} {
		trouble, sound := troubled(c.causes)
		if trouble != c.causes[0] || sound != c.causes[1].P {
			t.Errorf("%s: likeliest trouble %v, nothing wrong %v", c.name, trouble, sound)
		}
		p := &page{}
		p.headline(&plant.Judgement{Causes: c.causes, Standing: judge.Drifting})
		if got := !strings.Contains(strings.Join(strings.Fields(p.b.String()), " "), "can't be told yet"); got != c.told {
			t.Errorf("%s: %q", c.name, p.b.String())
		}
	}
}

// The table of a plant says of a machine that stands as it should no more than its page does: no cause, where none is likelier
// than that nothing is wrong.
func TestATableNamesNoCauseThatDoesNotStandOut(t *testing.T) {
	for want, j := range map[string]*plant.Judgement{
		"no cause stands out": {Standing: judge.Steady, Causes: []judge.Probability{{Cause: judge.None, P: 0.45}, {Cause: judge.BinOverfull, P: 0.21}}},
		"if anything,":        {Standing: judge.Steady, Causes: []judge.Probability{{Cause: judge.BinOverfull, P: 0.4}, {Cause: judge.None, P: 0.3}}},
		"nothing":             {Standing: judge.Steady, Causes: []judge.Probability{{Cause: judge.None, P: 0.8}, {Cause: judge.BinOverfull, P: 0.1}}},
	} {
		if got := likely(j); !strings.Contains(got, want) {
			t.Errorf("%q, want %q in it", got, want)
		}
	}
}
