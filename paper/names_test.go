package paper

import (
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"chargewright/design"
	"chargewright/invent"
	"chargewright/job"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/standard"
)

// TestAPaperReadsNoName: whatever the parts of a job are called, each paper says
// the same of them but for the names. A name that another holds, or that has a
// sign of a sentence or of a path in it, is still one name.
func TestAPaperReadsNoName(t *testing.T) {
	jobs := map[string][]job.Entry{}
	names := []string{"bakery/complete.yaml", "pool/complete.yaml", "terrace/complete.yaml"}
	drawn := 200
	if testing.Short() {
		names, drawn = names[:1], 4
	}
	for _, name := range names {
		text, err := os.ReadFile("../examples/" + name)
		if err != nil {
			t.Fatal(err)
		}
		file, _ := job.ReadRecord(name, text)
		jobs[name] = file.Record().Entries()
	}
	for seed := range uint64(drawn) {
		r := invent.Rand(seed)
		o := invent.Any(r)
		o.Boards, o.Points = 2, 3
		jobs[fmt.Sprintf("invented %d", seed)] = invent.Job(r, o)
	}
	differ := map[string]string{}
	for name, entries := range jobs {
		plain, awkward := given(func(n int) string { return fmt.Sprintf("Q%03dq", n) }), given(func(n int) string {
			return strings.Repeat("Q", n/4+1) + []string{"q", ", phases q", "/leg q", ": ~ not known; q"}[n%4]
		})
		one, two := papersOf(t, invent.Renamed(entries, plain.name)), papersOf(t, invent.Renamed(entries, awkward.name))
		if (one == nil) != (two == nil) {
			t.Errorf("%s is a job under some names, and none under others", name)
			continue
		}
		var pairs []string
		for was, is := range plain.by {
			pairs = append(pairs, is, awkward.by[was])
		}
		other := strings.NewReplacer(pairs...)
		for paper, text := range one {
			a, b := strings.Split(other.Replace(text), "\n"), strings.Split(two[paper], "\n")
			for i := range min(len(a), len(b)) {
				if a[i] != b[i] {
					differ[paper] = fmt.Sprintf("%s, %s, line %d:\n%s\nand under other names:\n%s", name, paper, i+1, a[i], b[i])
					break
				}
			}
			if differ[paper] == "" && len(a) != len(b) {
				differ[paper] = fmt.Sprintf("%s, %s: %d lines, and %d under other names", name, paper, len(a), len(b))
			}
		}
	}
	for _, says := range differ {
		t.Error(says)
	}
}

// giving gives names, the same one to the same.
type giving struct {
	by  map[string]string
	nth func(int) string
}

func given(nth func(int) string) *giving { return &giving{map[string]string{}, nth} }

func (g *giving) name(was string) string {
	if g.by[was] == "" {
		g.by[was] = g.nth(len(g.by))
	}
	return g.by[was]
}

// pictureID is what a picture is known by within a file, made of letters of a name.
var pictureID = regexp.MustCompile(`picture [^ ]*:`)

// byLength is the numbers of pages, which long names add to.
var byLength = regexp.MustCompile(`pages? \d+( to \d+)?|\d+ pages?`)

// papersOf is the papers of a job as text; nil where the entries are no job.
func papersOf(t *testing.T, entries []job.Entry) map[string]string {
	t.Helper()
	j, err := job.NewRecord(entries...).Job("job")
	if problems, _ := err.(job.Problems); slices.ContainsFunc(problems, func(p job.Problem) bool { return !p.Unfinished() }) {
		return nil
	}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		t.Fatal(err)
	}
	m := model.New(j, rules)
	found := design.Check(m)
	names, docs := documents(packed{"", m, found, prove.Expect(m)})
	out := map[string]string{}
	for i, d := range docs {
		d.Made = time.Time{}
		out[names[i]] = byLength.ReplaceAllString(pictureID.ReplaceAllString(text(d), "picture:"), "pages")
	}
	// How many steps the summary has room for is a matter of how long names are.
	out["job-summary"] = ""
	for _, step := range nextSteps(m.Job, found) {
		out["job-summary"] += fmt.Sprintln(step)
	}
	return out
}
