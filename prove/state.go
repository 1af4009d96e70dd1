package prove

import "slices"

// state is the wiring with something changed, or with nothing changed: the
// sound job is the state without a change. Every prediction is made from one.
type state struct {
	wiring *wiring
	ohms   []float64 // of each stretch
	scale  []float64 // of each stretch's drifts; nil for as they are
	links  []link    // paths that should not be there
	loose  []int     // stretches with a contact that moves from one reading to the next

	touched []int // stretches a change has altered, or that lie in a loop it closes
	special bool  // something besides stretches is changed

	leads      map[string]float64 // offset of low-ohm readings, Ω, by instrument
	leadsAll   bool               // readings said to be nulled as well
	noTrip     float64            // rise of no-trip loop readings behind an RCD, Ω
	swapped    map[*run]bool      // neutral linked in place of the cpc
	leaks      map[*run]leak      // what conducts besides the cable in an insulation test
	reversed   map[*run]bool      // line and neutral exchanged at the far end
	reversedIn bool               // and at the origin
	rotated    bool               // two lines of the supply exchanged
	dead       map[*run]bool      // open contactor: no way through at the outlet
	earthOff   map[*run]bool      // protective conductor open while there is no supply
	pilots     map[string]pilot   // by point
	residuals  map[string]residual
	clamp      float64 // what the clamp makes of a true current; 1 when right

	laidOut []laid
}

type link struct {
	a, b node
	ohms float64
}

// leak is what is left across the insulation.
type leak struct {
	earth, live float64 // Ω, live to earth and between live conductors; 0 for none
	knee        float64 // V at which a surge device passes 1 mA; 0 for none
	lineOnly    bool    // it is the line core that leaks, not the neutral
	inPoint     bool    // goes away when the point is disconnected
	inSurge     bool    // goes away when the surge device is unplugged
}

// pilot is what is wrong with the control pilot of a point.
type pilot struct {
	open, shorted, noSwitch, noDiode bool
	leak                             float64 // Ω from pilot to protective conductor; 0 for none
	duty                             float64 // times the right one; 0 for right
}

// residual is what is wrong in the residual circuit of a point.
type residual struct {
	standing float64 // A more than the standing leakage
	blinded  float64 // times as slow; 0 for not
}

// laid is a stretch of the return network as it lies.
type laid struct {
	a, b node
	ohms float64
	id   int
}

func (w *wiring) sound() *state {
	s := &state{wiring: w, ohms: make([]float64, len(w.stretches)), clamp: 1}
	for i := range w.stretches {
		s.ohms[i] = w.stretches[i].ohms
	}
	return s
}

// clone returns a state that can be changed further.
func (s *state) clone() *state {
	out := *s
	out.ohms = slices.Clone(s.ohms)
	out.scale = slices.Clone(s.scale)
	out.links, out.loose = slices.Clone(s.links), slices.Clone(s.loose)
	out.touched = slices.Clone(s.touched)
	out.laidOut = nil
	return &out
}

// drifts returns what is not exactly known about stretch i, and its scale.
func (s *state) drifts(i int) ([]drift, float64) {
	if i >= len(s.wiring.stretches) {
		return nil, 0
	}
	if s.scale == nil {
		return s.wiring.stretches[i].drift, 1
	}
	return s.wiring.stretches[i].drift, s.scale[i]
}

// add puts a resistance into a stretch.
func (s *state) add(i int, ohms float64) {
	s.ohms[i] += ohms
	s.loose, s.touched = append(s.loose, i), append(s.touched, i)
}

// times multiplies stretch i and what is not known about it.
func (s *state) times(i int, f float64) {
	if s.scale == nil {
		s.scale = make([]float64, len(s.ohms))
		for k := range s.scale {
			s.scale[k] = 1
		}
	}
	s.ohms[i] *= f
	s.scale[i] *= f
	s.touched = append(s.touched, i)
}

// join lays a path that should not be there.
// It matters to what shares a stretch with the loop it closes.
func (s *state) join(a, b node, ohms float64) {
	_, loop := s.between(a, b)
	for _, w := range loop {
		s.touched = append(s.touched, w.stretch)
	}
	s.links = append(s.links, link{a, b, ohms})
	s.laidOut = nil
}

// returns lists the return network as it lies.
func (s *state) returns() []laid {
	if s.laidOut == nil {
		for i := range s.wiring.stretches {
			if e := &s.wiring.stretches[i]; e.a != noNode {
				s.laidOut = append(s.laidOut, laid{e.a, e.b, s.ohms[i], i})
			}
		}
		for k, l := range s.links {
			s.laidOut = append(s.laidOut, laid{l.a, l.b, l.ohms, len(s.ohms) + k})
		}
	}
	return s.laidOut
}

// with returns a copy of a map that holds one thing more.
func with[K comparable, V any](m map[K]V, k K, v V) map[K]V {
	out := make(map[K]V, len(m)+1)
	for key, value := range m {
		out[key] = value
	}
	out[k] = v
	return out
}
