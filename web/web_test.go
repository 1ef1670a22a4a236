package web_test

import (
	"context"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/feed/sound"
	"dustwright/plant"
	"dustwright/rehearse"
	"dustwright/sense"
	"dustwright/store"
	"dustwright/unit"
	"dustwright/web"
)

// machine is a collector of the tests' plant.
func machineFile(tag, service string) string {
	return `tag = "` + tag + `"
service = "` + service + `"
[duty]
flow = "4200 cfm"
dust = "mild-steel cutting fume"
loading = "0.30 gr/ft3"
bulk_density = "55 lb/ft3"
combustible = "unknown"
hours_per_week = 80
min_duct_velocity = "3500 ft/min"
inlet_sp = "-3.5 in.w.g."
[filters]
rows = 6
per_row = 1
area_each = "215 ft2"
clean_dp = "0.7 in.w.g."
max_dp = "6.0 in.w.g."
installed = 2026-03-02
price_each = 165
[afterfilter]
clean_dp = "1.0 in.w.g."
max_dp = "2.5 in.w.g."
[fan]
speed = "3550 rpm"
density = "0.075 lb/ft3"
curve = [["0 cfm", "14.5 in.w.g."], ["1500 cfm", "14.8 in.w.g."], ["2500 cfm", "14.3 in.w.g."], ["3500 cfm", "13.0 in.w.g."], ["4200 cfm", "11.8 in.w.g."], ["5000 cfm", "9.9 in.w.g."], ["6000 cfm", "6.8 in.w.g."], ["7000 cfm", "2.9 in.w.g."]]
power = [["0 cfm", "5.2 hp"], ["2500 cfm", "8.6 hp"], ["4200 cfm", "11.6 hp"], ["5000 cfm", "12.6 hp"], ["6000 cfm", "13.1 hp"], ["7000 cfm", "12.7 hp"]]
motor_power = "15 hp"
voltage = "460 V"
full_load_current = "18.5 A"
motor_efficiency = 0.91
power_factor = 0.86
[damper]
points = [["30 %", "2900 cfm", "0.5 in.w.g."], ["50 %", "4100 cfm", "0.7 in.w.g."], ["100 %", "5250 cfm", "0.9 in.w.g."]]
[header]
volume = "20 L"
set = "60 psi"
on_time = "150 ms"
interval = "10 s"
valve_flow = "18 Cv"
supply_flow = "20 scfm"
[setpoints]
low = "2.0 in.w.g."
high = "4.0 in.w.g."
alarm = "6.0 in.w.g."
[cleaning]
mode = "on-demand"
order = [1, 2, 3, 4, 5, 6]
downtime_cycles = 5
[bin]
volume = "55 gal"
[cost]
currency = "USD"
electricity = 0.12
compressed_air = 0.35
labour_rate = 68
change_hours = 3
lead_time = "14 days"
[[branch]]
name = "table, zone 1"
diameter = "10 in"
length = "32 ft"
flow = "2100 cfm"
hood_sp = "-1.35 in.w.g."
[[branch]]
name = "table, zone 2"
diameter = "10 in"
length = "24 ft"
flow = "2100 cfm"
entry = "flanged duct end"
`
}

// turned is a clock that a test turns by hand.
type turned struct {
	mu sync.Mutex
	t  time.Time
}

func (c *turned) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

func (c *turned) set(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = t
}

// site is a plant with pages.
type site struct {
	t       testing.TB
	store   *store.Store
	service *plant.Service
	web     *web.Server
	clock   *turned
}

// season is when the tests' readings end; the clock stands half an hour later.
var season = time.Date(2026, 6, 16, 9, 0, 0, 0, time.UTC)

// empty makes a plant without collectors.
func empty(t testing.TB) *site { return emptyIn(t, t.TempDir(), nil) }

// emptyIn makes it in a folder, served over HTTPS too where there is something to prove it with.
func emptyIn(t testing.TB, dir string, secure web.Secure) *site {
	t.Helper()
	s, err := store.Open(context.Background(), dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	clock := &turned{t: season.Add(30 * time.Minute)}
	service := plant.NewService(plant.ServiceOptions{Keeper: s, Now: clock.now, Zone: time.UTC})
	srv, err := web.New(web.Options{Service: service, Archive: s, Blobs: s, Listen: "127.0.0.1:0", Secure: secure, Sound: func(name string, data []byte) (web.Sound, error) {
		clip, err := sound.Decode(data, name)
		if err != nil {
			return web.Sound{}, err
		}
		return web.Sound{Samples: clip.Samples, Rate: clip.Rate}, nil
	}, Papers: papers(s, service)})
	if err != nil {
		t.Fatal(err)
	}
	return &site{t, s, service, srv, clock}
}

// enrol puts a collector into the books.
func (s *site) enrol(tag, service string) *collector.Collector {
	s.t.Helper()
	c, err := s.service.Enrol(context.Background(), []byte(machineFile(tag, service)), "a person", plant.NewID())
	if err != nil {
		s.t.Fatal(err)
	}
	return c
}

// run puts days of simulated readings behind a collector.
func (s *site) run(c *collector.Collector, days int, every time.Duration, faults ...rehearse.Fault) {
	s.t.Helper()
	o := rehearse.NewOptions(c)
	o.Start, o.Length, o.Sample, o.Keep, o.Faults, o.Aged = season.AddDate(0, 0, -days), time.Duration(days)*24*time.Hour, every, true, faults, 0.3
	res, err := rehearse.Run(context.Background(), c, o)
	if err != nil {
		s.t.Fatal(err)
	}
	series := &sense.Series{Time: res.Series.Time, Zone: time.UTC, Col: res.Series.Col}
	for _, f := range res.Series.Pulses {
		series.Pulses = append(series.Pulses, sense.Firing{Row: f.Row, Valve: f.Valve})
	}
	if _, _, err := s.service.Import(context.Background(), c.Tag, func(take func(*sense.Series) error) error { return take(series) }); err != nil {
		s.t.Fatal(err)
	}
}

// hand puts a reading a day behind a collector.
func (s *site) hand(tag string, inches ...float64) {
	s.t.Helper()
	for i, v := range inches {
		r, err := plant.NewRecord(plant.Reading{Values: map[string]float64{"dp": v * unit.InchWater}}, tag, "a person")
		if err != nil {
			s.t.Fatal(err)
		}
		r.At = season.AddDate(0, 0, i-len(inches))
		if _, err := s.service.Accept(context.Background(), r); err != nil {
			s.t.Fatal(err)
		}
	}
}

// plantOfThree is a small plant: one logged and well, one with a dead valve, one read by hand.
func plantOfThree(t testing.TB) *site {
	t.Helper()
	s := empty(t)
	s.run(s.enrol("DC-1", "Plasma cutting table, bay 3"), 30, 2*time.Minute)
	s.run(s.enrol("DC-2", "Router hall"), 30, 2*time.Minute, rehearse.Fault{Cause: rehearse.ValveDead, Number: 4, After: 26 * 24 * time.Hour, Severity: 1})
	s.enrol("DC-3", "Weld bay")
	s.hand("DC-3", 2.1, 2.2, 2.3, 2.2, 2.4, 2.5)
	return s
}

// get asks for a page and returns its body; another status than want fails the test.
func (s *site) get(path string, want int, header ...string) string {
	s.t.Helper()
	r := httptest.NewRequest(http.MethodGet, path, nil)
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	return s.answer(r, want)
}

// post sends a form.
func (s *site) post(path, form string, want int, header ...string) string {
	s.t.Helper()
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(form))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	return s.answer(r, want)
}

func (s *site) answer(r *http.Request, want int) string {
	s.t.Helper()
	w := httptest.NewRecorder()
	s.web.ServeHTTP(w, r)
	body, err := io.ReadAll(w.Result().Body)
	if err != nil {
		s.t.Fatal(err)
	}
	if w.Code != want {
		s.t.Fatalf("%s %s: status %d, want %d: %.600s", r.Method, r.URL, w.Code, want, body)
	}
	return string(body)
}

// records are those of a kind on a collector.
func (s *site) records(tag string, kinds ...plant.Kind) []plant.Record {
	s.t.Helper()
	list, err := s.store.Records(context.Background(), plant.RecordQuery{Collector: tag, Kinds: kinds})
	if err != nil {
		s.t.Fatal(err)
	}
	return list
}

// near compares figures.
func near(a, b, share float64) bool { return math.Abs(a-b) <= share*math.Abs(b) }

// num writes a number for a script.
func num(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
