// Package plot draws answers as SVG in the house's look: ink on paper, dP as an envelope band in the colour of the
// manometer's liquid, the line of the filters just after cleaning in ink over it, work done as small flags with a
// word, gaps left open. A plot is a function of numbers; every one has a text alternative.
package plot
