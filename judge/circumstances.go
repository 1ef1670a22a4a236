package judge

// circumstances are the instruments and the way of cleaning beside which what is seen counts otherwise, with the terms
// that only such a record has: a rise of the dP says one thing where nothing else is read, and another where the header is
// read too and stands as it should.
var circumstances = [...]struct {
	name  string
	marks []string
}{
	{"logger", []string{"noise?"}}, // of the dP, where a hand-kept record has single readings
	{"header", []string{"header?", "busy?", "pace?", "lacks?", "header-noise?"}},
	{"fan", []string{"inlet?", "amps?", "watts?"}},
	{"airflow", []string{"air-habit?"}},
	{"leak-detector", []string{"emission?"}},
	{"on-demand", []string{"trigger?"}}, // cleaning begins and ends
}

// marks are the bits of the circumstances of which a term is a mark.
var marks = func() map[string]int {
	out := map[string]int{}
	for i, c := range circumstances {
		for _, m := range c.marks {
			out[m] |= 1 << i
		}
	}
	return out
}()

// Circumstances returns the names of the instruments and the way of cleaning beside which what is seen counts otherwise.
func Circumstances() []string {
	out := make([]string, len(circumstances))
	for i, c := range circumstances {
		out[i] = c.name
	}
	return out
}

// Shows returns the circumstances that a term is a mark of: bit i is that of Circumstances()[i].
func Shows(term string) int { return marks[term] }

// With is how what a term weighs more under a circumstance is named in the table of weights.
func With(term, circumstance string) string { return term + "@" + circumstance }
