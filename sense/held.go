package sense

// A dip of the lowest header pressure is a cleaning's where it takes at least leastDip of the header and halfDip of what it
// usually takes in the rows flagged as cleaning, leastFlagged of which must have been seen. Common practice, no source.
const (
	leastDip     = 0.05
	halfDip      = 0.5
	leastFlagged = 6
)

// holding marks the rows that held cleaning. A flag is read at the moment of the row alone: where rows come more slowly than a
// pass over the valves and no pulse is logged, most cleanings lie between two rows, and only the lowest header pressure shows
// them.
func (w *scratch) holding(ch chunk, set machineFacts, h *History, st *State) {
	copy(w.held, w.clean)
	head, low := ch.col[Header], ch.col[HeaderLow]
	pulses := h.Seen>>Pulse&1 == 1 || ch.col[Pulse] != nil || len(ch.fire) > 0
	if head == nil || low == nil || ch.col[Cleaning] == nil || pulses || w.step <= set.pass {
		return
	}
	for i := range w.held {
		full := head[i]
		if i > 0 && head[i-1] > full { // it may be read just after a pulse
			full = head[i-1]
		}
		dip := 1 - low[i]/full
		switch {
		case w.clean[i]:
			st.Dips.put(dip)
		case st.Dips.len() >= leastFlagged:
			w.held[i] = dip > max(leastDip, halfDip*st.Dips.quantile(0.5))
		}
	}
}
