// Command testsum reads what "go test -json" writes, shows one line a package as it finishes, prints the output of what
// failed and the reason of what was skipped, and counts top-level tests.
//
//	go test -json ./... | testsum -counts FILE
//
// FILE gets "passed failed skipped". A package that fails without a failing test (it does not build, or it
// panics outside a test) counts as one failure.
package main

import (
	"bufio"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"os"
	"sort"
	"strings"
	"time"
)

// event is one line of go test -json.
type event struct {
	Action, Package, Test, Output, ImportPath, FailedBuild string
	Elapsed                                                float64
}

// pkg collects what is known of one package while it runs.
type pkg struct {
	passed, failed, skipped int
	output                  map[string]*strings.Builder // by top-level test; "" is the package's own
	started                 time.Time
}

// summary is the state of the whole run. One goroutine owns it.
type summary struct {
	out    io.Writer
	now    func() time.Time
	pkgs   map[string]*pkg
	builds map[string]*strings.Builder
	total  struct{ passed, failed, skipped int }
}

func newSummary(out io.Writer, now func() time.Time) *summary {
	return &summary{out: out, now: now, pkgs: map[string]*pkg{}, builds: map[string]*strings.Builder{}}
}

// add takes one line.
func (s *summary) add(line []byte) {
	var e event
	if err := json.Unmarshal(line, &e); err != nil {
		fmt.Fprintf(s.out, "%s\n", line) // not go test's: pass it on
		return
	}
	switch {
	case e.Action == "build-output":
		text(s.builds, e.ImportPath).WriteString(e.Output)
	case e.Package == "":
	case e.Test == "":
		s.packageEvent(e)
	default:
		s.testEvent(e)
	}
}

func (s *summary) get(name string) *pkg {
	p := s.pkgs[name]
	if p == nil {
		p = &pkg{output: map[string]*strings.Builder{}, started: s.now()}
		s.pkgs[name] = p
	}
	return p
}

func text(m map[string]*strings.Builder, key string) *strings.Builder {
	if m[key] == nil {
		m[key] = &strings.Builder{}
	}
	return m[key]
}

// testEvent handles an event of one test; what its subtests write belongs to it.
func (s *summary) testEvent(e event) {
	p := s.get(e.Package)
	top, _, sub := strings.Cut(e.Test, "/")
	if e.Action == "output" {
		text(p.output, top).WriteString(e.Output)
		return
	}
	if sub {
		return
	}
	switch e.Action {
	case "pass":
		p.passed++
	case "skip":
		p.skipped++
		fmt.Fprintf(s.out, "  skip  %s %s: %s\n", e.Package, e.Test, reason(text(p.output, top).String()))
	case "fail":
		p.failed++
		fmt.Fprintf(s.out, "  FAIL  %s %s\n%s", e.Package, e.Test, indent(text(p.output, top).String()))
	default:
		return
	}
	delete(p.output, top)
}

// packageEvent handles the start, output and end of a package.
func (s *summary) packageEvent(e event) {
	p := s.get(e.Package)
	switch e.Action {
	case "output":
		text(p.output, "").WriteString(e.Output)
		return
	case "pass", "skip", "fail":
	default:
		return
	}
	if e.Action == "fail" && p.failed == 0 {
		p.failed = 1
		fmt.Fprintf(s.out, "  FAIL  %s\n%s%s", e.Package, indent(text(s.builds, e.FailedBuild).String()), indent(s.rest(p)))
	}
	s.total.passed += p.passed
	s.total.failed += p.failed
	s.total.skipped += p.skipped
	delete(s.pkgs, e.Package)
	if p.passed+p.failed+p.skipped > 0 {
		fmt.Fprintf(s.out, "  %-5s %-36s %4d tests %7.1f s\n", map[string]string{"fail": "FAIL"}[e.Action], e.Package,
			p.passed+p.failed+p.skipped, e.Elapsed)
	}
}

// rest is the output of a package that no finished test took along.
func (s *summary) rest(p *pkg) string {
	names := make([]string, 0, len(p.output))
	for n := range p.output {
		names = append(names, n)
	}
	sort.Strings(names)
	var b strings.Builder
	for _, n := range names {
		b.WriteString(p.output[n].String())
	}
	return b.String()
}

// waiting names the packages that have been at work for long.
func (s *summary) waiting(long time.Duration) {
	var names []string
	for n, p := range s.pkgs {
		if d := s.now().Sub(p.started); d >= long {
			names = append(names, fmt.Sprintf("%s (%d s)", n, int(d.Seconds())))
		}
	}
	if len(names) > 0 {
		sort.Strings(names)
		fmt.Fprintf(s.out, "  still at work: %s\n", strings.Join(names, ", "))
	}
}

// reason finds the line of a skipped test's output that says why.
func reason(output string) string {
	for line := range strings.Lines(output) {
		line = strings.TrimSpace(line)
		if _, why, ok := strings.Cut(line, ".go:"); ok {
			_, why, _ = strings.Cut(why, ": ")
			return why
		}
	}
	return "no reason given"
}

func indent(s string) string {
	var b strings.Builder
	for line := range strings.Lines(s) {
		b.WriteString("        " + strings.TrimRight(line, "\n") + "\n")
	}
	return b.String()
}

// watch feeds lines to the summary and now and then says what is still running. It returns when the input ends.
func watch(in io.Reader, s *summary, tick <-chan time.Time, long time.Duration) error {
	lines, failed := make(chan []byte), make(chan error, 1)
	go func() {
		defer close(lines)
		r := bufio.NewReader(in)
		for {
			line, err := r.ReadBytes('\n')
			if len(line) > 0 {
				lines <- line
			}
			if err != nil {
				if err != io.EOF {
					failed <- err
				}
				return
			}
		}
	}()
	for {
		select {
		case line, ok := <-lines:
			if !ok {
				select {
				case err := <-failed:
					return fmt.Errorf("test output: %w", err)
				default:
					return nil
				}
			}
			s.add(line)
		case <-tick:
			s.waiting(long)
		}
	}
}

func main() {
	counts := flag.String("counts", "", "file to write the three counts to")
	flag.Parse()
	const often = 30 * time.Second
	s := newSummary(os.Stdout, time.Now)
	ticker := time.NewTicker(often)
	defer ticker.Stop()
	err := watch(os.Stdin, s, ticker.C, often)
	if err == nil && *counts != "" {
		err = os.WriteFile(*counts, fmt.Appendf(nil, "%d %d %d\n", s.total.passed, s.total.failed, s.total.skipped), 0o644)
	}
	if err != nil {
		fmt.Fprintf(os.Stderr, "testsum: %v\n", err)
		os.Exit(1)
	}
	if s.total.failed > 0 {
		os.Exit(1)
	}
}
