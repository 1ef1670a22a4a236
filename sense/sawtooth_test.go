package sense

import (
	"fmt"
	"math"
	"testing"
)

// A machine that is fed more dust cleans more often. Rows a quarter of an hour apart scatter the more for it, and must
// not hide the very teeth that tell.
func TestMoreDustIsMoreTeethBetweenRows(t *testing.T) {
	const days = 8
	for _, c := range []struct{ step, more, least float64 }{{900, 1, 0.95}, {900, 1.8, 0.65}, {600, 1.8, 0.95}} {
		t.Run(fmt.Sprintf("%v times every %v s", c.more, c.step), func(t *testing.T) {
			g := usual()
			quiet, _ := g.run(24*days, c.step)
			g.feed *= c.more
			busy, truth := g.run(24*days, c.step)
			s := quiet.only(DP)
			for i, at := range busy.Time {
				s.Time = append(s.Time, at+24*days*hourNs)
				s.Col[DP] = append(s.Col[DP], busy.Col[DP][i])
			}
			n, from := 0, start.UnixNano()+24*days*hourNs
			var rises []float64
			for _, cy := range settle(t, s, g).Cycles {
				if cy.By == BySawtooth && cy.Start >= from {
					n++
					rises = append(rises, float64(cy.Rise))
				}
			}
			if want := float64(len(truth.starts)); math.Abs(float64(n)-want) > (1-c.least)*want {
				t.Errorf("%d cycles found, truth %v", n, want)
			}
			near(t, "rise", medianOf(rises), 418*c.more, 0.03)
		})
	}
}
