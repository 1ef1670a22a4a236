package collector

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"dustwright/unit"
	"dustwright/unit/unittest"
)

// same reports the difference of two collectors, NaN being equal to NaN.
func same(a, b *Collector) string {
	return cmp.Diff(a, b, cmpopts.EquateNaNs(), cmpopts.IgnoreFields(Collector{}, "Source"),
		nan[unit.Pressure](), nan[unit.Flow](), nan[unit.StdFlow](), nan[unit.Density](), nan[unit.Velocity](), nan[unit.Length](),
		nan[unit.Area](), nan[unit.Volume](), nan[unit.Power](), nan[unit.Current](), nan[unit.Voltage](), nan[unit.Concentration](),
		nan[unit.Seconds](), nan[unit.Share](), nan[unit.Speed](), nan[unit.Conductance]())
}

// nan compares one kind of quantity.
func nan[Q ~float64]() cmp.Option {
	return cmp.Comparer(func(a, b Q) bool { return a == b || a != a && b != b })
}

// dc1 is the example collector of the tests.
func dc1(t testing.TB) *Collector {
	t.Helper()
	c, err := Load("testdata/dc1.toml")
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if math.Abs(got-want) > rel*math.Abs(want) || math.IsNaN(got) {
		t.Errorf("%s = %.6g, want %.6g within %g", what, got, want, rel)
	}
}

func TestLoadReadsEveryKey(t *testing.T) {
	c := dc1(t)
	const tol = 1e-9
	near(t, "elevation", float64(c.Site.Elevation), 180, tol)
	near(t, "flow", float64(c.Duty.Flow), 4200*0.3048*0.3048*0.3048/60, tol)
	near(t, "loading", float64(c.Duty.Loading), 0.30*unit.Grain/unit.CubicFoot, tol)
	near(t, "run per week", float64(c.Duty.RunPerWeek), 80*3600, tol)
	near(t, "inlet sp", float64(c.Duty.InletSP), -3.5*unit.InchWater, tol)
	near(t, "electricity", c.Cost.ElectricityPer*3.6e6, 0.12, tol)
	near(t, "compressed air", c.Cost.AirPer*1000*unit.CubicFoot, 0.35, tol)
	near(t, "labour", c.Cost.LabourPer*3600, 68, tol)
	near(t, "lead time", float64(c.Cost.LeadTime), 14*86400, tol)
	near(t, "valve flow", float64(c.Header.ValveFlow), 18*unit.KvOfCv*unit.ConductanceOfKv, tol)
	near(t, "fan at 4200 cfm", float64(c.Fan.Curve[4].Pressure), 11.8*unit.InchWater, tol)
	near(t, "power at 5000 cfm", float64(c.Fan.Power[3].Power), 12.6*unit.Horsepower, tol)
	near(t, "damper 50 %", float64(c.Damper.Points[1].Open), 0.5, tol)
	near(t, "branch 2 length", float64(c.Branches[1].Length), 24*unit.Foot, tol)
	if want := time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC); !c.Filters.Installed.Equal(want) {
		t.Errorf("installed = %v, want %v", c.Filters.Installed, want)
	}
	if c.Filters.Count() != 6 || c.Cleaning.Mode != OnDemand || c.Cleaning.DowntimeCycles != 5 || !c.AfterFilter.Fitted {
		t.Errorf("count %d, mode %q, downtime cycles %d, after-filter %v", c.Filters.Count(), c.Cleaning.Mode, c.Cleaning.DowntimeCycles, c.AfterFilter.Fitted)
	}
	for _, k := range schema {
		if k.value.print(c, unit.SI) == "" {
			t.Errorf("%s was not read", k.path())
		}
	}
}

// TestContractFile reads the file that every version must go on reading, where it is at hand.
func TestContractFile(t *testing.T) {
	path := filepath.Join(unittest.Root(t), "..", "shared", "contract", "collector.toml")
	if _, err := os.Stat(path); err != nil {
		t.Skip("contract absent: ../shared/contract/collector.toml")
	}
	c, err := Load(path)
	if err != nil {
		t.Fatal(err)
	}
	ours := dc1(t)
	ours.Cost.OrderRisk, ours.Cost.LostPer = unit.Share(math.NaN()), math.NaN() // keys that came later
	ours.Filters.OpenArea = unit.Area(math.NaN())
	for i := range ours.Branches {
		ours.Branches[i].HoodSP = unit.Pressure(math.NaN())
	}
	if d := same(c, ours); d != "" {
		t.Errorf("the contract's collector differs from testdata/dc1.toml (-contract +testdata):\n%s", d)
	}
}

func TestLeastFile(t *testing.T) {
	c, err := Parse("least.toml", []byte("tag = \"X\"\nduty.flow = \"2 m3/s\"\nfilters = {rows = 4, per_row = 2, area_each = \"20 m2\"}\n"))
	if err != nil {
		t.Fatal(err)
	}
	if !math.IsNaN(float64(c.Header.Volume)) || c.Cleaning.DowntimeCycles != Unknown || c.AfterFilter.Fitted || c.Branches != nil {
		t.Errorf("what was left out must be unknown: %+v", c)
	}
	if got := c.FiringOrder(); len(got) != 4 || got[0] != 1 || got[3] != 4 {
		t.Errorf("firing order = %v, want 1 2 3 4", got)
	}
}

// TestFaults pins place and sentence of every kind of fault: the messages are the interface.
func TestFaults(t *testing.T) {
	files, err := filepath.Glob("testdata/faults/*.toml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no fault files: %v", err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			_, err = Parse(filepath.Base(file), data)
			var fs Faults
			if !errors.As(err, &fs) {
				t.Fatalf("error is %v, want Faults", err)
			}
			golden(t, strings.TrimSuffix(file, ".toml")+".golden", err.Error()+"\n")
		})
	}
}

func TestNoFileAndHugeFile(t *testing.T) {
	if _, err := Load("testdata/none.toml"); err == nil || !errors.Is(err, os.ErrNotExist) {
		t.Errorf("missing file: %v", err)
	}
	if _, err := Load("testdata"); err == nil {
		t.Error("a folder was read as a collector file")
	}
	_, err := Parse("big.toml", []byte("tag = \""+strings.Repeat("x", mostBytes)+"\""))
	if err == nil || !strings.Contains(err.Error(), "larger than 1024 kB") {
		t.Errorf("huge file: %v", err)
	}
}

func TestSet(t *testing.T) {
	c := dc1(t)
	for key, value := range map[string]string{"setpoints.high": "3.5 in.w.g.", "filters.rows": "8", "cleaning.order": "[3, 1, 2]",
		"filters.installed": "2026-05-01", "cost.electricity": "0.2", "branch.2.flow": `"1900 cfm"`, "tag": "DC-7", "cleaning.mode": "timed"} {
		if err := c.Set(key, value); err != nil {
			t.Errorf("Set(%s, %s): %v", key, value, err)
		}
	}
	near(t, "high", float64(c.SetPoints.High), 3.5*unit.InchWater, 1e-12)
	near(t, "branch flow", float64(c.Branches[1].Flow), 1900*unit.CubicFoot/60, 1e-12)
	if c.Filters.Rows != 8 || len(c.Cleaning.Order) != 3 || c.Tag != "DC-7" || c.Cleaning.Mode != Timed {
		t.Errorf("whole number, list or text not set: %+v", c)
	}
	if err := c.Validate(); err == nil || !strings.Contains(err.Error(), "valve 4 is not in the order") {
		t.Errorf("Validate after a short order: %v", err)
	}
	before := c.TOML(unit.US)
	for key, want := range map[string]string{
		"setpoints.hgh":     "did you mean setpoints.high",
		"header.max_dp":     "max_dp belongs in [filters]",
		"branch.9.flow":     "the file has 2 branches",
		"setpoints.high":    `"3.5 furlong"`,
		"filters.rows":      "whole number",
		"filters.installed": "day of the calendar",
	} {
		err := c.Set(key, "3.5 furlong")
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Set(%s): %v, want %q in it", key, err, want)
		}
	}
	if c.TOML(unit.US) != before {
		t.Error("a refused Set changed something")
	}
}

func TestRoundTripOfExample(t *testing.T) {
	c := dc1(t)
	for _, sys := range []unit.System{unit.US, unit.SI} {
		text := c.TOML(sys)
		back, err := Parse("back.toml", []byte(text))
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if d := same(c, back); d != "" {
			t.Errorf("system %v: %s", sys, d)
		}
	}
	golden(t, "testdata/dc1_printed.golden", c.TOML(unit.US))
}
