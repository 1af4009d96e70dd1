package prove

// What is seen in use, weighed in the same reasoning as readings.

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"

	"chargewright/reading"
)

//go:embed symptoms.csv
var symptomTable string

//go:embed signs.csv
var signTable string

const seenColumns = ",cause,chance,rate,what,check,source"

// symptom is one thing seen in use, or in the log of a point, and what it may
// come from.
type symptom struct {
	name   string
	logged bool
	shows  map[string]float64 // chance that a cause shows in this way, by its key
	others []*cause           // that are nothing of the wiring
}

// unasked is how often a symptom is reported where nothing on its list is the
// matter (engineering judgement).
const unasked = 0.003

// symptoms is what may be seen in use and in logs, read once.
var symptoms = sync.OnceValues(func() ([]*symptom, error) {
	seen, err := readSeen("symptoms.csv", "symptom", symptomTable, false)
	if err != nil {
		return nil, err
	}
	signs, err := readSeen("signs.csv", "sign", signTable, true)
	return append(seen, signs...), err
})

func readSeen(file, first, text string, logged bool) (out []*symptom, err error) {
	rows, err := table(file, text, first+seenColumns)
	if err != nil {
		return nil, err
	}
	for i, r := range rows {
		if len(out) == 0 || out[len(out)-1].name != r[0] {
			out = append(out, &symptom{name: r[0], logged: logged, shows: map[string]float64{}})
		}
		s, key := out[len(out)-1], r[1]
		chance, err := strconv.ParseFloat(r[2], 64)
		if err != nil || !(chance > 0 && chance <= 1) {
			return nil, fmt.Errorf("%s: row %d: a chance is wanted", file, i+1)
		}
		if key == "" {
			rate, err := strconv.ParseFloat(r[3], 64)
			if err != nil || !(rate > 0 && rate < 1) {
				return nil, fmt.Errorf("%s: row %d: a rate is wanted", file, i+1)
			}
			key = "in use: " + r[4]
			s.others = append(s.others, &cause{key: key, is: "use", words: r[4], places: "site", rate: rate, low: 1, high: 1, acts: "tester", next: r[5],
				source: r[6], change: func(*state, where, float64) bool { return true }})
		} else if changes[key] == nil {
			return nil, fmt.Errorf("%s: row %d: no cause is called %q", file, i+1, key)
		}
		s.shows[key] = chance
	}
	return out, nil
}

// Symptoms lists what may be said to be seen in use.
func Symptoms() []string { return seenNames(false) }

// Signs lists what a log may show that is weighed: by the rule it was heard by,
// or the word of the fault that a point names.
func Signs() []string { return seenNames(true) }

func seenNames(logged bool) (out []string) {
	all, _ := symptoms()
	for _, s := range all {
		if s.logged == logged {
			out = append(out, s.name)
		}
	}
	return out
}

// inLog marks a sign of a log among what was seen.
const inLog = "log: "

// InLog is a sign of a log as it is handed to Explain.
func InLog(sign string) string { return inLog + sign }

// symptomsOf finds symptoms by their names.
func symptomsOf(names []string) ([]*symptom, error) {
	all, err := symptoms()
	var out []*symptom
	for _, name := range names {
		name, logged := strings.CutPrefix(name, inLog)
		i := slices.IndexFunc(all, func(s *symptom) bool { return s.logged == logged && strings.EqualFold(s.name, strings.TrimSpace(name)) })
		if i < 0 {
			return nil, fmt.Errorf("no symptom is called %q; %s", name, reading.Nearest(name, Symptoms()))
		}
		out = append(out, all[i])
	}
	return out, err
}

// causes lists what may be wrong with a place: those of the table, and what the
// symptoms come from that is nothing of its wiring.
func (b *bench) causes() []*cause {
	out := slices.Clone(b.priors.causes)
	for _, s := range b.seen {
		for _, o := range s.others { // two symptoms may have one that is the same
			if !slices.ContainsFunc(out, func(c *cause) bool { return c.key == o.key }) {
				out = append(out, o)
			}
		}
	}
	return out
}

// sites lists where a cause can be; one that a symptom points to is weighed
// also where the record says too little to place it.
func (b *bench) sites(c *cause) []supposed {
	var out []supposed
	for _, at := range b.placesOf(c) {
		out = append(out, supposed{c, at})
	}
	if len(out) > 0 || !slices.ContainsFunc(b.seen, func(s *symptom) bool { return s.shows[c.key] > 0 }) || !b.bare() {
		return out
	}
	somewhere := *c
	somewhere.is = "use"
	somewhere.change = func(*state, where, float64) bool { return true }
	somewhere.low, somewhere.high, somewhere.unit = 1, 1, ""
	return []supposed{{&somewhere, where{}}}
}

// bare reports a record without a run to place anything at.
func (b *bench) bare() bool {
	return !slices.ContainsFunc(b.wiring.runs, func(r *run) bool { return len(r.gap) == 0 })
}

// told is the log of the chance of what was seen under a hypothesis.
func (b *bench) told(h *hypothesis) float64 {
	var log float64
	for _, s := range b.seen {
		chance := unasked
		if h.none {
			chance = 10 * unasked
		}
		for _, p := range h.parts {
			chance = max(chance, s.shows[p.cause.key])
		}
		log += math.Log(chance)
	}
	return log
}
