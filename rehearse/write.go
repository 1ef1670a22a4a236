package rehearse

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"time"

	"dustwright/unit"
)

// CSV is a Recorder that writes the log format: first column time, the others channel[unit].
type CSV struct {
	w    io.Writer
	zone *time.Location
	cols []column
	buf  []byte

	hour        int64  // that day and suffix belong to [s]
	odd         bool   // the hour's text does not fit its rows
	day, suffix []byte // date and hour, zone
}

// column is one channel as it is written.
type column struct {
	channel        Channel
	factor, offset float64 // SI = written*factor + offset
	decimals       int
	header         string
}

// unitsOf returns how a channel is written: unit symbol and decimals. "" is a bare number.
func unitsOf(c Channel, sys unit.System) (kind unit.Kind, symbol string, decimals int) {
	us := sys == unit.US
	pick := func(k unit.Kind, a string, da int, b string, db int) (unit.Kind, string, int) {
		if us {
			return k, a, da
		}
		return k, b, db
	}
	switch c {
	case DP, AfterFilterDP, InletSP:
		return pick(unit.KindPressure, "in.w.g.", 2, "Pa", 0)
	case Header, HeaderLow:
		return pick(unit.KindPressure, "psi", 1, "kPa", 1)
	case Flow:
		return pick(unit.KindFlow, "cfm", 0, "m3/s", 3)
	case FanCurrent:
		return unit.KindCurrent, "A", 1
	case FanPower:
		return unit.KindPower, "kW", 2
	case Damper, Humidity, BinLevel:
		return unit.KindShare, "%", 0
	case Temperature:
		return pick(unit.KindTemperature, "degF", 1, "Cel", 1)
	case Barometer:
		return unit.KindAbsPressure, "hPa", 1
	case BinMass:
		return pick(unit.KindMass, "lb", 0, "kg", 1)
	case FlowIndex, Emission:
		return unit.KindNumber, "", 1
	}
	return unit.KindNumber, "", 0
}

// NewCSV returns a Recorder for the given channels (nil = UsualChannels), in US customary units or SI, and writes the
// header line. Times are RFC 3339 in the zone. Wrap w in a bufio.Writer: every row is one Write.
func NewCSV(w io.Writer, channels []Channel, sys unit.System, zone *time.Location) (*CSV, error) {
	if channels == nil {
		channels = UsualChannels()
	}
	if zone == nil {
		zone = time.UTC
	}
	c := &CSV{w: w, zone: zone, hour: math.MinInt64}
	c.buf = append(c.buf, "time"...)
	for _, ch := range channels {
		kind, symbol, decimals := unitsOf(ch, sys)
		col := column{channel: ch, factor: 1, decimals: decimals, header: ch.String()}
		if symbol != "" {
			u, err := unit.Lookup(kind, symbol)
			if err != nil {
				return nil, fmt.Errorf("rehearse: column %s: %w", ch, err)
			}
			col.factor, col.offset = u.Factor, u.Offset
			col.header += "[" + symbol + "]"
		}
		c.cols = append(c.cols, col)
		c.buf = append(append(c.buf, ','), col.header...)
	}
	c.buf = append(c.buf, '\n')
	_, err := w.Write(c.buf)
	return c, err
}

// Record writes one row; a reading that is missing is an empty cell.
func (c *CSV) Record(r *Row) error {
	c.buf = c.time(c.buf[:0], r.Unix)
	for i := range c.cols {
		col := &c.cols[i]
		c.buf = append(c.buf, ',')
		if col.channel == Pulse {
			for k, v := range r.Fired {
				if k > 0 {
					c.buf = append(c.buf, ' ')
				}
				c.buf = strconv.AppendUint(c.buf, uint64(v), 10)
			}
			continue
		}
		if v := r.Values[col.channel]; !math.IsNaN(v) {
			c.buf = fixed(c.buf, (v-col.offset)/col.factor, col.decimals)
		}
	}
	c.buf = append(c.buf, '\n')
	_, err := c.w.Write(c.buf)
	return err
}

// time appends RFC 3339; the date and the zone's offset are worked out once an hour, not once a row.
func (c *CSV) time(b []byte, ns int64) []byte {
	sec := ns / 1e9
	if h := sec - sec%3600; h != c.hour {
		c.hour = h
		t := time.Unix(h, 0).In(c.zone)
		c.day = t.AppendFormat(c.day[:0], "2006-01-02T15:")
		c.suffix = t.AppendFormat(c.suffix[:0], "Z07:00")
		c.odd = t.Minute() != 0 // a zone some minutes off the hour
	}
	if c.odd || ns%1e9 != 0 {
		return time.Unix(sec, ns%1e9).In(c.zone).AppendFormat(b, time.RFC3339Nano)
	}
	b = append(b, c.day...)
	m, s := sec%3600/60, sec%60
	b = append(b, byte('0'+m/10), byte('0'+m%10), ':', byte('0'+s/10), byte('0'+s%10))
	return append(b, c.suffix...)
}

// fixed appends v with so many decimals (at most 3), rounded; what does not fit goes by way of strconv.
func fixed(b []byte, v float64, decimals int) []byte {
	scale := [...]float64{1, 10, 100, 1000}[decimals]
	n := math.Round(math.Abs(v) * scale)
	if !(n < 1e15) {
		return strconv.AppendFloat(b, v, 'f', decimals, 64)
	}
	u := uint64(n)
	if v < 0 && u != 0 {
		b = append(b, '-')
	}
	d := uint64(scale)
	b = strconv.AppendUint(b, u/d, 10)
	if decimals > 0 {
		b = append(b, '.')
		rest := u % d
		for d /= 10; d > 0; d /= 10 {
			b = append(b, byte('0'+rest/d%10))
		}
	}
	return b
}
