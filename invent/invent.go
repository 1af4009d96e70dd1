// Package invent draws jobs at random, for tests that hold a law to everything
// and not to examples: sound ones, in which an electrician would find little to
// say; partial ones, of which facts were left out; and wild ones, whose facts
// are any the record can hold. The same seed draws the same job.
//
// A job is drawn as the record has it: entries, each one fact at one path. A
// test can take one out, change one or put one in, and fold the rest.
package invent

import (
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"

	"chargewright/job"
	"chargewright/standard"
	"chargewright/works"
)

// Options says how a job is drawn. The zero value draws a sound one, complete.
type Options struct {
	Boards, Points int     // at most; 0 stands for 3 and 12
	Missing        float64 // share of the facts that nobody entered
	Wild           float64 // share of the facts that are any the record can hold
	Readings       bool    // what was measured too: by the wiring within a meter's error, and anything where wild
}

// The ways tests draw jobs.
var (
	Sound   = Options{Readings: true}
	Partial = Options{Readings: true, Missing: 0.15}
	Wild    = Options{Readings: true, Missing: 0.05, Wild: 0.25}
)

// Any returns one of the three, drawn.
func Any(r *rand.Rand) Options { return []Options{Sound, Partial, Wild}[r.IntN(3)] }

// Rand returns the source that a seed stands for.
func Rand(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0x63686172676577)) }

// Job draws a job and returns its entries. What they fold to reads without a
// fault; what is still missing is no fault.
func Job(r *rand.Rand, o Options) []job.Entry {
	if o.Boards == 0 {
		o.Boards = 3
	}
	if o.Points == 0 {
		o.Points = 12
	}
	rules, err := standard.Open(standard.DefaultEdition())
	if err != nil {
		panic("invent: the rulebook cannot be opened: " + err.Error())
	}
	d := &drawer{r: r, o: o, rules: rules, items: map[string]int{}}
	d.job()
	if o.Readings {
		d.readings()
	}
	return d.entries
}

// Read folds entries into a job and its job file. An error is job.Problems.
func Read(entries []job.Entry) (*job.Job, []byte, error) {
	j, err := job.NewRecord(entries...).Job("invented job")
	return j, job.Write(j), err
}

// drawer draws one job.
type drawer struct {
	r       *rand.Rand
	o       Options
	rules   *standard.Rulebook
	entries []job.Entry
	items   map[string]int // of each list, how many there are
	boards  []*board
	runs    []*run
	system  string
	three   bool
	ze      float64 // Ω
	u0      float64 // V
	ambient float64 // °C, of the day
}

// board is what the drawing of circuits needs of a board.
type board struct {
	name   string
	three  bool
	line   string // of a board with one phase
	path   string
	zs     float64 // Ω at 20 °C, from the origin to the board
	shared string  // an RCD that circuits share
	parted bool    // it has such an RCD, used up or not
	ways   int
	from   *board
	amps   float64 // of the points below, per phase
}

// run is one circuit, for the readings at its end.
type run struct {
	to    string
	r1r2  float64 // Ω at 20 °C
	zs    float64 // Ω at 20 °C, of all before it and itself
	point bool
	from  *board
}

func (d *drawer) chance(share float64) bool { return d.r.Float64() < share }

// pick draws one of the words between bars. Numbers with two dots between them
// are a range: "4..25 m".
func (d *drawer) pick(words string) string {
	all := strings.Split(words, "|")
	one := all[d.r.IntN(len(all))]
	low, rest, ranged := strings.Cut(one, "..")
	if !ranged {
		return one
	}
	high, unit, _ := strings.Cut(rest, " ")
	from, err := strconv.ParseFloat(low, 64)
	to, err2 := strconv.ParseFloat(high, 64)
	if err != nil || err2 != nil {
		return one
	}
	places := 0
	if _, after, ok := strings.Cut(low, "."); ok {
		places = len(after)
	}
	return strings.TrimSpace(strconv.FormatFloat(from+(to-from)*d.r.Float64(), 'f', places, 64) + " " + unit)
}

// number returns the number a value starts with.
func number(value string) float64 {
	n, _, _ := strings.Cut(value, " ")
	f, err := strconv.ParseFloat(n, 64)
	if err != nil {
		panic("invent: no number: " + value)
	}
	return f
}

// add puts an entry in.
func (d *drawer) add(path, value string) {
	d.entries = append(d.entries, job.Entry{Path: path, Value: value})
}

// item adds an item to a list and returns its path.
func (d *drawer) item(list, name string) string {
	path := works.Under(list, name)
	d.items[list]++
	d.add(path, strconv.Itoa(d.items[list]))
	return path
}

// put enters facts under a path, each a field and the words it is drawn from.
// A fact may be left out, or drawn from everything the field can hold.
func (d *drawer) put(path string, facts ...string) {
	for i := 0; i < len(facts); i += 2 {
		d.fact(path, facts[i], d.pick(facts[i+1]))
	}
}

func (d *drawer) fact(path, field, value string) {
	at := path + "/" + field
	if path == "" {
		at = field
	}
	switch {
	case value == "" || d.chance(d.o.Missing):
	case d.chance(d.o.Wild):
		if s := slotAt(at); s != nil && len(s.choices) > 0 {
			value = s.choices[d.r.IntN(len(s.choices))]
		}
		fallthrough
	default:
		d.add(at, value)
	}
}

// link enters a fact that holds the record together, always and as it is.
func (d *drawer) link(path, field, value string) { d.add(path+"/"+field, value) }

// stray puts facts in that no sound job has there: any field of what exists.
func (d *drawer) stray(path, pattern string) {
	if d.o.Wild == 0 {
		return
	}
	said := map[string]bool{}
	for _, e := range d.entries {
		said[e.Path] = true
	}
	for _, s := range slotsUnder(pattern) {
		if at := path + strings.TrimPrefix(s.pattern, pattern); !said[at] && len(s.choices) > 0 && d.chance(d.o.Wild/2) {
			d.add(at, s.choices[d.r.IntN(len(s.choices))])
		}
	}
}

func (d *drawer) job() {
	d.add("job", fmt.Sprintf("Invented job %d", d.r.IntN(1e6)))
	d.add("invented", "yes")
	d.put("", "edition", string(standard.DefaultEdition()), "stage", "survey|design|dead|live|commission|hand over")
	d.site()
	d.supply()
	d.papers()
	d.sources()
}
