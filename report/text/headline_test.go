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
