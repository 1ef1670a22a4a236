package main

import (
	"bytes"
	"context"
	"encoding/json"
	"strings"
	"testing"
)

// answer runs the bench check with typed lines.
func answer(t *testing.T, lines string, args ...string) string {
	t.Helper()
	var out, bad bytes.Buffer
	code := run(context.Background(), append([]string{"bench-check"}, args...), strings.NewReader(lines), &out, &bad)
	if code != exitDone || bad.Len() > 0 {
		t.Fatalf("exit %d, stderr %q", code, bad.String())
	}
	return out.String()
}

// TestBenchCheck pins whole conversations.
func TestBenchCheck(t *testing.T) {
	for name, lines := range map[string]string{
		"pilot":     "y\nn\ny\ny\nn\ny\ny\n",
		"diaphragm": "yes\nno\nyes\nyes\nno\nyes\nno\n",
		"stuck":     "y\ny\nn\nn\nn\n",
		"back":      "y\nn\nperhaps\n\ny\nb\nb\nb\nb\nb\ny\nn\nn\n",
		"quit":      "y\nu\nq\n",
		"ends":      "y\nn\ny",
	} {
		t.Run(name, func(t *testing.T) { golden(t, "bench_"+name+".golden", answer(t, lines, "--valve", "4")) })
	}
}

// TestBenchCheckGoesOn: what was answered before it was left leads on from there.
func TestBenchCheckGoesOn(t *testing.T) {
	left := answer(t, "y\nn\ny\nq\n", "--valve", "2")
	_, flag, ok := strings.Cut(left, "--answers ")
	if !ok {
		t.Fatalf("no way to go on in %q", left)
	}
	out := answer(t, "y\nn\ny\ny\n", "--valve", "2", "--answers", strings.TrimSpace(flag))
	if !strings.Contains(out, "The pilot of valve 2 is bad") {
		t.Errorf("going on after %q ends in %q", flag, out)
	}
}

func TestBenchCheckJSON(t *testing.T) {
	out := answer(t, "", "--json", "--valve", "3", "--answers", "y,n,y")
	golden(t, "bench_json.golden", out)
	var r struct {
		At        string
		Verdict   *string
		Questions []struct{ ID string }
	}
	if err := json.Unmarshal([]byte(out), &r); err != nil || r.At != "signal" || r.Verdict != nil || len(r.Questions) < 10 {
		t.Errorf("%v, at %q, verdict %v, %d questions", err, r.At, r.Verdict, len(r.Questions))
	}
}

func TestBenchCheckUnusable(t *testing.T) {
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"--answers", "y,x"}, `"x", is none of y, n and u`},
		{[]string{"--answers", "n,y"}, "comes after the verdict"},
		{[]string{"--valve=-1"}, "no valve's number"},
	} {
		out, bad, code := do(t, append([]string{"bench-check"}, c.args...)...)
		if code != exitUnusable || out != "" || !strings.Contains(bad, c.want) {
			t.Errorf("%v: exit %d, stdout %q, stderr %q; want %q", c.args, code, out, bad, c.want)
		}
	}
}
