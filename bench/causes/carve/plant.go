package carve

import (
	"math"
	"math/rand/v2"
)

// trade is a kind of process with what its dust is like.
type trade struct {
	service, dust string
	hygro         float64    // how much humid air makes the cake stick, 0 to 1
	squeeze       [2]float64 // exponent of the cake's compressibility
	heat          float64    // the air's rise over the hall [K]
	hoods         [2]int
	bulk          [2]float64 // in the bin [kg/m3]
	week          []string   // calendars met in it
	batch         float64    // share of plants whose dust comes in bursts
}

// trades are the processes met.
var trades = []trade{
	{"sugar milling line", "icing sugar", 0.8, [2]float64{0.2, 0.45}, 4, [2]int{1, 4}, [2]float64{450, 650}, []string{"two", "three", "always"}, 0.4},
	{"premix weighing and tipping", "flour and minerals", 0.5, [2]float64{0.15, 0.4}, 2, [2]int{2, 6}, [2]float64{400, 700}, []string{"one", "two"}, 0.9},
	{"fertiliser bagging", "fertiliser dust", 0.9, [2]float64{0.2, 0.5}, 3, [2]int{2, 5}, [2]float64{700, 1000}, []string{"two", "three"}, 0.5},
	{"robot welding cells", "steel welding fume", 0.15, [2]float64{0.35, 0.6}, 8, [2]int{2, 6}, [2]float64{500, 900}, []string{"one", "two", "three"}, 0.3},
	{"laser cutting hall", "steel cutting fume", 0.1, [2]float64{0.35, 0.55}, 6, [2]int{1, 4}, [2]float64{600, 1000}, []string{"one", "two", "three"}, 0.5},
	{"shot blasting room", "scale and shot dust", 0.05, [2]float64{0.05, 0.2}, 2, [2]int{1, 3}, [2]float64{1200, 1900}, []string{"one", "two"}, 0.7},
	{"cement packing", "cement", 0.35, [2]float64{0.1, 0.3}, 12, [2]int{2, 6}, [2]float64{900, 1300}, []string{"three", "always"}, 0.15},
	{"rubber mixing", "carbon black", 0.1, [2]float64{0.4, 0.65}, 10, [2]int{1, 4}, [2]float64{250, 450}, []string{"two", "always"}, 0.8},
	{"joinery sanding", "wood sanding dust", 0.4, [2]float64{0.15, 0.35}, 2, [2]int{3, 7}, [2]float64{180, 320}, []string{"one", "one", "two"}, 0.3},
	{"sinter crushing", "ceramic dust", 0.1, [2]float64{0.1, 0.3}, 15, [2]int{2, 5}, [2]float64{900, 1500}, []string{"always", "three"}, 0.1},
}

// plant is one machine as it stands, in SI; pressures are gauge.
type plant struct {
	trade
	rows, per        int
	flow, area, velo float64 // design airflow [m3/s], one row's medium [m2], face velocity [m/s]
	clean, most      float64 // dP of new filters, and of filters to be changed, at design flow [Pa]
	season, settle   float64 // drag gained in seasoning over the medium's own; dust that does it [kg/m2]
	blind            float64 // share of the dust that never leaves the medium
	k2, comp         float64 // specific resistance of the cake at 600 Pa [1/s]; exponent
	load, said       float64 // dust at full work, and as in the file [kg/m3]
	loose, back      float64 // share of its cake that a full pulse takes; share of that caught again
	age              float64 // share of the filters' life used at the first row
	life             float64 // running time in which blinding reaches the limit [s]

	low, high, alarm float64
	mode             string
	every, open      float64 // pulse interval, valve opening time [s]
	downtime         int

	press, k0, k1, k2f float64 // fan: press (k0 + k1 x - k2f x2), x over design flow
	shaft              float64 // at design flow [W]
	motor, volts, amps float64 // nameplate
	eff, phi           float64

	suction    float64   // at the inlet at design flow with all hoods open [Pa]
	mainR      float64   // main duct [Pa s2/m6]
	hoods      []float64 // conductance of each [m3/s/Pa^0.5]
	after      float64   // new after-filter at design flow [Pa]; 0 none
	damp, curl float64   // loss of the open damper at design flow [Pa]; steepness

	volume, sonic, cv float64 // header [m3]; valve [m3/s/Pa]; same as Cv
	set, line         float64 // regulator, and supply at its best [Pa]
	refill, margin    float64 // time constant of recharging [s]; supply over need
	bin, heap         float64 // [m3]; dust in it [kg/m3]
	height            float64 // above the sea [m]
	calendar          string
	offTrue           [6]float64 // how far the file's figures are off: fan, power, suction, load, clean, after
}

// between draws evenly from a range.
func between(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

// spread draws evenly in the logarithm.
func spread(r *rand.Rand, a, b float64) float64 { return a * math.Exp(r.Float64()*math.Log(b/a)) }

// newPlant draws a machine.
func newPlant(r *rand.Rand) *plant {
	p := &plant{trade: trades[r.IntN(len(trades))]}
	p.rows, p.per = 3+r.IntN(10), 1+r.IntN(3)
	p.flow = spread(r, 0.6, 9)
	p.velo = between(r, 0.0055, 0.0155)
	p.area = p.flow / p.velo / float64(p.rows)
	p.clean = between(r, 120, 230)
	p.most = between(r, 1350, 1800)
	p.height = between(r, 0, 900)
	p.calendar = p.week[r.IntN(len(p.week))]
	p.airway(r)
	p.cleaning(r)
	p.cloth(r)
	p.bottle(r)
	for i, s := range []float64{0.03, 0.04, 0.05, 0.25, 0.08, 0.1} {
		p.offTrue[i] = math.Exp(s * r.NormFloat64())
	}
	p.said = p.load * p.offTrue[3]
	return p
}

// airway draws ducts, hoods, after-filter, damper, fan and motor.
func (p *plant) airway(r *rand.Rand) {
	p.suction = between(r, 550, 1150)
	part := between(r, 0.35, 0.75) // of the suction lost in the main
	p.mainR = part * p.suction / (p.flow * p.flow)
	n := p.trade.hoods[0] + r.IntN(p.trade.hoods[1]-p.trade.hoods[0]+1)
	total, sum := p.flow/math.Sqrt((1-part)*p.suction), 0.0
	for range n {
		g := between(r, 0.6, 1.6)
		p.hoods = append(p.hoods, g)
		sum += g
	}
	for i := range p.hoods {
		p.hoods[i] *= total / sum
	}
	if r.Float64() < 0.75 {
		p.after = between(r, 160, 280)
	}
	p.damp, p.curl = between(r, 40, 120), between(r, 4.5, 7.5)
	p.press = (p.suction + p.most + 1.5*p.after + p.damp) * between(r, 1.02, 1.2)
	p.k0, p.k1 = between(r, 1.14, 1.3), between(r, 0.08, 0.32)
	p.k2f = p.k0 + p.k1 - 1
	p.shaft = p.flow * p.press / between(r, 0.6, 0.72)
	for _, kw := range []float64{0.75, 1.1, 1.5, 2.2, 3, 4, 5.5, 7.5, 11, 15, 18.5, 22, 30, 37, 45, 55, 75, 90} {
		if p.motor = kw * 1000; p.motor > 1.12*p.shaft {
			break
		}
	}
	p.volts = []float64{400, 400, 460, 480, 690}[r.IntN(5)]
	p.eff, p.phi = between(r, 0.86, 0.94), between(r, 0.82, 0.89)
	p.amps = p.motor / (math.Sqrt(3) * p.volts * p.eff * p.phi)
}

// cleaning draws the controller's settings.
func (p *plant) cleaning(r *rand.Rand) {
	p.low = between(r, 420, 700)
	p.high = p.low + between(r, 150, 480)
	p.alarm = min(p.most, p.high+between(r, 300, 600))
	p.every = []float64{8, 10, 10, 12, 15, 20, 30}[r.IntN(7)]
	p.open = between(r, 0.08, 0.2)
	p.mode = "on-demand"
	switch u := r.Float64(); {
	case u < 0.1:
		p.mode, p.every = "timed", []float64{20, 30, 45, 60}[r.IntN(4)]
	case u < 0.13:
		p.mode = "continuous"
	}
	if r.Float64() < 0.45 {
		p.downtime = 1 + r.IntN(5)
	}
}

// cloth draws medium and dust. The rise from low to high takes a drawn time at full work, which
// fixes the cake's resistance; the life fixes the share that blinds.
func (p *plant) cloth(r *rand.Rand) {
	p.load = spread(r, 0.12e-3, 1.6e-3)
	hours, seasoned := spread(r, 0.35, 7), p.low*between(r, 0.5, 0.78)
	if p.mode != "on-demand" {
		hours, seasoned = spread(r, 0.25, 2), between(r, 350, 750)
	}
	p.k2 = (p.high - p.low) / (p.load * p.velo * p.velo * hours * 3600)
	p.comp = between(r, p.trade.squeeze[0], p.trade.squeeze[1])
	p.loose, p.back = between(r, 0.4, 0.8), between(r, 0.08, 0.3)
	p.life = between(r, 3000, 12000) * 3600
	p.age = 0.75 * r.Float64()
	if r.Float64() < 0.2 {
		p.age = 0
	}
	grown := max(0.3, seasoned/p.clean-1) // of the medium's drag, at half life
	p.season = 0.75 * grown
	p.settle = p.load * p.velo * spread(r, 30, 250) * 3600
	p.blind = 0.5 * grown * p.clean / p.velo / (p.k2 * p.load * p.velo * p.life)
}

// bottle draws header, valves and supply.
func (p *plant) bottle(r *rand.Rand) {
	p.set = between(r, 3.9e5, 6e5)
	p.line = p.set + between(r, 0.4e5, 2e5)
	p.cv = between(r, 14, 55)
	p.sonic = p.cv * 4e-8
	drop := between(r, 0.1, 0.36) // of the absolute pressure
	p.volume = p.sonic * 1e5 * p.open / -math.Log(1-drop)
	p.refill = p.every / between(r, 2.3, 6)
	p.margin = between(r, 1.4, 2.8)
	hours := map[string]float64{"one": 9, "two": 16, "three": 24, "always": 24}[p.calendar]
	p.heap = between(r, p.bulk[0], p.bulk[1])
	p.bin = max(0.06, 0.6*p.load*p.flow*3600*hours*spread(r, 2, 20)/p.heap)
}
