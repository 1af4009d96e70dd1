package paper

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"chargewright/job"
	"chargewright/works"
)

// answers is everything that is said of a job: findings, expectations, papers.
// The part that is cheap comes first.
func answers(t *testing.T, j *job.Job) (cheap, papers string) {
	t.Helper()
	p := of(t, "every field", j)
	var b strings.Builder
	for _, f := range p.fs {
		fmt.Fprintln(&b, f.Clause, f.Subject, f.What, f.Value, f.Limit, f.Verdict, f.Why.String(), f.Next)
	}
	for _, e := range p.es {
		fmt.Fprintf(&b, "%+v\n", e)
	}
	cheap = b.String()
	b.Reset()
	_, docs := documents(p)
	for _, d := range append(docs, commissioning(p.m, made)) {
		b.WriteString(text(d))
	}
	return cheap, b.String()
}

// trials are values to try in a field: every word, a number or two, words.
func trials(f *job.Field) []string {
	switch f.Kind {
	case job.Quantity:
		out := []string{f.Like}
		for _, bound := range []string{f.Least, f.Most} {
			if bound != "" {
				out = append(out, bound)
			}
		}
		return append(out, "1", "2.5", "16")
	case job.Number:
		return []string{"1", "0.5", "3", "20"}
	case job.Day, job.Time:
		return []string{"2026-11-20", "2030-01-02"}
	case job.Text, "":
		return []string{"words of a trial", "IP31", "IK02"}
	}
	return f.Words
}

// notShown is the fields that the trials of this test do not show to be read:
// nothing reads them, or only beside facts that the examples lack (a run, a
// photo on the papers, a part of the very name). Each that goes from here by a
// reader, a better trial or its removal is one thing less to wonder about; none
// may be added.
var notShown = []string{
	"supply/earthing conductor/protection", "supply/electrode", "supply/neighbours/*/name",
	"supply/neighbours/*/phases", "supply/neighbours/*/current", "supply/neighbours/*/electrode",
	"boards/*/fed from", "boards/*/ambient",
	"loads/*/board",
	"points/*/earthing/earthing conductor/length",
	"points/*/earthing/earthing conductor/connected", "judgements/*/about", "departures/*/about",
	"circuits/*/from", "circuits/*/to", "circuits/*/shared RCD",
	"points/*/serial", "points/*/tether length",
	"points/*/earthing/electrode", "points/*/clamp lead", "points/*/limiter",
	"points/*/mounting/place",
	"limiters/*/at",
	"readings/*/at", "readings/*/function", "readings/*/instrument",
	"readings/*/leads nulled", "readings/*/temperature",
	"runs/*/point", "runs/*/program", "runs/*/protocol",
	"runs/*/pretended", "runs/*/who", "runs/*/when",
	"runs/*/began", "runs/*/ended", "runs/*/link",
	"runs/*/left out", "runs/*/serial", "runs/*/firmware",
	"runs/*/note", "runs/*/steps/*/step", "runs/*/steps/*/what",
	"runs/*/steps/*/verdict", "runs/*/steps/*/value", "runs/*/steps/*/limit",
	"runs/*/steps/*/observation", "runs/*/steps/*/next", "runs/*/steps/*/rule",
	"runs/*/settings/*/name", "runs/*/settings/*/before", "runs/*/settings/*/after",
	"runs/*/settings/*/why",
	"limitations/*/at",
	"certificate/risk assessment", "certificate/signing/*/name",
	"notes/*/about", "notes/*/text",
	"photos/*/name", "photos/*/of", "photos/*/caption",
	"photos/*/on papers", "photos/*/taken", "photos/*/by",
	"photos/*/SHA-256",
	"sources/*/board", "sources/*/on circuit", "sources/*/through point", "sources/*/charged as", "sources/*/electrode",
	"notification/installer", "readings/*/earlier stands", "points/*/mounting/top",
}

// TestEveryFieldCounts: for each field of the record, but those not shown yet,
// there is a value that changes a finding, an expectation or a paper. What
// nobody reads is asked of the electrician for nothing.
func TestEveryFieldCounts(t *testing.T) {
	if testing.Short() {
		t.Skip("lays out every paper some hundred times")
	}
	var records []*job.Record
	var before [][2]string
	for _, name := range []string{"bakery/complete.yaml", "pool/complete.yaml", "farm/open.yaml"} {
		file, err := os.ReadFile("../examples/" + name)
		if err != nil {
			t.Fatal(err)
		}
		f, _ := job.ReadRecord(name, file)
		r := f.Record()
		j, _ := r.Job("")
		cheap, papers := answers(t, j)
		records, before = append(records, r), append(before, [2]string{cheap, papers})
	}
	for _, f := range job.Fields() {
		if !changesSomething(t, f, records, before) {
			if !slices.Contains(notShown, f.Path) {
				t.Errorf("%s (%s): nothing reads it", f.Path, f.Help)
			}
		} else if slices.Contains(notShown, f.Path) {
			t.Errorf("%s is read, and stands among those that are not shown to be", f.Path)
		}
	}
}

func changesSomething(t *testing.T, f *job.Field, records []*job.Record, before [][2]string) bool {
	for n, r := range records {
		for _, path := range placesOf(r, f) {
			for _, value := range trials(f) {
				at := path
				if f.List() {
					at, value = works.Under(path, value), "1"
				}
				if r.Now(at).Value == value {
					continue
				}
				entries := []job.Entry{{Path: at, Value: value, Follows: r.Shown(at)}}
				j, err := job.Merge(r, job.NewRecord(entries...)).Job("")
				if err != nil && strings.Contains(err.Error(), value) {
					continue // refused, and said so
				}
				cheap, papers := answers(t, j)
				if cheap != before[n][0] || papers != before[n][1] {
					return true
				}
			}
		}
	}
	return false
}

// placesOf are up to two places of a field in a record, in a new item where a
// list is empty. A name is tried in a new item.
func placesOf(r *job.Record, f *job.Field) []string {
	at := []string{""}
	names := strings.Split(f.Path, "/")
	for _, name := range names {
		var next []string
		for _, path := range at {
			if name != "*" {
				next = append(next, works.Under(path, name))
				continue
			}
			items := r.Items(path)
			if len(items) == 0 {
				items = []string{"a new one"}
			}
			for _, item := range items[:min(2, len(items))] {
				next = append(next, works.Under(path, item))
			}
		}
		at = next
	}
	if part := job.PartAt(strings.Join(names[:max(len(names)-1, 0)], "/")); part != nil && part.Key == f {
		return []string{strings.Join(slices.Concat(strings.Split(at[0], "/")[:len(names)-2], []string{"a new one"}), "/")}
	}
	return at[:min(3, len(at))]
}
