package prove

// How often each cause is found, counted from past jobs.

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"chargewright/model"
	"chargewright/reading"
	"chargewright/sheet"
)

// Rate is how often one cause was found, and what its rate becomes.
type Rate struct {
	Key           string
	Found, Places int // places it could have been at, in all jobs
	Before, After float64
}

// Counted is a table of causes with the rates of past jobs in it.
type Counted struct {
	Jobs      int
	Rates     []Rate   // of the causes that could have been found
	Left      []string // what of the history is not counted, and why
	Table     string   // to be given to ReadPriors
	weight    float64
	foundRows int
}

// UsualWeight is how many places seen the program's own rates count for: so
// many must be looked at before the counted rate weighs as much (engineering
// judgement).
const UsualWeight = 200

// CountRates counts what was found and put right at past jobs against the places
// where it could have been. The history has a row for each: job, cause by its
// key, where, and whether it was put right and proved; what was not is not
// counted.
//
//	formula  rate = (w × rate before + found) ÷ (w + places), w the weight in places
//	source   a beta prior of mean rate and weight w, updated by counts
//
// A job counts with all its places, also where nothing was found: leave none out.
func CountRates(jobs []*model.Model, file string, history io.Reader, weight float64) (Counted, error) {
	if !(weight > 0) || math.IsInf(weight, 0) {
		return Counted{}, fmt.Errorf("the weight is %v: how many places the rates before count for is wanted, above zero, like %d", weight, UsualWeight)
	}
	priors := UsualPriors()
	out := Counted{Jobs: len(jobs), weight: weight}
	benches := map[string]*bench{}
	for _, m := range jobs {
		if benches[m.Job.Name] != nil {
			return Counted{}, fmt.Errorf("two jobs are called %q: the history could mean either", m.Job.Name)
		}
		b, err := newBench(m, priors)
		if err != nil {
			return Counted{}, err
		}
		benches[m.Job.Name] = b
	}
	t, err := sheet.Read(file, history, "job", "cause", "at", "put right")
	if err != nil {
		return Counted{}, err
	}
	keys := make([]string, len(priors.causes))
	places, found := map[string]int{}, map[string]int{}
	for i, c := range priors.causes {
		keys[i] = c.key
		for _, b := range benches {
			places[c.key] += len(b.placesOf(c))
		}
	}
	seen := map[string]int{}
	for _, row := range t.Rows {
		name, key, at := row.Get("job"), row.Get("cause"), row.Get("at")
		b := benches[name]
		i := slices.Index(keys, key)
		right, said := sheet.Yes(row.Get("put right"))
		switch {
		case b == nil:
			row.Fault("job", name, "no job that is counted is called so; "+reading.Nearest(name, namesOf(jobs)))
			continue
		case i < 0:
			row.Fault("cause", key, "no cause is called so; "+reading.Nearest(key, keys))
			continue
		case !said:
			row.Fault("put right", row.Get("put right"), "yes or no is wanted: yes where it was put right and the readings proved it")
			continue
		}
		var there []string
		for _, p := range b.placesOf(priors.causes[i]) {
			there = append(there, p.called())
		}
		if !slices.Contains(there, at) {
			want := "it cannot be there; "
			if len(there) == 0 {
				row.Fault("at", at, want+"by its record the job has no place for it")
			} else {
				row.Fault("at", at, want+reading.Nearest(at, there))
			}
			continue
		}
		id := strings.Join([]string{name, key, at}, "\x00")
		switch before, twice := seen[id]; {
		case twice:
			row.Fault("at", at, fmt.Sprintf("%s there is counted on line %d already", key, before))
		case !right:
			out.Left = append(out.Left, fmt.Sprintf("line %d: %s at %s of %s was not put right: what it was nobody has proved", row.Line, key, at, name))
		default:
			seen[id] = row.Line
			found[key]++
			out.foundRows++
		}
	}
	if err := t.Faults.Err(); err != nil {
		return Counted{}, err
	}
	return out.write(places, found)
}

// called is a place by the name that a person gives it.
func (w where) called() string {
	if w.about != "" {
		return w.about
	}
	return w.name
}

func namesOf(jobs []*model.Model) []string {
	var out []string
	for _, m := range jobs {
		out = append(out, m.Job.Name)
	}
	return out
}

// write makes the table of causes anew.
func (c Counted) write(places, found map[string]int) (Counted, error) {
	rows, err := table("causes.csv", causeTable, causeColumns)
	if err != nil {
		return Counted{}, err
	}
	var text strings.Builder
	fmt.Fprintf(&text, "# Rates counted at %d jobs, %d found and put right. The program's own rates count for %g places; "+
		"rates without a count are its own: engineering judgement.\n", c.Jobs, c.foundRows, c.weight)
	lines := [][]string{strings.Split(causeColumns, ",")}
	for _, r := range rows {
		key := r[0]
		if n := places[key]; n > 0 {
			before, err := strconv.ParseFloat(r[5], 64)
			if err != nil {
				return Counted{}, err
			}
			one := Rate{key, found[key], n, before, (c.weight*before + float64(found[key])) / (c.weight + float64(n))}
			c.Rates = append(c.Rates, one)
			r = slices.Clone(r)
			r[5] = strconv.FormatFloat(one.After, 'g', 4, 64)
			r[12] += fmt.Sprintf("; rate counted: %d at %d places, beside %s of weight %g", one.Found, n, strconv.FormatFloat(before, 'g', 4, 64), c.weight)
		}
		lines = append(lines, r)
	}
	if err := sheet.Write(&text, lines); err != nil {
		return Counted{}, err
	}
	c.Table = text.String()
	_, err = ReadPriors(c.Table)
	return c, err
}
