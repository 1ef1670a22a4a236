package wash

import (
	"math"

	"dustwright/bench/causes/made"
)

// people are those who keep the machine going: what they turn when the dP is high, how often they see to lines and bin.
type people struct {
	heed  float64 // chance that one who walks past does something
	habit string  // what he does
	lines int     // the lines are blown out every so many days, 0 never
}

func newPeople(d made.Dice) people {
	return people{heed: d.Between(0, 0.6), habit: made.OneOf(d, "", "", "pulses longer", "by hand", "points up", "damper up", "faster"),
		lines: made.OneOf(d, 0, 0, 0, 7, 14, 30)}
}

// hourly is what an hour does to the machine.
func (m *machine) hourly() {
	l, p := &m.s.hours[m.hour], m.p
	rh := min(1.2, vapour(l.dew)/vapour(l.temp))
	if m.on {
		m.silt += 6e-5 * p.silts * (1 - m.x*m.x*0.8)
		m.belt -= 6e-6
	} else if !p.indoors { // what stands out cools with the night
		rh = min(1.3, vapour(l.dew)/vapour(l.wall-1))
	}
	m.humid = 0.6 * p.hygro * sq(max(0, rh-0.6)/0.4)
	m.stretch = math.Pow(l.temp/(zeroC+20), 0.7)
	if m.humid > 0.3 && p.hygro > 0.7 {
		m.slug = 25 * math.Sin(m.t/7e4)
	}
	if l.round {
		m.visit(l.luck)
	}
}

// visit is somebody at the machine.
func (m *machine) visit(luck float64) {
	p, today := m.p, int(m.t/day)
	cap := p.bin * p.bulk
	due := p.binDays > 0 && today%p.binDays == 0 && m.eased["bin"] != today+1
	if due || m.bin > 0.5*cap && luck < 0.4 && p.binDays == 0 || m.bin > 0.75*cap {
		if !m.ill.keepsBin(m.t) {
			m.carried += m.bin * (0.97 + 0.03*luck)
			m.bin *= 0.03 * (1 - luck)
			m.eased["bin"] = today + 1
		}
	}
	if p.people.lines > 0 && today%p.people.lines == 3 && m.eased["lines"] != today && !m.ill.lately(m.t) {
		m.eased["lines"] = today
		m.blown, m.slug, m.handsOff = m.t, 0, m.t+240+300*luck
	}
	if m.gauge > 1.18*m.high && m.on && luck < p.people.heed {
		m.fiddle()
	}
}

// fiddle is what is done instead of finding out.
func (m *machine) fiddle() {
	p, what := m.p, m.p.people.habit
	m.eased[what]++
	n := m.eased[what]
	switch {
	case what == "pulses longer" && n <= 2:
		m.onTime *= 1.35
	case what == "by hand":
		m.forced = m.t + 2.2*float64(p.rows)*m.interval
	case what == "points up" && n <= 1 && m.high < 1.2*p.high:
		m.low, m.high = m.low+0.4*inWater, m.high+0.4*inWater
	case what == "damper up" && n <= 2:
		m.open = min(1, m.open+0.04)
	case what == "faster" && n <= 1:
		m.interval = max(5, 0.7*m.interval)
	}
}
