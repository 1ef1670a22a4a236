package chalk

import "math"

// way is the air's way from the hoods to the stack at one moment. Pressures at a density of 1.2 kg/m3.
type way struct {
	ducts   float64 // conductance of the ducts, root law [m3/s/Pa^0.5]
	leak    float64 // the same of openings before the filters
	filters float64 // conductance, straight law [m3/s/Pa]
	after   float64 // resistance of the after-filter, straight law [Pa s/m3]
	damper  float64 // resistance, square law [Pa s2/m6]
	speed   float64 // of the fan over its own
	foul    float64 // share of the fan's width lost to dust on the wheel
	density float64 // of the air over 1.2 kg/m3
}

// wind is what flows.
type wind struct {
	flow  float64 // through the filters [m3/s]
	hoods float64 // through the ducts
	inlet float64 // static pressure at the collector's inlet [Pa]
	dp    float64 // across the filters [Pa]
	after float64 // across the after-filter [Pa]
	shaft float64 // power at the fan's shaft [W]
}

// fan is a parabola: pressure = shutoff + rise q - fall q2, and its power another one.
type fan struct {
	shutoff, rise, fall float64 // [Pa], [Pa s/m3], [Pa s2/m6]
	design              float64 // flow at which power is known [m3/s]
	power               float64 // shaft power there [W]
}

func (f fan) pressure(q float64) float64 { return f.shutoff + f.rise*q - f.fall*q*q }

func (f fan) shaft(q float64) float64 {
	x := q / f.design
	return f.power * (0.38 + 0.78*x - 0.16*x*x)
}

// wind solves fan = ducts + filters + after-filter + damper, which is one square equation in the flow.
func (f fan) wind(w way) wind {
	narrow := 1 / (1 - w.foul) // a fouled wheel moves as much as a narrower one would
	n := w.speed
	square := w.density * (f.fall*narrow*narrow + w.damper + 1/((w.ducts+w.leak)*(w.ducts+w.leak)))
	straight := 1/w.filters + w.after - w.density*n*f.rise*narrow
	top := w.density * n * n * f.shutoff * (1 - 0.4*w.foul)
	q := (math.Sqrt(straight*straight+4*square*top) - straight) / (2 * square)
	u := q / (w.ducts + w.leak)
	return wind{flow: q, hoods: u * w.ducts, inlet: -w.density * u * u, dp: q / w.filters, after: q * w.after,
		shaft: w.density * n * n * n * f.shaft(q*narrow/n) * (1 - 0.5*w.foul)}
}

const (
	atmosphere = 101325.0 // [Pa]
	polytropic = 1.25     // between isothermal and adiabatic: the walls warm the air in part
)

// bottle is the compressed-air header: a vessel that loses air through choked openings and is filled through a regulator.
type bottle struct {
	p      float64 // absolute pressure [Pa]
	fill   float64 // how fast a wide-open regulator raises the pressure [Pa/s]
	droop  float64 // the regulator closes over this much below its setting [Pa]
	lowest float64 // since somebody asked
}

// blow opens a valve: decay is the logarithm of the pressure before over that after. It returns the mean of both.
func (b *bottle) blow(decay float64) float64 {
	before := b.p
	b.p *= math.Exp(-decay)
	b.lowest = min(b.lowest, b.p)
	return (before + b.p) / 2
}

// rest lets time pass [s] with the regulator at an absolute setting [Pa], a share of the fill, and a choked bleed [1/s].
func (b *bottle) rest(dt, setting, share, bleed float64) {
	fill := b.fill * share
	if edge := setting - b.droop; b.p < edge { // wide open until it comes near its setting
		most := math.Inf(1)
		if bleed > 0 {
			most = fill / bleed
		}
		took := (edge - b.p) / max(fill, 1e-9)
		if bleed > 0 && most > edge {
			took = math.Log((most-b.p)/(most-edge)) / bleed
		}
		if most <= edge || took >= dt {
			if bleed > 0 {
				b.p = most + (b.p-most)*math.Exp(-bleed*dt)
			} else {
				b.p += fill * dt
			}
			b.lowest = min(b.lowest, b.p)
			return
		}
		b.p, dt = edge, dt-took
	}
	gain := 0.0
	if b.p < setting {
		gain = fill / b.droop
	}
	if pull := gain + bleed; pull > 0 {
		level := gain * setting / pull
		b.p = level + (b.p-level)*math.Exp(-pull*dt)
	}
	b.lowest = min(b.lowest, b.p)
}
