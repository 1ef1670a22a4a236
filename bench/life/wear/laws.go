package wear

import "math"

// leastFlow is the share of design flow below which the airflow counts as lost. Source: DESIGN.md section 4, life.
const leastFlow = 0.95

// pressure is what the fan gives at x times design flow, in the site's air at 20 degC [Pa]: a falling power law, made up.
func (p *plant) pressure(x float64) float64 {
	return p.fanTop * (1 - math.Pow(x/p.fanEnd, p.fanBend))
}

// throttle is the damper's loss at design flow [Pa]: it rises exponentially as the damper closes, made up.
func (p *plant) throttle(open float64) float64 { return p.open * math.Exp(p.shut*(1-open)) }

// loss is what the air needs at x times design flow [Pa]: turbulent in ducts and damper, creeping in the media.
func (p *plant) loss(x, filters, after, open float64) float64 {
	return p.duct*math.Pow(x, p.ductExp) + p.throttle(open)*x*x + (filters+after)*x
}

// air is the state of the air against that at 20 degC.
type airState struct{ dense, thick float64 }

// airAt is air of a temperature [degC]: the gas law, and a viscosity that goes with the 0.7th power of the absolute
// temperature (from memory).
func airAt(t float64) airState {
	r := (t + 273.15) / 293.15
	return airState{1 / r, math.Pow(r, 0.7)}
}

// blow is the airflow in design flows, by Newton's rule from a guess.
func (p *plant) blow(guess, filters, after, open float64, a airState) float64 {
	x, damper, creep := guess, p.throttle(open), (filters+after)*a.thick
	for range 8 {
		fan, duct := math.Pow(x/p.fanEnd, p.fanBend), p.duct*math.Pow(x, p.ductExp)
		f := a.dense*(p.fanTop*(1-fan)-duct-damper*x*x) - creep*x
		g := a.dense*(-p.fanTop*fan*p.fanBend/x-duct*p.ductExp/x-2*damper*x) - creep
		next := max(0.05, x-f/g)
		if math.Abs(next-x) < 1e-5 {
			return next
		}
		x = next
	}
	return x
}

// opening is where the damper has to stand for x times design flow, 1 where that is too little.
func (p *plant) opening(x, filters, after float64) float64 {
	left := p.pressure(x) - p.loss(x, filters, after, 1) + p.open*x*x
	if left <= p.open*x*x {
		return 1
	}
	return max(0.02, 1-math.Log(left/(x*x)/p.open)/p.shut)
}

// flowLost is the dP at design flow from which the open damper lets less than the least flow pass [Pa].
func (p *plant) flowLost(after float64) float64 {
	const x = leastFlow
	return (p.pressure(x) - p.loss(x, 0, after, 1)) / x
}

// crowd is how much less media is left to the air, by the drag after cleaning against that of seasoned media: part of the
// media is closed, and the rest takes its dust.
func (p *plant) crowd(residual float64) float64 {
	return 1 + p.crowding*max(0, residual/(p.media+p.seasoning)-1)
}

// cling is the share of its cake that a pulse takes off a row: less off media deep in dust.
func (p *plant) cling(residual float64) float64 {
	return p.strength / (1 + 0.04*max(0, residual/(p.media+p.seasoning)-1))
}

// leftover is the cake that endless cleaning leaves at usual load and design flow [Pa].
func (p *plant) leftover(residual float64) float64 {
	return p.rise * p.crowd(residual) * p.interval * float64(p.rows) / p.cling(residual)
}

// spent is the residual drag with which a set of filters has reached a dP with endless cleaning [Pa].
func (p *plant) spent(dp float64) float64 {
	lo, hi := 0.0, dp
	for range 40 {
		if mid := (lo + hi) / 2; mid+0.8*p.leftover(mid) > dp {
			hi = mid
		} else {
			lo = mid
		}
	}
	return lo
}
