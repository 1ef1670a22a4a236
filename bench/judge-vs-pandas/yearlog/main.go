// Command yearlog writes a log of one-minute readings with twelve channels, as long as asked for: an
// invented collector that cleans on demand, runs two shifts on weekdays and ages slowly. It is the
// file of the side-by-side timing, no rehearsal: only its shape and size matter.
//
//	yearlog -minutes 525600 > year.csv
package main

import (
	"bufio"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"time"
)

// machine is the invented collector between two rows.
type machine struct {
	rnd      *rand.Rand
	cake     float64 // pressure drop of the cake [in. w.g.]
	residual float64 // pressure drop just after cleaning [in. w.g.]
	cleaning bool
	next     int // valve that fires next
}

// step moves the machine by one minute and returns how many pulses it fired.
func (m *machine) step(running bool) int {
	if !running {
		m.cleaning = false
		return 0
	}
	m.residual += 1.8e-6
	if m.residual > 1.8 { // new filters
		m.residual, m.cake = 0.9, 0
	}
	m.cake += 0.011 + 0.004*m.rnd.Float64()
	if dp := m.residual + m.cake; dp > 4 {
		m.cleaning = true
	} else if dp < 2 {
		m.cleaning = false
	}
	if !m.cleaning {
		return 0
	}
	m.cake *= 0.72
	return 6
}

// working reports whether the shop works at that time.
func working(at time.Time) bool {
	return at.Weekday() != time.Saturday && at.Weekday() != time.Sunday && at.Hour() >= 6 && at.Hour() < 22
}

func main() {
	minutes := flag.Int("minutes", 525600, "rows to write")
	flag.Parse()
	w := bufio.NewWriterSize(os.Stdout, 1<<20)
	m := &machine{rnd: rand.New(rand.NewPCG(4, 7)), residual: 0.9, next: 1}
	zone := time.FixedZone("", -6*3600)
	start := time.Date(2016, 3, 2, 7, 0, 0, 0, zone)
	fmt.Fprintln(w, "time,running,cleaning,dp[in.w.g.],header[psi],header_low[psi],pulse,fan_current[A],inlet_sp[in.w.g.],damper[%],temperature[degF],humidity[%],barometer[inHg]")
	var line []byte
	for i := range *minutes {
		line = m.row(line[:0], start.Add(time.Duration(i)*time.Minute))
		if _, err := w.Write(line); err != nil {
			fmt.Fprintln(os.Stderr, "yearlog:", err)
			os.Exit(1)
		}
	}
	if err := w.Flush(); err != nil {
		fmt.Fprintln(os.Stderr, "yearlog:", err)
		os.Exit(1)
	}
}

// row writes the readings of one minute.
func (m *machine) row(b []byte, at time.Time) []byte {
	running := working(at)
	fired := m.step(running)
	noise := func(width float64) float64 { return width * (m.rnd.Float64() - 0.5) }
	number := func(v float64, decimals int) {
		b = strconv.AppendFloat(append(b, ','), v, 'f', decimals, 64)
	}
	dp, low, amps, sp := 0.0, 60.0, 0.0, 0.0
	if running {
		dp, amps, sp = m.residual+m.cake, 15.4, -3.5
	}
	if fired > 0 {
		low = 33.6
	}
	b = at.AppendFormat(b, time.RFC3339)
	b = append(b, ',', bit(running), ',', bit(m.cleaning))
	number(dp+noise(0.04), 2)
	number(60+noise(0.6), 1)
	number(low+noise(0.8), 1)
	b = append(b, ',')
	for k := range fired {
		if k > 0 {
			b = append(b, ' ')
		}
		b = strconv.AppendInt(b, int64(m.next), 10)
		m.next = m.next%6 + 1
	}
	number(amps-0.1*dp+noise(0.2), 1)
	number(sp+0.05*dp+noise(0.04), 2)
	number(47, 0)
	day := float64(at.YearDay()) + float64(at.Hour())/24
	number(68-18*math.Cos(2*math.Pi*day/365)+noise(1), 1)
	number(48+20*math.Sin(2*math.Pi*day/9)+noise(2), 0)
	number(29.9+0.3*math.Sin(2*math.Pi*day/6), 2)
	return append(b, '\n')
}

func bit(on bool) byte {
	if on {
		return '1'
	}
	return '0'
}
