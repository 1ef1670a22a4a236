package draft

import "math"

// row is the dust that sits on one row of filters.
type row struct {
	loose   float64 // [kg/m2]
	held    float64 // share of the seasoning that is done
	passed  float64 // dust that came in all [kg/m2]
	blinded float64 // share of the pores that closed
	hole    float64 // conductance of a hole [m3/s/sqrt(Pa)]
}

// conductance returns what a row lets through [m3/s/Pa].
func (w *row) conductance(p *plant, dp, thick float64) float64 {
	drag := (p.media+p.bound*w.held+p.creep*w.passed)/(1-w.blinded) + p.cake*w.loose*thick
	g := p.area / drag
	if w.hole > 0 {
		g += w.hole / math.Sqrt(max(dp, 50))
	}
	return g
}

// filters is all rows, the bin below them and the air side of the dust.
type filters struct {
	rows []row
	g    []float64
	sum  float64 // of g
	bin  float64 // [kg]
	slip float64 // dust that went through [kg]
	brought,
	taken float64 // dust that came with the air, dust that was carried away [kg]
}

// thickness of the cake's drag at a dP.
func (p *plant) pressed(dp float64) float64 { return math.Pow(max(dp, 120)/1000, p.squeeze) }

// conduct works out the rows' conductances.
func (f *filters) conduct(p *plant, dp, damp float64) {
	thick := p.pressed(dp) * damp
	f.sum = 0
	for i := range f.rows {
		f.g[i] = f.rows[i].conductance(p, dp, thick)
		f.sum += f.g[i]
	}
}

// load brings dust [kg] to the rows, by the air each takes and the place it has.
func (f *filters) load(p *plant, dust, dp float64) {
	f.brought += dust
	whole := 0.0
	for i := range f.rows {
		whole += f.g[i] * p.split[i]
	}
	for i := range f.rows {
		w := &f.rows[i]
		mine := dust * f.g[i] * p.split[i] / whole
		if w.hole > 0 {
			lost := mine * w.hole / math.Sqrt(max(dp, 50)) / f.g[i]
			f.slip += lost
			mine -= lost
		}
		mine /= p.area
		w.loose += mine
		w.passed += mine
		w.held += (1 - w.held) * (1 - math.Exp(-mine/p.season))
	}
}

// blow takes dust off a row: a jet [Pa] against a grip [Pa] that varies from spot to spot. A share lands on the rows
// again, more of it on the row itself and those below; the rest falls. It returns what came off [kg/m2].
func (f *filters) blow(p *plant, i int, force, back float64) float64 {
	if force <= 0 {
		return 0
	}
	w := &f.rows[i]
	off := w.loose * p.most * 0.5 * math.Erfc(-math.Log(force)/(p.gripSD*math.Sqrt2))
	w.loose -= off
	again, n := off*back, len(f.rows)
	if i == n-1 {
		w.loose += again
	} else {
		w.loose += 0.4 * again
		for k := i + 1; k < n; k++ {
			f.rows[k].loose += 0.6 * again / float64(n-1-i)
		}
	}
	f.bin += (off - again) * p.area
	return off
}

// sag drops what falls by itself when the air stands still.
func (f *filters) sag(p *plant) {
	for i := range f.rows {
		off := f.rows[i].loose * p.sag
		f.rows[i].loose -= off
		f.bin += off * p.area
	}
}

// carry lifts dust [kg] from a bin that is too full back to the rows, the lowest most.
func (f *filters) carry(p *plant, dust float64) {
	dust = min(dust, f.bin)
	f.bin -= dust
	n := float64(len(f.rows))
	for i := range f.rows {
		f.rows[i].loose += dust / p.area * 2 * float64(i+1) / (n * (n + 1))
	}
}

// kept is the dust on the rows [kg].
func (f *filters) kept(p *plant) float64 {
	sum := 0.0
	for i := range f.rows {
		sum += f.rows[i].loose * p.area
	}
	return sum
}
