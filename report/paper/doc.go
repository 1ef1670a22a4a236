// Package paper prints what has to be on paper as PDF: the commissioning certificate, the dP log of a
// month, the round sheet to fill in by hand, the filter-change record, the valve check and the
// inspection history, on A4 or Letter. The same input gives the same bytes. Every sheet that leads to
// hands on the machine opens with its caution and says that local codes, the equipment's manual and
// licensed practice come first; none declares protection or compliance adequate.
package paper
