package dustwright_test

import (
	"go/ast"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// The rule (ARCHITECTURE.md repeats it). An exported function or method of a physics package or of collector that has a
// number or a quantity in its signature states in its comment:
//   - its own name first;
//   - a unit in square brackets such as [Pa] or [-] when a plain number is in the signature (quantity types say theirs);
//   - "Source:" with document and place, or one of the words for having none (see noDocument), when the package is
//     physics and the function computes; New... only keeps what it is given;
//   - the error by name, or the word error, when it returns one;
//   - what NaN does, when it takes a number or quantity, unless the package comment says it for the whole package.
//
// Methods that only hand back what was put in (accessors) say so with the word "given" or "returns the".
var (
	unitInBrackets = regexp.MustCompile(`\[[^\]\n]+\]`)
	noDocument     = regexp.MustCompile(`(?i)common practice, no source|from memory|by definition|definition, no document|arithmetic`)
	errorNamed     = regexp.MustCompile(`\bErr[A-Z]\w*|(?i)\berrors?\b|\bfaults?\b|\*\w*error\b|\bfails?\b`)
	sourceNamed    = regexp.MustCompile(`\bSource\b[^.]*:|\b[Ss]ource as\b`)
)

// documented are the packages whose comments are contracts.
var documented = append(strings.Fields(physics), "collector")

func TestPhysicsDocComments(t *testing.T) {
	all := sources(t)
	naNForAll := map[string]bool{}
	for _, s := range all {
		if !s.test && s.ast.Doc != nil && strings.Contains(s.ast.Doc.Text(), "NaN") {
			naNForAll[s.dir] = true
		}
	}
	for _, s := range all {
		if s.test || !slices.Contains(documented, s.dir) {
			continue
		}
		for _, d := range s.ast.Decls {
			f, ok := d.(*ast.FuncDecl)
			if !ok || !f.Name.IsExported() || !onExportedType(f) {
				continue
			}
			for _, missing := range complaints(f, s.dir, naNForAll[s.dir]) {
				t.Errorf("%s: %s: %s", s.at(f.Pos()), f.Name.Name, missing)
			}
		}
	}
}

// complaints lists what the function's comment lacks.
func complaints(f *ast.FuncDecl, dir string, naNForAll bool) []string {
	takesNumber, takesQuantity := measures(f.Type.Params)
	givesNumber, givesQuantity := measures(f.Type.Results)
	takes, gives := takesNumber || takesQuantity, givesNumber || givesQuantity
	if !takes && !gives {
		return nil
	}
	doc := f.Doc.Text()
	if !strings.HasPrefix(doc, f.Name.Name+" ") {
		return []string{"the comment must begin with its name"}
	}
	var out []string
	if (takesNumber || givesNumber) && !unitInBrackets.MatchString(doc) {
		out = append(out, "a plain number in the signature and no unit in brackets, such as [Pa] or [-]")
	}
	made := strings.HasPrefix(f.Name.Name, "New")
	accessor := !takes && (strings.Contains(doc, "given") || strings.Contains(doc, "returns the"))
	physical := slices.Contains(strings.Fields(physics), dir)
	if physical && !accessor && !made && !sourceNamed.MatchString(doc) && !noDocument.MatchString(doc) {
		out = append(out, "no \"Source:\" line, nor a word that there is no document")
	}
	if returnsError(f) && !errorNamed.MatchString(doc) {
		out = append(out, "returns an error and names none")
	}
	if takes && !naNForAll && !strings.Contains(doc, "NaN") {
		out = append(out, "does not say what NaN does")
	}
	return out
}

// onExportedType tells functions, and methods whose receiver can be seen outside.
func onExportedType(f *ast.FuncDecl) bool {
	if f.Recv == nil || len(f.Recv.List) == 0 {
		return true
	}
	typ := f.Recv.List[0].Type
	if star, ok := typ.(*ast.StarExpr); ok {
		typ = star.X
	}
	id, ok := typ.(*ast.Ident)
	return !ok || id.IsExported()
}

// measures tells whether a field list holds float64 or a type of package unit, also in slices and arrays.
func measures(fields *ast.FieldList) (number, quantity bool) {
	if fields == nil {
		return false, false
	}
	for _, f := range fields.List {
		typ := f.Type
		if e, ok := typ.(*ast.Ellipsis); ok {
			typ = e.Elt
		}
		for {
			arr, ok := typ.(*ast.ArrayType)
			if !ok {
				break
			}
			typ = arr.Elt
		}
		switch x := typ.(type) {
		case *ast.Ident:
			number = number || x.Name == "float64"
		case *ast.SelectorExpr:
			id, ok := x.X.(*ast.Ident)
			quantity = quantity || (ok && id.Name == "unit" && x.Sel.Name != "System" && x.Sel.Name != "Kind")
		}
	}
	return number, quantity
}

func returnsError(f *ast.FuncDecl) bool {
	if f.Type.Results == nil {
		return false
	}
	for _, r := range f.Type.Results.List {
		if id, ok := r.Type.(*ast.Ident); ok && id.Name == "error" {
			return true
		}
	}
	return false
}

// A package of more than mapLeast files says in its comment, under mapTitle, where to look; such a map names every file there is,
// and none that is not.
const (
	mapLeast = 30
	mapTitle = "# Where to look"
)

var fileNamed = regexp.MustCompile(`[\w-]+\.(go|csv|toml)\b`)

func TestMapsNameEveryFile(t *testing.T) {
	files, maps := map[string][]string{}, map[string]string{}
	for _, s := range sources(t) {
		if s.test {
			continue
		}
		files[s.dir] = append(files[s.dir], path.Base(s.path))
		if doc := s.ast.Doc.Text(); strings.Contains(doc, mapTitle) {
			_, maps[s.dir], _ = strings.Cut(doc, mapTitle)
		}
	}
	if len(maps) == 0 {
		t.Fatal("no package has a map")
	}
	for dir, names := range files {
		if maps[dir] == "" {
			if len(names) > mapLeast {
				t.Errorf("%s has %d files and no map: its comment wants %q", dir, len(names), mapTitle)
			}
			continue
		}
		named := fileNamed.FindAllString(maps[dir], -1)
		for _, f := range names {
			if f != "doc.go" && !slices.Contains(named, f) {
				t.Errorf("the map of %s does not name %s", dir, f)
			}
		}
		for _, f := range named {
			if _, err := os.Stat(filepath.Join(dir, f)); err != nil {
				t.Errorf("the map of %s names %s, which is not there", dir, f)
			}
		}
	}
}
