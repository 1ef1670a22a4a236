package sense

// Where all that is read of the header is how low it fell in each row, and valves fire in every row, it shows what it falls from
// in those rows alone in which nothing but a dead valve fired: one in a dozen or fewer. Their upper level goes up by upperUp of
// what a row lies above it, and down by upperDown of what one lies below, which takes some hours. Common practice, no source.
const (
	upperUp   = 0.2
	upperDown = 0.002
)

// upper follows the upper level of the lowest readings; a stray one moves it by little.
func (p *airPass) upper(i int) {
	x, s := at(p.low, i), p.s
	if x != x || p.ch.col[Header] != nil {
		return
	}
	if s.Upper == 0 {
		s.Upper = x
	}
	share := upperDown
	if x > s.Upper {
		share = upperUp
	}
	s.Upper += share * min(x-s.Upper, strayDrop*s.Upper)
}
