// Package rehearse runs one collector forward in time: cake, residual drag and redeposition row by row, the header
// pulse by pulse, the cleaning controller, fan, ducts and damper under the day's air, a production schedule and a
// dust feed drawn from a seed, after-filter, bin, the work of hands, every cause of trouble with severity and
// onset, and instruments with their own faults. It goes from event to event: between two of them the filters have an
// exact solution, so the cost grows with pulses and changes, not with clock time. The same seed gives the same
// result bit for bit. It leaves out what happens within a row and within a second other than the header's pulse.
// Main source: DESIGN.md section 4 by way of the physics packages; what drives the machine (schedule, weather, feed,
// instruments) is made up from common practice and says so.
package rehearse
