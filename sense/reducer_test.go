package sense

import (
	"bytes"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

func reduced(t testing.TB, s *Series, g rig) *History {
	t.Helper()
	r := NewReducer(g.file())
	r.Add(s)
	return r.History()
}

func TestBlocksDoNotMatter(t *testing.T) {
	g := usual()
	s, _ := g.run(30, 60)
	whole := reduced(t, s, g)
	for _, cut := range []int{1, 7, 61, 500} {
		r := NewReducer(g.file())
		for from := 0; from < s.Len(); from += cut {
			r.Add(s.slice(max(0, from-2), min(s.Len(), from+cut)))
			if from%1003 == 0 {
				var b bytes.Buffer
				if err := r.History().Write(&b); err != nil {
					t.Fatal(err)
				}
				h, err := ReadHistory(&b)
				if err != nil {
					t.Fatal(err)
				}
				r = Resume(h, g.file())
			}
		}
		got := r.History()
		got.Late = whole.Late
		same := cmp.Options{cmpopts.EquateNaNs(), cmpopts.EquateEmpty()}
		if d := cmp.Diff(whole.settled(g.file(), math.MaxInt64), got.settled(g.file(), math.MaxInt64), same); d != "" {
			t.Fatalf("in blocks of %d: %s", cut, d)
		}
	}
}
