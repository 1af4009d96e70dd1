package works

import "chargewright/reading"

// Kind returns which reading of the test sequence it is; nil for one that is
// not of it.
func (r Reading) Kind() *reading.Kind { return reading.Of(r.Reading) }

// Shown returns what was read. A reading without a value, or one that is not
// of the test sequence, was not done.
func (r Reading) Shown() (reading.Value, error) {
	k := r.Kind()
	if k == nil || r.Value == "" {
		return reading.Value{}, nil
	}
	return k.Parse(r.Value)
}

// Conductors names the protective conductors on their own that continuity is
// read of.
func (s *Supply) Conductors() []string {
	out := []string{"earthing conductor"}
	for _, b := range s.Bonding {
		out = append(out, "bonding to "+b.To)
	}
	return out
}

// Ways returns how it was taken: the words of its function, and what the note
// of an older record says where it says that and nothing else.
func (r Reading) Ways() (reading.Ways, error) {
	k := r.Kind()
	if k == nil {
		return reading.Ways{}, nil
	}
	ways, err := k.Ways(r.Function)
	if word := k.Noted(r.Note); word != "" && err == nil && !ways.Has(word) {
		ways.Words = append(ways.Words, word)
	}
	return ways, err
}
