package collector

// Weight says how much a finding matters.
type Weight string

// The weights, from the heaviest.
const (
	Wrong Weight = "wrong" // cannot stay: it contradicts itself or overloads something
	Odd   Weight = "odd"   // outside what is usual: look at it
	Note  Weight = "note"  // worth knowing
)

// Finding is one thing that Check or Trim says about the machine.
type Finding struct {
	ID     string // stable, for programs: "motor-size", "air-to-cloth", ...
	Weight Weight
	Key    string // the key it is about, "" for none
	Text   Text   // with its numbers
	Source string // where the limit comes from; "common practice" where no document gives it
}

const commonPractice = "common practice"
