package laws

import (
	"flag"
	"fmt"
	"io/fs"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"chargewright/design"
	"chargewright/examples"
	"chargewright/finding"
	"chargewright/invent"
	"chargewright/job"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/standard"
	"chargewright/works"
)

// sample is one job that laws are held to.
type sample struct {
	name    string
	entries []job.Entry
	seed    uint64
}

// wholly asks for all the drawn jobs that the list of what is known was made with:
// it takes a quarter of an hour on two cores. Without it a fifth of them is tried.
var wholly = flag.Bool("every", false, "try every drawn job, and say what is listed and breaks nothing any more")

// tried returns the example jobs and so many drawn ones; fewer where time is short.
func tried(t *testing.T, drawn int, size invent.Options) []sample {
	t.Helper()
	switch {
	case testing.Short():
		drawn /= 50
	case !*wholly:
		drawn /= 5
	}
	var out []sample
	err := fs.WalkDir(examples.Files, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || testing.Short() && path != "terrace/job.yaml" {
			return err
		}
		text, err := fs.ReadFile(examples.Files, path)
		if err != nil {
			return err
		}
		file, _ := job.ReadRecord(path, text)
		out = append(out, sample{name: path, entries: file.Record().Entries()})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for seed := range uint64(drawn) {
		r := invent.Rand(seed)
		o := invent.Any(r)
		o.Boards, o.Points, o.Readings = size.Boards, size.Points, o.Readings && size.Readings
		out = append(out, sample{fmt.Sprintf("invented %d", seed), invent.Job(r, o), seed + 33})
	}
	return out
}

// each asks something of every sample, several at once, and returns what was
// answered in their order.
func each[T any](all []sample, ask func(n int, s sample) T) []T {
	out := make([]T, len(all))
	var next atomic.Int64
	var busy sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		busy.Go(func() {
			for n := int(next.Add(1)) - 1; n < len(all); n = int(next.Add(1)) - 1 {
				out[n] = ask(n, all[n])
			}
		})
	}
	busy.Wait()
	return out
}

// laid folds entries and lays the installation out; nil where they are no job,
// of which the person is told.
func laid(t testing.TB, entries []job.Entry) *model.Model {
	t.Helper()
	j, err := job.NewRecord(entries...).Job("job")
	problems, _ := err.(job.Problems)
	for _, p := range problems {
		if !p.Unfinished() {
			return nil
		}
	}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		panic(err) // our own tables
	}
	return model.New(j, rules)
}

// asked is one requirement of one part: what a finding is about, whichever leg
// of a circuit turns out to be the worst.
type asked struct{ key, about string }

// aboutOf is the path of what a finding is about; of a leg, its circuit's.
func aboutOf(f finding.Finding) string {
	names := works.NamesOf(f.Path)
	if len(names) > 2 && names[2] == "legs" {
		return works.Under("circuits", names[1])
	}
	return f.Path + f.Against
}

// checked returns the findings of a job and of its readings.
func checked(m *model.Model) []finding.Finding {
	read, err := prove.Judge(m)
	if err != nil {
		panic(err) // our own tables
	}
	return append(design.Check(m), read...)
}

// judged returns the verdict of each requirement and of each reading.
func judged(t testing.TB, m *model.Model) map[asked]finding.Verdict {
	t.Helper()
	return worst(checked(m))
}

// worst returns the verdict of each requirement; of one that is asked several
// times, the verdict a reader must see first.
func worst(found []finding.Finding) map[asked]finding.Verdict {
	out := map[asked]finding.Verdict{}
	for _, f := range found {
		at := asked{f.Key, aboutOf(f)}
		if was, ok := out[at]; ok {
			f.Verdict, _ = finding.Worst([]finding.Finding{{Verdict: was}, f})
		}
		out[at] = f.Verdict
	}
	return out
}

// some returns entries of a job, each of a field of its own: all the fields of
// an example, a few of a drawn job, since there are many of those.
func some(s sample) []int {
	entries, most := s.entries, len(s.entries)
	if strings.HasPrefix(s.name, "invented") {
		most = 4
	}
	r := invent.Rand(s.seed)
	var out []int
	seen := map[string]bool{}
	for _, i := range r.Perm(len(entries)) {
		if at := invent.Pattern(entries[i].Path); !seen[at] && len(out) < most {
			seen[at] = true
			out = append(out, i)
		}
	}
	slices.Sort(out)
	return out
}

// with returns the entries with one fact changed, put in, or taken out where
// the value is empty.
func with(entries []job.Entry, path, value string) []job.Entry {
	out := slices.DeleteFunc(slices.Clone(entries), func(e job.Entry) bool { return e.Path == path })
	if value != "" {
		out = append(out, job.Entry{Path: path, Value: value})
	}
	return out
}

// value returns what the entries say at a path.
func value(entries []job.Entry, path string) string {
	for _, e := range entries {
		if e.Path == path {
			return e.Value
		}
	}
	return ""
}

// every returns the paths of the entries that a pattern fits.
func every(entries []job.Entry, pattern string) []string {
	var out []string
	for _, e := range entries {
		if invent.Pattern(e.Path) == pattern {
			out = append(out, e.Path)
		}
	}
	return out
}
