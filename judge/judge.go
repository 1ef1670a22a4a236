package judge

import (
	"slices"

	"dustwright/collector"
	"dustwright/sense"
)

// Input is what a judgement is made from.
type Input struct {
	Collector  *collector.Collector
	Features   *sense.Features
	Answers    []Answer   // what people found on doing checks, oldest first
	Experience Experience // what the plant knows better than the lists
}

// Judge returns what is concluded. Probabilities of all causes sum to one; causes that the given
// channels can't tell apart share what belongs to them together. It is a pure function of its input.
func Judge(in Input) Result {
	f := in.Features
	each := facts(f)
	seen := observe(in, each)
	w := weigh(in, seen)
	causes := posterior(w.hyps, each)
	checks := in.Experience.AllChecks()
	for _, a := range in.Answers {
		for _, c := range checks {
			if c.ID == a.Check {
				causes = Update(causes, c, a)
			}
		}
	}
	r := Result{At: f.At, Causes: causes, Missing: missing(f)}
	top := leading(w.hyps, causes)
	r.Reasons = reasons(in, top, seen)
	if len(in.Answers) == 0 {
		r.Pair = pairOf(w.hyps, w.explained(), each)
	}
	if r.Pair != nil {
		r.Reasons = append(r.Reasons, Reason{r.Pair.says(), r.Pair.First.Cause, 0})
	}
	r.Standing = standing(in, causes)
	r.Since, r.SinceLow, r.SinceTop = since(f, top, seen, causes[0].Number)
	if r.Standing != Steady || causes[0].Cause != None {
		r.Next = Next(causes, checks, slices.Concat(in.Answers, settled(f, checks)))
	}
	return r
}
