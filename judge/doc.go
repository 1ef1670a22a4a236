// Package judge says what is the matter with one collector: a probability for every cause of
// trouble, the standing that follows, the reasons in sentences with numbers, and the next check
// worth most per minute of a person's work. It reads features of package sense and never raw
// rows, and it knows nothing of pages or records. Causes and checks are data, each registered in
// one list (causes.go, checks.go). Sources: common practice for the list of causes and checks;
// Heckerman, Breese and Rommelse, Decision-theoretic troubleshooting (1995), for the next check.
//
// # Where to look
//
//   - judge.go, result.go: the judgement as a whole. standing.go: what it calls for, and the reasons. since.go: when it began.
//   - quantity.go, sight.go: features on a scale on which 1 is worth a second look, against the collector's own normal. level.go, pace.go,
//     damper.go: against a fixed reference. along.go: what other readings explain. valve.go: of one valve.
//   - model.go, net.go: from sights to probabilities (weights.csv). culprit.go: which valve or row (valves.csv). pair.go: two at once.
//   - causes.go, checks.go with checks.toml, cautions.go: the lists. next.go: the next check, and what an answer says. experience.go,
//     readexperience.go: what a plant knows better.
package judge
