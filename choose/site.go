package choose

// The site as the search sees it: a copy of the job that choices are put into,
// and the tree of circuits with what is open in each.

import (
	"fmt"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/works"
)

type site struct {
	rules     *standard.Rulebook
	catalogue *Catalogue
	aim       Aim
	job       *job.Job
	model     *model.Model
	out       *Outcome
	supply    supply
	circuits  []*circuit // each after the one that feeds it
	roots     []*circuit
	struck    map[string]bool // pairs the whole model refused
	calls     int             // of the search so far, which tells one from another
	gaveUp    bool            // before everything was tried
	worked    int             // options that the search for fewest materials looked at, over all its winners
}

func newSite(j *job.Job, rules *standard.Rulebook, c *Catalogue, aim Aim) *site {
	s := &site{rules: rules, catalogue: c, aim: aim, job: copyOf(j), out: empty(aim), struck: map[string]bool{}}
	s.model = model.New(s.job, rules)
	return s
}

// empty returns an outcome whose lists are there, with nothing in them.
func empty(aim Aim) *Outcome {
	return &Outcome{Aim: aim, Circuits: []CircuitChoice{}, Phases: []PhaseChoice{}, Boards: []BoardChoice{}, Surge: []SurgeChoice{}, Earthing: []Measure{},
		Lacks: finding.Lacks{}, Assumed: []string{}, Settings: []Setting{}}
}

// copyOf copies what choices may change.
func copyOf(j *job.Job) *job.Job {
	c := *j
	c.Electrodes = slices.Clone(j.Electrodes)
	c.Boards = slices.Clone(j.Boards)
	for i := range c.Boards {
		c.Boards[i].Surge = slices.Clone(j.Boards[i].Surge)
	}
	c.Circuits = slices.Clone(j.Circuits)
	c.Points = slices.Clone(j.Points)
	c.Limiters = slices.Clone(j.Limiters)
	return &c
}

// pathTo returns the path of a field, names escaped as job paths have it.
func pathTo(names ...string) string {
	escape := strings.NewReplacer("~", "~0", "/", "~1")
	for i, n := range names {
		names[i] = escape.Replace(n)
	}
	return strings.Join(names, "/")
}

// put notes a setting for the job file.
func (s *site) put(value string, names ...string) {
	s.out.Settings = append(s.out.Settings, Setting{pathTo(names...), value})
}

// exact prints a quantity so that it reads back as the same number.
func exact[Q interface{ Exact() string }](q Q) string { return q.Exact() }

// fill puts a choice into a field that is open, and notes it.
func fill[T any](s *site, into *quantity.Maybe[T], value T, text string, names ...string) {
	if into.IsKnown() {
		return
	}
	*into = quantity.Known(value)
	s.put(text, names...)
}

// lack notes what keeps a choice from being made, once.
func (s *site) lack(lacks finding.Lacks) { s.out.Lacks = finding.Gather(s.out.Lacks, lacks) }

func (s *site) assume(format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	if !slices.Contains(s.out.Assumed, text) {
		s.out.Assumed = append(s.out.Assumed, text)
	}
}

// limit returns a single figure of the rulebook.
func (s *site) limit(key string) float64 {
	v, _, err := s.rules.Limit(key)
	if err != nil {
		s.lack(finding.Cannot(fmt.Sprintf("rulebook: %v", err)))
	}
	return v
}

// remake makes the model again after choices were put into the job.
func (s *site) remake() { s.model = model.New(s.job, s.rules) }

// record returns the job's own record of a name in a list.
func recordOf[T any](list []T, is func(*T) bool) *T {
	for i := range list {
		if is(&list[i]) {
			return &list[i]
		}
	}
	return nil
}

func (s *site) circuitRecord(name string) *works.Circuit {
	return recordOf(s.job.Circuits, func(c *works.Circuit) bool { return c.Name == name })
}

func (s *site) pointRecord(name string) *works.Point {
	return recordOf(s.job.Points, func(p *works.Point) bool { return p.Name == name })
}

func (s *site) boardRecord(name string) *works.Board {
	return recordOf(s.job.Boards, func(b *works.Board) bool { return b.Name == name })
}
