package main

import (
	"fmt"
	"strings"
)

// diagram draws belief against frequency for every level of instrumentation.
func (b *board) diagram() string {
	const size, edge = 420, 46
	var s strings.Builder
	fmt.Fprintf(&s, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" font-family="sans-serif" font-size="12" role="img" aria-label="how often a cause was right against the probability given">`, size+220, size)
	px := func(p float64) float64 { return edge + p*(size-2*edge) }
	py := func(p float64) float64 { return size - edge - p*(size-2*edge) }
	fmt.Fprintf(&s, `<rect width="100%%" height="100%%" fill="#fffdf8"/><path d="M%v %vL%v %v" stroke="#d9d4c7"/>`, px(0), py(0), px(1), py(1))
	fmt.Fprintf(&s, `<text x="%v" y="%v" text-anchor="middle">probability given</text>`, px(0.5), size-12)
	fmt.Fprintf(&s, `<text transform="translate(14 %v) rotate(-90)" text-anchor="middle">share that was right</text>`, py(0.5))
	for _, v := range []float64{0, 0.5, 1} {
		fmt.Fprintf(&s, `<text x="%v" y="%v" text-anchor="middle">%.1f</text><text x="%v" y="%v" text-anchor="end">%.1f</text>`, px(v), size-edge+16.0, v, px(0)-6, py(v)+4, v)
	}
	dash := []string{"", "6 3", "2 3", "8 3 2 3", "1 2"}
	for i, name := range b.levels {
		y := b.tally[name]
		path, marks := "", ""
		for k := range y.cells {
			if y.cells[k] < 5 {
				continue
			}
			x, v := px(y.sumP[k]/y.cells[k]), py(y.sumHit[k]/y.cells[k])
			if path == "" {
				path = fmt.Sprintf("M%.1f %.1f", x, v)
			} else {
				path += fmt.Sprintf("L%.1f %.1f", x, v)
			}
			marks += fmt.Sprintf(`<circle cx="%.1f" cy="%.1f" r="2.5"/>`, x, v)
		}
		fmt.Fprintf(&s, `<g fill="#1d2326" stroke="#1d2326"><path d="%s" fill="none" stroke-dasharray="%s"/>%s`, path, dash[i%len(dash)], marks)
		fmt.Fprintf(&s, `<path d="M%d %dh30" fill="none" stroke-dasharray="%s"/></g><text x="%d" y="%d">%s</text>`, size, 60+20*i, dash[i%len(dash)], size+36, 64+20*i, name)
	}
	s.WriteString("</svg>\n")
	return s.String()
}
