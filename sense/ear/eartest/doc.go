// Package eartest makes recordings of cleaning cycles for tests, with the truth beside them: five
// voices of a pulse that share neither envelope nor spectrum, rooms, fans, tones, hammering, talk,
// clipping and automatic gain. It shares no code with the detector. That a pulse is a burst with a
// hard onset that lasts as long as its valve is open, in a room, over a fan, is common practice, no
// published source.
package eartest
