package dustwright_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// source is one Go file of the project.
type source struct {
	path string // relative to the root, with slashes
	dir  string // its package's path below the root, "." for the root
	test bool
	ast  *ast.File
	fset *token.FileSet
	text []byte
}

// imports lists the paths the file imports.
func (s source) imports() []string {
	var out []string
	for _, i := range s.ast.Imports {
		if path, err := strconv.Unquote(i.Path.Value); err == nil {
			out = append(out, path)
		}
	}
	return out
}

// at names a place in the file.
func (s source) at(pos token.Pos) string {
	return s.path + ":" + strconv.Itoa(s.fset.Position(pos).Line)
}

// walk visits every file below the root that is neither hidden nor large nor somebody else's.
func walk(t *testing.T, visit func(path string, text []byte)) {
	t.Helper()
	const large = 4 << 20
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if name := d.Name(); path != "." && (strings.HasPrefix(name, ".") && name != ".ci" || name == "node_modules") {
				return filepath.SkipDir
			}
			return nil
		}
		info, err := d.Info()
		if err != nil || !info.Mode().IsRegular() || info.Size() > large {
			return err
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		visit(filepath.ToSlash(path), text)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// parsed keeps what sources found: the tests share it and don't change it.
var parsed []source

// sources parses every Go file below the root.
func sources(t *testing.T) []source {
	t.Helper()
	if parsed != nil {
		return parsed
	}
	var all []source
	fset := token.NewFileSet()
	walk(t, func(name string, text []byte) {
		if !strings.HasSuffix(name, ".go") || strings.Contains(name, "testdata/") {
			return
		}
		file, err := parser.ParseFile(fset, name, text, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, source{path: name, dir: path.Dir(name), test: strings.HasSuffix(name, "_test.go"), ast: file, fset: fset, text: text})
	})
	if len(all) < 50 {
		t.Fatalf("only %d Go files found: the walk is broken", len(all))
	}
	parsed = all
	return all
}

// head returns the first element of a package path: rules hold for a whole tree.
func head(dir string) string {
	first, _, _ := strings.Cut(dir, "/")
	return first
}
