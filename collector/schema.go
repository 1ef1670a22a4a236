package collector

import (
	"math"
	"time"

	"dustwright/unit"
)

// key is one key of the file: where it stands, how it is read and printed. T is what owns it: the
// Collector, or one Branch.
type key[T any] struct {
	table, name string
	example     string // as it would stand in the file, after the equals sign
	required    bool
	value       field[T]
}

// path is the key as messages and Set write it.
func (k key[T]) path() string {
	if k.table == "" {
		return k.name
	}
	return k.table + "." + k.name
}

// The bounds below only refuse what cannot be: they are wide, and what is merely odd is Check's to
// say. They also keep every later sum finite.
var (
	positive      = bounds{lo: 0, open: true, hi: 1e9, want: "more than zero"}
	notNegative   = bounds{lo: 0, hi: 1e9, want: "zero or more"}
	suction       = bounds{lo: -1e5, hi: 0, want: "zero or negative, since suction is written with a minus"}
	airPressure   = bounds{lo: 0, open: true, hi: 1e5, want: "more than zero and below one atmosphere"}
	fanPressure   = bounds{lo: 0, hi: 1e5, want: "zero or more and below one atmosphere"}
	share         = bounds{lo: 0, open: true, hi: 1, want: "above 0 and at most 1 (100 %)"}
	elevation     = bounds{lo: -450, hi: 9000, want: "between -450 m and 9000 m"}
	tankVolume    = bounds{lo: 1e-4, hi: 100, want: "between 0.1 L and 100 m3"}
	tankPressure  = bounds{lo: 0, open: true, hi: 2e6, want: "more than zero and at most 290 psi (20 bar)"}
	pulseTime     = bounds{lo: 1e-3, hi: 10, want: "between 1 ms and 10 s"}
	pulseInterval = bounds{lo: 0.1, hi: 86400, want: "between 0.1 s and a day"}
	valveFlow     = bounds{lo: 1e-11, hi: 1e-5, want: "between 0.0003 and 250 Cv"}
	supplyFlow    = bounds{lo: 1e-6, hi: 10, want: "between 0.002 and 21,000 scfm"}
	riskShare     = bounds{lo: 0, open: true, hi: 0.5, want: "above 0 and at most 0.5 (50 %)"}
	week          = bounds{lo: 0, hi: 168 * 3600, want: "between 0 and 168"}
)

const (
	joulePerKWh   = 3.6e6
	secondPerHour = 3600
	// cubicMetrePer1000scf: the cubic foot is exactly 0.3048^3 m3.
	cubicMetrePer1000scf = 1000 * 0.3048 * 0.3048 * 0.3048
)

// schema is every key outside [[branch]], in the order in which the file is printed.
var schema = []key[Collector]{
	{"", "tag", `"DC-1"`, true, text[Collector]{func(c *Collector) *string { return &c.Tag }}},
	{"", "service", `"Plasma cutting table, bay 3"`, false, text[Collector]{func(c *Collector) *string { return &c.Service }}},

	{"site", "elevation", `"180 m"`, false, quantity(unit.KindLength, elevation, func(c *Collector) *float64 { return (*float64)(&c.Site.Elevation) })},

	{"duty", "flow", `"4200 cfm"`, true, quantity(unit.KindFlow, positive, func(c *Collector) *float64 { return (*float64)(&c.Duty.Flow) })},
	{"duty", "dust", `"mild-steel cutting fume"`, false, text[Collector]{func(c *Collector) *string { return &c.Duty.Dust }}},
	{"duty", "loading", `"0.30 gr/ft3"`, false, quantity(unit.KindConcentration, notNegative, func(c *Collector) *float64 { return (*float64)(&c.Duty.Loading) })},
	{"duty", "bulk_density", `"55 lb/ft3"`, false, quantity(unit.KindDensity, positive, func(c *Collector) *float64 { return (*float64)(&c.Duty.BulkDensity) })},
	{"duty", "combustible", `"unknown"`, false, choice[Collector]{func(c *Collector) *string { return &c.Duty.Combustible }, []string{"yes", "no", "unknown"}}},
	{"duty", "hours_per_week", `80`, false, plain(secondPerHour, week, func(c *Collector) *float64 { return (*float64)(&c.Duty.RunPerWeek) })},
	{"duty", "min_duct_velocity", `"3500 ft/min"`, false, quantity(unit.KindVelocity, positive, func(c *Collector) *float64 { return (*float64)(&c.Duty.MinDuctVelocity) })},
	{"duty", "inlet_sp", `"-3.5 in.w.g."`, false, quantity(unit.KindPressure, suction, func(c *Collector) *float64 { return (*float64)(&c.Duty.InletSP) })},

	{"filters", "rows", `6`, true, whole[Collector]{func(c *Collector) *int { return &c.Filters.Rows }, 1, 500}},
	{"filters", "per_row", `1`, true, whole[Collector]{func(c *Collector) *int { return &c.Filters.PerRow }, 1, 500}},
	{"filters", "area_each", `"215 ft2"`, true, quantity(unit.KindArea, positive, func(c *Collector) *float64 { return (*float64)(&c.Filters.AreaEach) })},
	{"filters", "open_area", `"28 ft2"`, false, quantity(unit.KindArea, positive, func(c *Collector) *float64 { return (*float64)(&c.Filters.OpenArea) })},
	{"filters", "clean_dp", `"0.7 in.w.g."`, false, quantity(unit.KindPressure, airPressure, func(c *Collector) *float64 { return (*float64)(&c.Filters.CleanDP) })},
	{"filters", "max_dp", `"6.0 in.w.g."`, false, quantity(unit.KindPressure, airPressure, func(c *Collector) *float64 { return (*float64)(&c.Filters.MaxDP) })},
	{"filters", "installed", `2026-03-02`, false, day[Collector]{func(c *Collector) *time.Time { return &c.Filters.Installed }}},
	{"filters", "price_each", `165`, false, plain(1, notNegative, func(c *Collector) *float64 { return &c.Filters.PriceEach })},

	{"afterfilter", "clean_dp", `"1.0 in.w.g."`, false, quantity(unit.KindPressure, airPressure, func(c *Collector) *float64 { return (*float64)(&c.AfterFilter.CleanDP) })},
	{"afterfilter", "max_dp", `"2.5 in.w.g."`, false, quantity(unit.KindPressure, airPressure, func(c *Collector) *float64 { return (*float64)(&c.AfterFilter.MaxDP) })},

	{"fan", "speed", `"3550 rpm"`, false, quantity(unit.KindSpeed, positive, func(c *Collector) *float64 { return (*float64)(&c.Fan.Speed) })},
	{"fan", "density", `"0.075 lb/ft3"`, false, quantity(unit.KindDensity, positive, func(c *Collector) *float64 { return (*float64)(&c.Fan.Density) })},
	{"fan", "curve", `[["0 cfm", "14.5 in.w.g."], ["4200 cfm", "11.8 in.w.g."], ["7000 cfm", "2.9 in.w.g."]]`, false, curveField},
	{"fan", "power", `[["0 cfm", "5.2 hp"], ["4200 cfm", "11.6 hp"], ["7000 cfm", "12.7 hp"]]`, false, powerField},
	{"fan", "motor_power", `"15 hp"`, false, quantity(unit.KindPower, positive, func(c *Collector) *float64 { return (*float64)(&c.Fan.MotorPower) })},
	{"fan", "voltage", `"460 V"`, false, quantity(unit.KindVoltage, positive, func(c *Collector) *float64 { return (*float64)(&c.Fan.Voltage) })},
	{"fan", "full_load_current", `"18.5 A"`, false, quantity(unit.KindCurrent, positive, func(c *Collector) *float64 { return (*float64)(&c.Fan.FullLoadCurrent) })},
	{"fan", "motor_efficiency", `0.91`, false, plain(1, share, func(c *Collector) *float64 { return (*float64)(&c.Fan.MotorEfficiency) })},
	{"fan", "power_factor", `0.86`, false, plain(1, share, func(c *Collector) *float64 { return (*float64)(&c.Fan.PowerFactor) })},

	{"damper", "points", `[["30 %", "2900 cfm", "0.5 in.w.g."], ["100 %", "5250 cfm", "0.9 in.w.g."]]`, false, damperField},

	{"header", "volume", `"20 L"`, false, quantity(unit.KindVolume, tankVolume, func(c *Collector) *float64 { return (*float64)(&c.Header.Volume) })},
	{"header", "set", `"60 psi"`, false, quantity(unit.KindPressure, tankPressure, func(c *Collector) *float64 { return (*float64)(&c.Header.Set) })},
	{"header", "on_time", `"150 ms"`, false, quantity(unit.KindSeconds, pulseTime, func(c *Collector) *float64 { return (*float64)(&c.Header.OnTime) })},
	{"header", "interval", `"10 s"`, false, quantity(unit.KindSeconds, pulseInterval, func(c *Collector) *float64 { return (*float64)(&c.Header.Interval) })},
	{"header", "valve_flow", `"18 Cv"`, false, quantity(unit.KindConductance, valveFlow, func(c *Collector) *float64 { return (*float64)(&c.Header.ValveFlow) })},
	{"header", "supply_flow", `"20 scfm"`, false, quantity(unit.KindStdFlow, supplyFlow, func(c *Collector) *float64 { return (*float64)(&c.Header.SupplyFlow) })},

	{"setpoints", "low", `"2.0 in.w.g."`, false, quantity(unit.KindPressure, airPressure, func(c *Collector) *float64 { return (*float64)(&c.SetPoints.Low) })},
	{"setpoints", "high", `"4.0 in.w.g."`, false, quantity(unit.KindPressure, airPressure, func(c *Collector) *float64 { return (*float64)(&c.SetPoints.High) })},
	{"setpoints", "alarm", `"6.0 in.w.g."`, false, quantity(unit.KindPressure, airPressure, func(c *Collector) *float64 { return (*float64)(&c.SetPoints.Alarm) })},

	{"cleaning", "mode", `"on-demand"`, false, choice[Collector]{func(c *Collector) *string { return (*string)(&c.Cleaning.Mode) },
		[]string{string(OnDemand), string(Timed), string(Continuous), string(None)}}},
	{"cleaning", "order", `[1, 2, 3, 4, 5, 6]`, false, orderField{}},
	{"cleaning", "downtime_cycles", `5`, false, whole[Collector]{func(c *Collector) *int { return &c.Cleaning.DowntimeCycles }, 0, 1000}},

	{"bin", "volume", `"55 gal"`, false, quantity(unit.KindVolume, positive, func(c *Collector) *float64 { return (*float64)(&c.Bin.Volume) })},

	{"cost", "currency", `"USD"`, false, text[Collector]{func(c *Collector) *string { return &c.Cost.Currency }}},
	{"cost", "electricity", `0.12`, false, plain(1/joulePerKWh, notNegative, func(c *Collector) *float64 { return &c.Cost.ElectricityPer })},
	{"cost", "compressed_air", `0.35`, false, plain(1/cubicMetrePer1000scf, notNegative, func(c *Collector) *float64 { return &c.Cost.AirPer })},
	{"cost", "labour_rate", `68`, false, plain(1.0/secondPerHour, notNegative, func(c *Collector) *float64 { return &c.Cost.LabourPer })},
	{"cost", "change_hours", `3`, false, plain(secondPerHour, notNegative, func(c *Collector) *float64 { return (*float64)(&c.Cost.ChangeTime) })},
	{"cost", "lead_time", `"14 days"`, false, quantity(unit.KindSeconds, notNegative, func(c *Collector) *float64 { return (*float64)(&c.Cost.LeadTime) })},
	{"cost", "order_risk", `0.05`, false, plain(1, riskShare, func(c *Collector) *float64 { return (*float64)(&c.Cost.OrderRisk) })},
	{"cost", "lost_capture", `40`, false, plain(1.0/secondPerHour, notNegative, func(c *Collector) *float64 { return &c.Cost.LostPer })},
}

// curveField reads [fan].curve: flow and static pressure, sorted by flow.
var curveField = points[Collector]{
	columns: []column{{"flow", unit.KindFlow, notNegative, "4200 cfm"}, {"static pressure", unit.KindPressure, fanPressure, "11.8 in.w.g."}},
	get: func(c *Collector) [][]float64 {
		return rowsOf(c.Fan.Curve, func(p FanPoint) []float64 { return []float64{float64(p.Flow), float64(p.Pressure)} })
	},
	set: func(c *Collector, rows [][]float64) {
		c.Fan.Curve = fromRows(rows, func(r []float64) FanPoint { return FanPoint{unit.Flow(r[0]), unit.Pressure(r[1])} })
	},
}

// powerField reads [fan].power: flow and shaft power, sorted by flow.
var powerField = points[Collector]{
	columns: []column{{"flow", unit.KindFlow, notNegative, "4200 cfm"}, {"shaft power", unit.KindPower, positive, "11.6 hp"}},
	get: func(c *Collector) [][]float64 {
		return rowsOf(c.Fan.Power, func(p FanPower) []float64 { return []float64{float64(p.Flow), float64(p.Power)} })
	},
	set: func(c *Collector, rows [][]float64) {
		c.Fan.Power = fromRows(rows, func(r []float64) FanPower { return FanPower{unit.Flow(r[0]), unit.Power(r[1])} })
	},
}

// damperField reads [damper].points, sorted by opening.
var damperField = points[Collector]{
	columns: []column{{"open share", unit.KindShare, share, "50 %"}, {"measured flow", unit.KindFlow, positive, "4100 cfm"},
		{"dP across the filters", unit.KindPressure, fanPressure, "0.7 in.w.g."}},
	get: func(c *Collector) [][]float64 {
		return rowsOf(c.Damper.Points, func(p DamperPoint) []float64 {
			return []float64{float64(p.Open), float64(p.Flow), float64(p.FilterDP)}
		})
	},
	set: func(c *Collector, rows [][]float64) {
		c.Damper.Points = fromRows(rows, func(r []float64) DamperPoint {
			return DamperPoint{unit.Share(r[0]), unit.Flow(r[1]), unit.Pressure(r[2])}
		})
	},
}

func rowsOf[P any](points []P, row func(P) []float64) [][]float64 {
	out := make([][]float64, len(points))
	for i, p := range points {
		out[i] = row(p)
	}
	return out
}

func fromRows[P any](rows [][]float64, point func([]float64) P) []P {
	out := make([]P, len(rows))
	for i, r := range rows {
		out[i] = point(r)
	}
	return out
}

// bounds is the range a value may lie in, in SI.
type bounds struct {
	lo, hi float64
	open   bool // lo itself is not allowed
	want   string
}

// hold reports whether v lies inside.
func (b bounds) hold(v float64) bool {
	return !math.IsNaN(v) && v <= b.hi && (v > b.lo || v == b.lo && !b.open)
}
