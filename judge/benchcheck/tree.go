package benchcheck

// Question is one step: what to do, and what is asked about it.
type Question struct {
	ID       string   `json:"id"`
	Do       string   `json:"do"`       // what to do first; %d stands for the valve's number
	Ask      string   `json:"ask"`      // answered by yes, no or unsure
	Cautions []string `json:"cautions"` // ids in the list of cautions of package judge
	Yes      string   `json:"yes"`      // where to go: a question or a verdict
	No       string   `json:"no"`
	Unsure   string   `json:"unsure"`
}

// Verdict is an end of the check.
type Verdict struct {
	ID       string   `json:"id"`
	Says     string   `json:"says"`     // the verdict in a sentence
	Do       string   `json:"do"`       // what to put in or put right; "" where there is nothing
	Record   string   `json:"record"`   // what to write down
	After    string   `json:"after"`    // how to see that it is right now
	Cautions []string `json:"cautions"` // before the work
}

// The verdicts.
const (
	Pilot     = "pilot"
	Diaphragm = "diaphragm"
	Wiring    = "wiring-or-controller"
	Tubing    = "tubing"
	Supply    = "supply"
	NoFault   = "no-fault-found"
	Undecided = "undecided"
	NotSafe   = "not-safe"
)

// Start is the first question.
const Start = "safe"

// Opening are the cautions before the first question, ids in the list of package judge.
func Opening() []string { return []string{"live", "compressed-air", "electrical", "fan"} }

// Questions returns all questions, in the order in which a reader meets them. The slice is the caller's.
func Questions() []Question {
	hands := []string{"compressed-air"}
	live := []string{"live"}
	return []Question{
		{ID: "safe", Do: "Read the cautions above. Know where the supply to the header is shut off and locked, and how the header is bled. Put on hearing and eye protection.",
			Ask: "Can you shut off, bleed and prove zero, and are you protected", Cautions: []string{}, Yes: "blows", No: NotSafe, Unsure: NotSafe},
		{ID: "blows", Do: "Stand at valve %d between two pulses and listen.",
			Ask: "Does it blow or hiss all the time", Cautions: live, Yes: "pilot-blows", No: "gauge", Unsure: "sags"},
		{ID: "sags", Do: "Watch the header gauge between two pulses.",
			Ask: "Does the pressure stay well below its setting, or sag after valve %d fires", Cautions: live, Yes: "pilot-blows", No: "gauge", Unsure: "gauge"},

		// It does not fire, or fires weakly.
		{ID: "gauge", Do: "Read the header gauge just before a pulse.",
			Ask: "Does it stand at its setting", Cautions: live, Yes: "signal", No: Supply, Unsure: "signal"},
		{ID: "signal", Do: "Wait until the controller comes to valve %d. Touch the pilot, or watch the lamp of its plug.",
			Ask: "Does the pilot click, or its lamp light", Cautions: live, Yes: "puff", No: "swap", Unsure: "swap"},
		{ID: "swap", Do: "Have a licensed person lock out the controller, change the plug of pilot %d with its neighbour's, and start again.",
			Ask: "Does pilot %d click now, on its neighbour's turn", Cautions: []string{"electrical"}, Yes: Wiring, No: Pilot, Unsure: "puff"},
		{ID: "puff", Do: "Hold a hand near the exhaust of pilot %d on its turn.",
			Ask: "Does it puff", Cautions: live, Yes: "strong", No: "hose-off", Unsure: "hose-off"},
		{ID: "strong", Do: "Feel the puff of a neighbouring pilot on its turn, then that of pilot %d again.",
			Ask: "Is the puff of pilot %d as strong and as short", Cautions: live, Yes: "bang", No: "hose", Unsure: "hose"},
		{ID: "bang", Do: "Listen to valve %d and to its neighbours over a whole cycle.",
			Ask: "Does valve %d sound like the others", Cautions: live, Yes: NoFault, No: "hose", Unsure: "hose"},
		{ID: "hose", Do: "Shut off and lock the supply, bleed the header, prove zero. Take the hose between pilot and valve %d off at both ends, look and blow through it, and look into both fittings.",
			Ask: "Is it clear, dry and whole, without kink or leak, as long and wide as its neighbours'", Cautions: hands, Yes: "hose-off", No: Tubing, Unsure: "hose-off"},
		{ID: "hose-off", Do: "Shut off and lock the supply, bleed the header, prove zero. Take the hose of valve %d off at the pilot and fix its end so that it points away from everybody. Stand clear and let the air in again.",
			Ask: "Does valve %d open and blow", Cautions: hands, Yes: "finger", No: "hose-clear", Unsure: Undecided},
		{ID: "finger", Do: "With a gloved finger seal the open end of the hose.",
			Ask: "Does valve %d close", Cautions: hands, Yes: Pilot, No: Diaphragm, Unsure: Undecided},
		{ID: "hose-clear", Do: "Shut off and lock the supply, bleed the header, prove zero. Take the hose off at the valve too and blow through it.",
			Ask: "Is the hose clear, and the port it sat on", Cautions: hands, Yes: Diaphragm, No: Tubing, Unsure: Undecided},

		// It blows all the time.
		{ID: "pilot-blows", Do: "Hold a hand near the exhaust of pilot %d between two pulses.",
			Ask: "Does the pilot's own exhaust blow all the time", Cautions: live, Yes: "live-coil", No: "seal", Unsure: "seal"},
		{ID: "live-coil", Do: "Look at the lamp of the pilot's plug, or have a licensed person see whether the coil has voltage between pulses.",
			Ask: "Is pilot %d held on all the time", Cautions: []string{"electrical"}, Yes: Wiring, No: "seal", Unsure: "seal"},
		{ID: "seal", Do: "Shut off and lock the supply, bleed the header, prove zero. Take the hose of valve %d off at the pilot, fix it so that it points away, stand clear, let the air in, and seal the open end with a gloved finger.",
			Ask: "Does valve %d stop blowing while the hose is sealed", Cautions: hands, Yes: Pilot, No: "seal-port", Unsure: Undecided},
		{ID: "seal-port", Do: "Shut off and lock the supply, bleed the header, prove zero. Take the hose off at the valve, close its port with a plug made for it, stand clear and let the air in.",
			Ask: "Does valve %d stop blowing now", Cautions: hands, Yes: Tubing, No: Diaphragm, Unsure: Undecided},
	}
}

// Verdicts returns all ends. The slice is the caller's.
func Verdicts() []Verdict {
	hands := []string{"compressed-air"}
	again := "let the cycle run: every valve sounds alike, there are as many pulses as valves, and the header is back before the next one; a header trace shows it in figures"
	return []Verdict{
		{ID: Pilot, Says: "The pilot of valve %d is bad: the diaphragm does as it is told, the pilot does not tell it.",
			Do: "put in a new pilot (solenoid) valve, or its coil or kit where the maker sells those", Record: "valve number, what was put in, and the answers below", After: again, Cautions: []string{"compressed-air", "electrical"}},
		{ID: Diaphragm, Says: "The diaphragm of valve %d is bad: it does not open when vented, or does not close when sealed.",
			Do: "put in diaphragm, spring and seat of the pulse valve as a set; look for water, oil and chips in the header while it is open", Record: "valve number, what was put in, what the old one looked like, and the answers below", After: again, Cautions: hands},
		{ID: Wiring, Says: "The wiring or the controller's output of valve %d is at fault: the pilot works when it is told to, and is not told right.",
			Do: "change nothing at the valve; a licensed person follows cable, plug and output, and changes the plugs back", Record: "valve number, output number, and the answers below", After: again, Cautions: []string{"electrical"}},
		{ID: Tubing, Says: "The hose or its fittings between pilot and valve %d are at fault.",
			Do: "put in hose and fittings of the same length and bore as the others", Record: "valve number, what was found in the hose, and the answers below", After: again, Cautions: hands},
		{ID: Supply, Says: "The header does not reach its setting before a pulse: look at the supply before any valve.",
			Do: "look at drain, filter, shut-off valve, regulator and line in this order, then for leaks; dustwright air tells what the pulses need", Record: "gauge reading before and after a pulse, upstream and downstream of the regulator", After: "the gauge is back at its setting before each pulse; then check this valve again", Cautions: hands},
		{ID: NoFault, Says: "Valve %d fires as the others do: no fault found at it.",
			Do: "", Record: "that it was checked, and why it was suspected; a blowpipe that has turned or is blocked also cleans badly, look at it at the next change of filters", After: "record a header trace of three cycles: it shows a miss now and then", Cautions: []string{}},
		{ID: Undecided, Says: "Not decided: the test that tells the two apart at valve %d gave no clear answer.",
			Do: "", Record: "the answers below, so that nobody starts from nothing", After: "repeat the last step with a second person watching, or exchange pilot and hose with a neighbour's and see whether the fault moves with them", Cautions: hands},
		{ID: NotSafe, Says: "Stop here: first make it safe to work on.",
			Do: "", Record: "what is missing: a lock, a bleed valve, a gauge, protection", After: "start again when the supply can be locked and the header bled and proved at zero", Cautions: []string{}},
	}
}

// QuestionOf returns the question with an id and whether there is one.
func QuestionOf(id string) (Question, bool) {
	for _, q := range Questions() {
		if q.ID == id {
			return q, true
		}
	}
	return Question{}, false
}

// VerdictOf returns the verdict with an id and whether there is one.
func VerdictOf(id string) (Verdict, bool) {
	for _, v := range Verdicts() {
		if v.ID == id {
			return v, true
		}
	}
	return Verdict{}, false
}
