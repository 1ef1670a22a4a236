package main

import (
	"fmt"
	"io"
	"math/rand/v2"

	"dustwright/judge"
)

// checked scores how soon a person who does the check that is proposed, and answers as the list of checks gives the chances, has the
// cause first.
type checked struct {
	n     int
	right [mostChecks + 1]int // after so many answers
}

// mostChecks is how many checks are done at the most.
const mostChecks = 3

// add scores one trial that has something wrong.
func (c *checked) add(t *trial, r judge.Result) {
	if t.truth == "none" || t.second != "" {
		return
	}
	c.n++
	dice := rand.New(rand.NewPCG(t.seed, 11))
	causes, done := r.Causes, []judge.Answer(nil)
	for k := 0; ; k++ {
		if t.has(byCause(causes)[0].Cause) {
			c.right[k]++
		}
		if k == mostChecks {
			return
		}
		next := judge.Next(causes, judge.Checks(), done)
		if next == nil {
			for k++; k <= mostChecks; k++ { // nothing more would tell
				if t.has(byCause(causes)[0].Cause) {
					c.right[k]++
				}
			}
			return
		}
		entry, _ := judge.Experience{}.CheckOf(next.ID)
		a := judge.Answer{Check: next.ID, Number: next.Number, Yes: dice.Float64() < entry.Chance(judge.Cause(t.truth), t.number, next.Number)}
		causes, done = judge.Update(causes, entry, a), append(done, a)
	}
}

// print writes a row.
func (c *checked) print(w io.Writer, name string) {
	fmt.Fprintf(w, "%-30s", name)
	for k, right := range c.right {
		fmt.Fprintf(w, "  %d: %s", k, share(right, c.n))
	}
	fmt.Fprintf(w, "  of %d\n", c.n)
}
