package sense

// inTurn gives pulses that are only counted the numbers of their turns, where the log never named a valve: a controller fires
// its valves one after the other, so that of n valves each n-th pulse is the same one's. Which it is nobody knows, and pulses
// that got lost shift all turns. Once the log names valves the turns are dropped.
func (w *scratch) inTurn(ch chunk, valves int, h *History, st *State) []Firing {
	if len(ch.fire) > 0 {
		if h.Turns {
			h.Turns, h.Firings = false, nil
		}
		st.Named = true
	}
	pulse := ch.col[Pulse]
	if st.Named || pulse == nil || valves < 2 || valves > mostTurns {
		return ch.fire
	}
	if h.Turns && h.Seen>>Pulse&1 == 0 { // those were due by the clock, and began elsewhere
		h.Turns, h.Firings = false, nil
	}
	w.turns = w.turns[:0]
	for i, x := range pulse {
		if !(x >= 1 && x <= maxPulses) {
			continue
		}
		n := int(x)
		for k := 0; k < n && n <= valves; k++ {
			w.turns = append(w.turns, Firing{Row: ch.base + int32(i), Valve: uint8((st.Turn+k)%valves + 1)})
		}
		st.Turn = (st.Turn + n) % valves
	}
	h.Turns = h.Turns || len(w.turns) > 0
	return w.turns
}

// mostTurns is the most valves whose turns are followed: a set of them is a mask of so many bits.
const mostTurns = 64
