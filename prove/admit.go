package prove

import (
	"fmt"
	"slices"
	"strings"

	"chargewright/job"
	"chargewright/model"
)

// Names returns what readings are called, in the order they are taken.
func Names() []string {
	var out []string
	for _, k := range kinds {
		out = append(out, k.name)
	}
	return out
}

// Admit returns a reading as it is to be written down: its name as the program
// knows it and its value with a unit. It refuses, with the nearest right name,
// a reading or place it does not know, and a value that cannot be one.
func Admit(m *model.Model, r job.Reading) (job.Reading, error) {
	k := kindOf(r.Reading)
	if k == nil {
		return r, fmt.Errorf("reading is %q: no reading has that name; %s", r.Reading, nearestOf(r.Reading, Names()))
	}
	places := Places(m)
	if !slices.Contains(places, r.At) {
		return r, fmt.Errorf("place is %q: nothing has that name; %s", r.At, nearestOf(r.At, places))
	}
	if q := newWiring(m).ask(k, r.At, r.Function); q.gap != "" && !fits(k, q) {
		return r, fmt.Errorf("%s is not read at %s: %s", k.name, r.At, placeWords[k.places])
	}
	v, err := k.parseValue(r.Value)
	if err != nil {
		return r, fmt.Errorf("%s is %w", k.name, err)
	}
	r.Reading = k.name
	if text := strings.TrimLeft(r.Value, "<>= "); !k.seen() && strings.Trim(text, "0123456789.+-") == "" {
		r.Value = strings.TrimSpace(r.Value) + " " + k.bare
	}
	if class, err := accuracies(); err == nil && !k.seen() && !v.above && v.amount > class[k.class].top*5 {
		return r, fmt.Errorf("%s is %q: more than any such instrument shows; write > and the end of its range, like > %s", k.name, r.Value, k.show(class[k.class].top))
	}
	return r, nil
}

var placeWords = map[string]string{"circuit": "name a circuit, or what it ends at", "point": "name a point", "electrode": "name an electrode", "supply": "it is read at the supply"}

// fits reports whether a kind may be read at such a place at all, whatever the
// record still lacks.
func fits(k *kind, q *question) bool {
	switch k.places {
	case "supply":
		return q.atSupply
	case "circuit":
		return q.run != nil
	case "point":
		return q.run != nil && q.run.circuit.Point != nil
	case "electrode":
		return !q.atSupply && q.run == nil && q.board == nil
	}
	return true
}

// Places returns where readings are taken: the supply, boards, circuits, points
// and electrodes.
func Places(m *model.Model) []string {
	out := []string{"supply"}
	j := m.Job
	for _, b := range j.Boards {
		out = append(out, b.Name)
	}
	for _, c := range j.Circuits {
		out = append(out, c.Name)
	}
	for _, p := range j.Points {
		out = append(out, p.Name)
	}
	for _, e := range j.Electrodes {
		out = append(out, e.Name)
	}
	return out
}

// nearestOf names the word most like s, or lists them.
func nearestOf(s string, words []string) string {
	wanted := plainName(s)
	best, least := "", len(wanted)/2+1
	for _, w := range words {
		p := plainName(w)
		d := distance(wanted, p)
		if len(wanted) >= 2 && (strings.HasPrefix(p, wanted) || strings.HasSuffix(p, wanted)) {
			d = min(d, 1)
		}
		if d < least {
			best, least = w, d
		}
	}
	if best != "" {
		return "the nearest is " + best
	}
	return "there is " + strings.Join(words, ", ")
}

// distance counts the letters to add, drop or change to make a into b.
func distance(a, b string) int {
	s, t := []rune(a), []rune(b)
	last := make([]int, len(t)+1)
	for j := range last {
		last[j] = j
	}
	for i := range s {
		before := last[0]
		last[0] = i + 1
		for j := range t {
			change := before
			if s[i] != t[j] {
				change++
			}
			before = last[j+1]
			last[j+1] = min(change, last[j+1]+1, last[j]+1)
		}
	}
	return last[len(t)]
}
