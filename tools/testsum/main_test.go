package main

import (
	"strings"
	"testing"
	"time"
)

const run = `{"Action":"start","Package":"m/a"}
{"Action":"run","Package":"m/a","Test":"TestGood"}
{"Action":"output","Package":"m/a","Test":"TestGood","Output":"noise\n"}
{"Action":"pass","Package":"m/a","Test":"TestGood/sub","Elapsed":0}
{"Action":"pass","Package":"m/a","Test":"TestGood","Elapsed":0}
{"Action":"output","Package":"m/a","Test":"TestAway","Output":"    a_test.go:7: open data absent: x.csv\n"}
{"Action":"skip","Package":"m/a","Test":"TestAway","Elapsed":0}
{"Action":"output","Package":"m/a","Test":"TestBad/row","Output":"    a_test.go:9: 3, want 4\n"}
{"Action":"fail","Package":"m/a","Test":"TestBad/row","Elapsed":0}
{"Action":"fail","Package":"m/a","Test":"TestBad","Elapsed":0}
{"Action":"fail","Package":"m/a","Elapsed":1.5}
{"ImportPath":"m/b [m/b.test]","Action":"build-output","Output":"b.go:3: undefined: x\n"}
{"ImportPath":"m/b [m/b.test]","Action":"build-fail"}
{"Action":"start","Package":"m/b"}
{"Action":"output","Package":"m/b","Output":"FAIL\tm/b [build failed]\n"}
{"Action":"fail","Package":"m/b","Elapsed":0,"FailedBuild":"m/b [m/b.test]"}
{"Action":"start","Package":"m/c"}
{"Action":"output","Package":"m/c","Output":"?   \tm/c\t[no test files]\n"}
{"Action":"skip","Package":"m/c","Elapsed":0}
go: a line that is not JSON
`

func TestSummary(t *testing.T) {
	var out strings.Builder
	s := newSummary(&out, func() time.Time { return time.Unix(0, 0) })
	if err := watch(strings.NewReader(run), s, nil, time.Minute); err != nil {
		t.Fatal(err)
	}
	if s.total.passed != 1 || s.total.failed != 2 || s.total.skipped != 1 {
		t.Errorf("counts %+v, want 1 passed, 2 failed, 1 skipped", s.total)
	}
	for _, want := range []string{"skip  m/a TestAway: open data absent: x.csv", "FAIL  m/a TestBad", "3, want 4", "b.go:3: undefined: x",
		"go: a line that is not JSON"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("output lacks %q:\n%s", want, out.String())
		}
	}
	for _, not := range []string{"noise", "m/c"} {
		if strings.Contains(out.String(), not) {
			t.Errorf("output has %q:\n%s", not, out.String())
		}
	}
}

// A package that dies in the middle of a test is one failure, with everything it said.
func TestSummaryOfAPanic(t *testing.T) {
	var out strings.Builder
	at := time.Unix(0, 0)
	s := newSummary(&out, func() time.Time { return at })
	s.add([]byte(`{"Action":"start","Package":"m/p"}`))
	s.add([]byte(`{"Action":"output","Package":"m/p","Test":"TestX","Output":"panic: broken\n"}`))
	at = at.Add(40 * time.Second)
	s.waiting(30 * time.Second)
	s.add([]byte(`{"Action":"fail","Package":"m/p","Elapsed":40}`))
	if s.total.failed != 1 {
		t.Errorf("counts %+v", s.total)
	}
	for _, want := range []string{"still at work: m/p (40 s)", "panic: broken"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("output lacks %q:\n%s", want, out.String())
		}
	}
}
