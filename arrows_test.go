package dustwright_test

import (
	"bytes"
	"go/ast"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// arrow says what a package, with everything below it, may import of the project, and why no more.
type arrow struct {
	may string // package trees, space-separated; unit and solve are always allowed, its own tree too
	why string
}

const (
	physics   = "air duct fan filter header"
	machine   = physics + " collector rehearse"
	inference = machine + " sense judge life"
	edge      = "edges know the records and what these contain, never one another: what two of them need belongs in plant or is handed over by cmd"
	onePhysic = "a physics package is one physical thing: what it needs from another comes as an argument"
)

// arrows is the direction of dependencies: physics <- inference <- records <- edges.
var arrows = map[string]arrow{
	"unit":      {"", "a leaf: everything stands on it"},
	"solve":     {"", "a leaf: mathematics, nothing of the trade"},
	"air":       {"", onePhysic},
	"duct":      {"", onePhysic},
	"fan":       {"", onePhysic},
	"filter":    {"", onePhysic},
	"header":    {"", onePhysic},
	"collector": {physics, "one machine is put together from physical things, and knows nothing of time series or people"},
	"rehearse":  {physics + " collector", "the machine run forward; the inference must not see its parameters, nor it the inference"},
	"sense":     {physics + " collector", "features come from readings and the machine's file, not from conclusions"},
	"judge":     {"sense collector", "causes are judged from features; physics reaches it through sense and collector"},
	"life":      {"sense collector rehearse judge", "the future of the drag; of judge only the names of causes"},
	"plant":     {inference, "records are composed of what was concluded; nothing of files, sockets or pages"},
	"store":     {inference + " plant", edge},
	"feed":      {inference + " plant", edge},
	"fleet":     {inference + " plant", edge},
	"web":       {inference + " plant", edge},
	"report":    {inference + " plant", edge},
	"cmd":       {inference + " plant store feed fleet web report", "flags and wiring: the one place that ties the knots"},
	"tools":     {"*", "programs for the developer; nothing imports them"},
	"bench":     {"*", "programs for the developer; nothing imports them but one another"},
	".":         {"", "the root holds no program"},
}

// forbidden are packages of the standard library that a pure function of its arguments does not need.
var forbidden = []string{"time", "os", "os/exec", "net", "net/http", "context", "log", "log/slog", "database/sql", "math/rand"}

const module = "dustwright/"

func TestArrows(t *testing.T) {
	for _, s := range sources(t) {
		rule, known := arrows[head(s.dir)]
		if !known {
			t.Errorf("%s: no row for package %q in the table of arrows_test.go: say what it may import and why", s.path, s.dir)
			continue
		}
		for _, imp := range s.imports() {
			if !strings.HasPrefix(imp, module) {
				continue
			}
			to := strings.TrimPrefix(imp, module)
			switch {
			case strings.HasSuffix(to, "test") && !s.test && !strings.HasSuffix(s.dir, "test") && rule.may != "*":
				t.Errorf("%s imports %s: helpers of tests stay out of the program", s.path, imp)
			case (head(to) == "tools" || head(to) == "bench") && head(to) != head(s.dir) || head(to) == "cmd" && head(s.dir) != "cmd":
				t.Errorf("%s imports %s: nothing imports programs", s.path, imp)
			case !allowed(s, rule, to):
				t.Errorf("%s imports %s, package %s may import only [%s]: %s", s.path, imp, s.dir, rule.may, rule.why)
			}
		}
	}
}

// allowed tells whether a file may import the project's package to. Tests above physics may use anything: they
// compare with hidden truth (rehearse) and run whole paths.
func allowed(s source, rule arrow, to string) bool {
	if h := head(to); h == "unit" || h == "solve" || h == head(s.dir) || rule.may == "*" {
		return h != "solve" || head(s.dir) != "unit" // a leaf does not lean on the other
	}
	if s.test && !isPhysics(s.dir) {
		return true
	}
	return slices.Contains(strings.Fields(rule.may), head(to))
}

// isPhysics includes the two leaves under the physics.
func isPhysics(dir string) bool {
	return slices.Contains(strings.Fields(physics+" unit solve"), head(dir))
}

func TestPhysicsIsPure(t *testing.T) {
	for _, s := range sources(t) {
		if !isPhysics(s.dir) || s.test || strings.HasSuffix(s.dir, "test") {
			continue
		}
		for _, imp := range s.imports() {
			if slices.Contains(forbidden, imp) {
				t.Errorf("%s imports %q: physics is a function of its arguments, without clock, files, network or log", s.path, imp)
			}
		}
	}
}

func TestPackagesAreNamedAndDescribed(t *testing.T) {
	described, name := map[string]bool{}, map[string]string{}
	for _, s := range sources(t) {
		if s.test {
			continue
		}
		pkg := s.ast.Name.Name
		name[s.dir] = pkg
		if s.ast.Doc != nil && (pkg == "main" || strings.HasPrefix(s.ast.Doc.Text(), "Package "+pkg+" ")) {
			described[s.dir] = true
		}
	}
	for dir, pkg := range name {
		if !described[dir] {
			t.Errorf("package %s has no comment that begins %q", dir, "Package "+pkg+" ")
		}
		for _, bad := range []string{"util", "utils", "common", "helper", "helpers", "misc", "base", "shared"} {
			if pkg == bad || path.Base(dir) == bad {
				t.Errorf("package %s: a package is named after what it is about, not %q", dir, bad)
			}
		}
	}
}

func TestSizes(t *testing.T) {
	const fileLines, funcLines, params = 500, 100, 5
	for _, s := range sources(t) {
		if n := strings.Count(string(s.text), "\n"); n > fileLines {
			t.Errorf("%s has %d lines, %d are the most", s.path, n, fileLines)
		}
		for _, d := range s.ast.Decls {
			f, ok := d.(*ast.FuncDecl)
			if !ok {
				continue
			}
			if f.Recv == nil && f.Name.Name == "init" {
				t.Errorf("%s: func init: what must be set up is set up by who needs it", s.at(f.Pos()))
			}
			if s.test {
				continue
			}
			if n := s.fset.Position(f.End()).Line - s.fset.Position(f.Pos()).Line + 1; n > funcLines {
				t.Errorf("%s: %s has %d lines, %d are the most", s.at(f.Pos()), f.Name.Name, n, funcLines)
			}
			if n := arguments(s, f); n > params {
				t.Errorf("%s: %s takes %d arguments, above %d a struct with named fields is due", s.at(f.Pos()), f.Name.Name, n, params)
			}
		}
	}
}

// arguments counts what a function takes; a context comes on top.
func arguments(s source, f *ast.FuncDecl) int {
	n := f.Type.Params.NumFields()
	if n > 0 && strings.HasPrefix(string(s.text[s.fset.Position(f.Type.Params.List[0].Pos()).Offset:]), "ctx context.Context") {
		n--
	}
	return n
}

func TestModuleFile(t *testing.T) {
	text, err := os.ReadFile("go.mod")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		if word, _, _ := strings.Cut(strings.TrimSpace(line), " "); word == "replace" || word == "exclude" {
			t.Errorf("go.mod: %q: the module must build from its requirements alone", strings.TrimSpace(line))
		}
	}
}

// Nothing committed may depend on where one machine keeps it.
func TestNoMachinePaths(t *testing.T) {
	machine := []string{"/wo" + "rk/", "/ro" + "ot/", "/home" + "/"}
	kinds := strings.Fields(".go .md .toml .csv .py .sh .js .css .html .json .yml .case .svg .txt")
	walk(t, func(path string, text []byte) {
		if ext := filepath.Ext(path); ext != "" && !slices.Contains(kinds, ext) {
			return
		}
		for _, p := range machine {
			if bytes.Contains(text, []byte(p)) {
				t.Errorf("%s holds the absolute path %s...", path, p)
			}
		}
	})
}
