package chargewright

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// parsing is where texts are taken apart, and why that reads no sentence of ours.
//
//go:embed testdata/parsing.csv
var parsing string

// asksText are the calls that find something out from a text; asksWords the
// fields that hold words for a person, and are never compared with some.
var (
	asksText  = regexp.MustCompile(`^(strings|bytes)\.(Contains|HasPrefix|HasSuffix|Cut|Index|LastIndex|EqualFold|Split|Fields)|^regexp\.(Must)?Compile$`)
	asksWords = regexp.MustCompile(`\.(Subject|What|Why|Next|Note|Reason|Function|Seen|Says|Label|Text|Role|Hazard|About|Extent|Remark|Acts|Danger)(\.String)?$`)
)

// TestNoSentenceIsReadForAFact: what a room has to tell another it tells as a fact.
// Whoever looks for words in a text is either where a text comes in, typed or
// from another's program, or guesses at what one of us said; a guess at a name
// or a note once cleared the wrong charge point. What only trims a text for the
// eye decides nothing and is left out, as is the tidying of spaces.
func TestNoSentenceIsReadForAFact(t *testing.T) {
	read := csv.NewReader(strings.NewReader(parsing))
	read.Comment = '#'
	rows, err := read.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	used := map[string]bool{}
	allowed := func(file, fn string) bool {
		dir := filepath.Dir(file) + "/"
		for _, where := range []string{dir, file, file + " " + fn} {
			if slices.ContainsFunc(rows, func(row []string) bool { return row[0] == where && row[1] != "" }) {
				used[where] = true
				return true
			}
		}
		return false
	}
	err = filepath.WalkDir(".", func(file string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(file, ".go") || strings.HasSuffix(file, "_test.go") {
			return err
		}
		set := token.NewFileSet()
		f, err := parser.ParseFile(set, file, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for _, decl := range f.Decls {
			fn := "-"
			if d, ok := decl.(*ast.FuncDecl); ok {
				fn = d.Name.Name
			}
			ast.Inspect(decl, func(n ast.Node) bool {
				if asked, is := readsText(n); asked != "" && !allowed(file, fn) {
					t.Errorf("%s: %s asks a text by %s: hand the fact itself on, or say in testdata/parsing.csv under %q what text comes in there",
						set.Position(n.Pos()), fn, asked, file+" "+fn)
				} else if is == tidying {
					return false
				}
				return true
			})
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows {
		if !used[row[0]] {
			t.Errorf("testdata/parsing.csv allows %s, where nothing is taken apart any more: take the row out", row[0])
		}
	}
}

// tidying is strings.Join(strings.Fields(s), " ").
const tidying = "tidying"

// readsText returns what of a node finds something out from a text.
func readsText(n ast.Node) (asked, is string) {
	words := func(e ast.Expr) bool {
		l, ok := e.(*ast.BasicLit)
		return ok && l.Kind == token.STRING && len(l.Value) > 2
	}
	switch n := n.(type) {
	case *ast.CallExpr:
		name := dotted(n.Fun)
		if name == "strings.Join" && len(n.Args) > 0 {
			if inner, ok := n.Args[0].(*ast.CallExpr); ok && dotted(inner.Fun) == "strings.Fields" {
				return "", tidying
			}
		}
		if asksText.MatchString(name) {
			return name, ""
		}
	case *ast.BinaryExpr:
		if n.Op == token.EQL || n.Op == token.NEQ {
			for _, side := range [][2]ast.Expr{{n.X, n.Y}, {n.Y, n.X}} {
				if name := dotted(side[0]); asksWords.MatchString(name) && words(side[1]) {
					return fmt.Sprintf("%s %v %s", name, n.Op, side[1].(*ast.BasicLit).Value), ""
				}
			}
		}
	case *ast.SwitchStmt:
		if name := dotted(n.Tag); n.Tag != nil && asksWords.MatchString(name) {
			return "switch " + name, ""
		}
	}
	return "", ""
}

// dotted is a selector as it is written, "f.Why.String"; what stands before an
// index or a call is left out.
func dotted(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.SelectorExpr:
		return dotted(e.X) + "." + e.Sel.Name
	case *ast.CallExpr:
		return dotted(e.Fun)
	}
	return ""
}

// TestASentenceReadIsFound: the law above sees each way of guessing at words.
func TestASentenceReadIsFound(t *testing.T) {
	for text, found := range map[string]bool{
		`strings.Contains(f.Why.String(), "lost")`:     true,
		`strings.HasPrefix(r.Note, "parallel")`:        true,
		`strings.Fields(p.Role)`:                       true,
		`strings.Join(strings.Fields(p.Caption), " ")`: false,
		`strings.TrimSuffix(text, ", ")`:               false,
		`regexp.MustCompile("CP[0-9]+")`:               true,
		`f.Why.String() == "not known"`:                true,
		`"nulled" != r.Function`:                       true,
		`f.Note == ""`:                                 false,
		`f.Key == "supply Ze"`:                         false,
	} {
		e, err := parser.ParseExpr(text)
		if err != nil {
			t.Fatal(err)
		}
		got := false
		ast.Inspect(e, func(n ast.Node) bool {
			asked, is := readsText(n)
			got = got || asked != ""
			return is != tidying
		})
		if got != found {
			t.Errorf("%s reads a sentence: %v, want %v", text, got, found)
		}
	}
}
