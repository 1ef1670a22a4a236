package feed

import (
	"slices"
	"strings"
	"unicode"

	"dustwright/sense"
	"dustwright/unit"
)

// content says what the cells of a column hold.
type content uint8

const (
	ignored   content = iota // read over
	number                   // a reading with a unit, or in any unit
	state                    // running or not: 0, 1 or words
	pulses                   // numbers of the valves that fired
	timestamp                // date and time of day
	dateOnly                 // the date, with the time of day in another column
	clockOnly                // the time of day, with the date in another column
)

// rule is what the log format says about one channel.
type rule struct {
	kind    unit.Kind
	content content
	anyUnit bool    // a bare column is right, and a unit is only a label
	low     float64 // readings outside low..high can't come from an instrument of the trade [SI]
	high    float64
	us, si  string // the unit WriteCSV uses; us is also the spelling that messages show first
}

// rules holds one line per channel. The limits are wide on purpose: they catch slipped decimal
// marks, error codes and crossed columns, never an unusual day. Common practice, no source.
var rules = [sense.NumChannels]rule{
	sense.DP:            {unit.KindPressure, number, false, -1e5, 1e5, "in.w.g.", "Pa"},
	sense.AfterfilterDP: {unit.KindPressure, number, false, -1e5, 1e5, "in.w.g.", "Pa"},
	sense.Flow:          {unit.KindFlow, number, false, -0.05, 1e4, "cfm", "m3/h"},
	sense.FlowIndex:     {unit.KindNumber, number, true, -1e12, 1e12, "", ""},
	sense.Header:        {unit.KindPressure, number, false, -1.1e5, 5e6, "psi", "kPa"},
	sense.HeaderLow:     {unit.KindPressure, number, false, -1.1e5, 5e6, "psi", "kPa"},
	sense.FanCurrent:    {unit.KindCurrent, number, false, -1, 1e4, "A", "A"},
	sense.FanPower:      {unit.KindPower, number, false, -1e5, 1e8, "kW", "kW"},
	sense.InletSP:       {unit.KindPressure, number, false, -1e5, 1e5, "in.w.g.", "Pa"},
	sense.Damper:        {unit.KindShare, number, false, -0.1, 1.1, "%", "%"},
	sense.Running:       {unit.KindNumber, state, true, 0, 1, "", ""},
	sense.Cleaning:      {unit.KindNumber, state, true, 0, 1, "", ""},
	sense.Pulse:         {unit.KindNumber, pulses, true, 1, 255, "", ""},
	sense.Temperature:   {unit.KindTemperature, number, false, 173, 1300, "degF", "degC"},
	sense.Humidity:      {unit.KindShare, number, false, -0.05, 1.15, "%", "%"},
	sense.Barometer:     {unit.KindAbsPressure, number, false, 3e4, 1.2e5, "inHg", "hPa"},
	sense.Emission:      {unit.KindNumber, number, true, -1e12, 1e12, "", ""},
	sense.BinLevel:      {unit.KindShare, number, false, -0.1, 1.5, "%", "%"},
	sense.BinMass:       {unit.KindMass, number, false, 0, 1e6, "lb", "kg"},
}

// written shows how a column of the channel is headed, in both systems: "dp[in.w.g.] or dp[Pa]".
func written(c sense.Channel) string {
	r := rules[c]
	switch {
	case r.anyUnit:
		return c.String()
	case r.us == r.si:
		return c.String() + "[" + r.us + "]"
	}
	return c.String() + "[" + r.us + "] or " + c.String() + "[" + r.si + "]"
}

// squash reduces a column name to what people agree on: no case, no spaces, no separators.
func squash(name string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '_', '-', '.', '/', '\u00a0', '\t':
			return -1
		}
		return r
	}, strings.ToLower(name))
}

// squashed holds the channels by their squashed spelling. It is read-only.
var squashed = func() map[string]sense.Channel {
	m := make(map[string]sense.Channel, sense.NumChannels)
	for c := range sense.NumChannels {
		m[squash(c.String())] = c
	}
	m[squash(pulseCount)] = sense.Pulse
	return m
}()

// pulseCount heads a column that says how many valves fired since the last row, and not which; mostPulses is the most it can say.
const (
	pulseCount = "pulse_count"
	mostPulses = 1e6
)

// counts reports a column name that means such a column.
func counts(name string) bool { return squash(name) == squash(pulseCount) }

// countColumn is such a column, its cells multiplied by scale and shifted by offset.
func countColumn(name string, scale, offset float64) column {
	return column{name: name, content: number, channel: sense.Pulse, kind: unit.KindNumber, high: mostPulses, factor: scale, offset: offset}
}

// channelOf returns the channel a column name means: its log spelling, whatever the case and the
// separators.
func channelOf(name string) (sense.Channel, bool) {
	c, ok := squashed[squash(name)]
	return c, ok
}

// tradeWords leads from words that loggers put over a column to the channel they most likely mean.
// They are only offered, never taken: a wrong guess would be worse than a question.
var tradeWords = []struct {
	word    string
	channel sense.Channel
}{
	{"afterfilter", sense.AfterfilterDP}, {"hepa", sense.AfterfilterDP}, {"final filter", sense.AfterfilterDP},
	{"differen", sense.DP}, {"delta p", sense.DP}, {"deltap", sense.DP}, {"\u03b4p", sense.DP},
	{"header", sense.Header}, {"manifold", sense.Header}, {"compressed air", sense.Header}, {"reservoir", sense.Header},
	{"amp", sense.FanCurrent}, {"current", sense.FanCurrent}, {"kw", sense.FanPower}, {"power", sense.FanPower},
	{"static", sense.InletSP}, {"suction", sense.InletSP}, {"airflow", sense.Flow}, {"cfm", sense.Flow}, {"volume flow", sense.Flow},
	{"damper", sense.Damper}, {"run", sense.Running}, {"valve", sense.Pulse}, {"puls", sense.Pulse}, {"clean", sense.Cleaning},
	{"temp", sense.Temperature}, {"humid", sense.Humidity}, {"rh", sense.Humidity}, {"baro", sense.Barometer},
	{"ambient pressure", sense.Barometer}, {"broken bag", sense.Emission}, {"leak", sense.Emission}, {"opacity", sense.Emission},
	{"bin", sense.BinLevel}, {"hopper", sense.BinLevel},
}

// countWords are in the name of a column that counts, where it is about pulses or valves at all.
var countWords = []string{"count", "number", "no of", "no. of", "qty"}

// nearestChannel returns the channel a foreign column name is likely to mean, a count of pulses first, by spelling second and
// by the trade's words third, and "" where nothing is near.
func nearestChannel(name string) string {
	has := func(words ...string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return strings.Contains(strings.ToLower(name), w) })
	}
	if has("puls", "valve") && has(countWords...) {
		return pulseCount
	}
	if near := unit.Nearest(strings.ToLower(name), sense.ChannelNames()); near != "" {
		return near
	}
	low := strings.ToLower(name)
	for _, w := range tradeWords {
		if strings.Contains(low, w.word) {
			return w.channel.String()
		}
	}
	apart := func(r rune) bool { return !unicode.IsLetter(r) }
	if slices.Contains(strings.FieldsFunc(low, apart), sense.DP.String()) {
		return sense.DP.String()
	}
	return ""
}
