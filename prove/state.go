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

	touched []int     // stretches a change has altered, or that lie in a loop it closes
	alters  []altered // readings that something besides stretches is changed for
	whole   bool      // any reading may be another

	today      bool               // as it most probably is, not as the record has it at the most
	leads      map[string]float64 // offset of low-ohm readings, Ω, by instrument
	fused      map[string]float64 // the same of loop readings
	gains      map[string]float64 // how far an instrument's class is out, times
	leadsAll   bool               // readings said to be nulled as well
	noTrip     float64            // rise of no-trip loop readings behind an RCD, Ω
	swapped    map[*run]bool      // neutral linked in place of the cpc
	exchanged  map[*run]bool      // neutral and earth exchanged at the far end
	leaks      map[*run][]leak    // what conducts besides the cable in an insulation test
	reversed   map[*run]bool      // line and neutral exchanged at the far end
	reversedIn bool               // and at the origin
	rotated    bool               // two lines of the supply exchanged
	dead       map[*run]bool      // the contactor does not close: no way through at the outlet
	shut       map[*run]bool      // and the dead tests were taken through it too
	never      map[*run]bool      // and it does not close in state C either
	earthOff   map[*run]bool      // protective conductor open while there is no supply
	pilots     map[*run]pilot
	directs    map[*run]detector
	beyond     float64 // Ω of the earthing that a reading of its conductor does not take in
	volts      float64 // V that the supply stands above its usual voltage
	residuals  map[*run]residual
	spiked     map[string]spiked // tests of electrodes
	clamp      float64           // what the clamp makes of a true current; 1 when right

	knit     *net               // how the return network hangs together, with the links
	passages map[passage]passed // what is known of its blocks
}

// altered is readings of a class, or of any, on a run, or on any.
type altered struct {
	class string
	run   *run
}

type link struct {
	a, b node
	ohms float64
}

// leak is what is left across the insulation.
type leak struct {
	line, neutral, live float64 // S, line to earth, neutral to earth, and between the two
	knee                float64 // V at which a surge device passes 1 mA; 0 for none
	inPoint             bool    // goes away when the point is disconnected
	inSurge             bool    // goes away when the surge device is unplugged
	outside             bool    // goes away when the cable is read by itself
	wide                float64 // how far its parts may be apart from what they usually are, decades
}

// pilot is what is wrong with the control pilot of a point.
type pilot struct {
	open, shorted, noSwitch, noDiode bool
	leak                             float64 // Ω from pilot to protective conductor; 0 for none
	duty                             float64 // times the right one; 0 for right
}

// residual is what is wrong in the residual circuit of a point.
type residual struct {
	standing   float64 // A more than the standing leakage
	blinded    float64 // times as slow, and as hard to trip; 0 for not
	slow       float64 // times as slow alone; 0 for not
	early      float64 // A it trips at; 0 for as it should
	dead       bool    // it never trips
	buttonDead bool
}

// detector is what is wrong with the detection of direct current of a point.
type detector struct {
	dead bool
	at   float64 // A it acts at; 0 for as it should
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
	out.passages = nil
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
	s.set(i, s.ohms[i]+ohms)
	s.loose = append(s.loose, i)
}

// set gives a stretch another resistance.
func (s *state) set(i int, ohms float64) {
	s.ohms[i], s.passages = ohms, nil
	s.touched = append(s.touched, i)
}

// times multiplies stretch i and what is not known about it.
func (s *state) times(i int, f float64) {
	if s.scale == nil {
		s.scale = make([]float64, len(s.ohms))
		for k := range s.scale {
			s.scale[k] = 1
		}
	}
	s.set(i, f*s.ohms[i])
	s.scale[i] *= f
}

// join lays a path that should not be there.
// It matters to what shares a stretch with the loop it closes.
func (s *state) join(a, b node, ohms float64) {
	_, loop := s.between(a, b)
	for _, w := range loop {
		s.touched = append(s.touched, w.stretch)
	}
	s.links = append(s.links, link{a, b, ohms})
	s.knit, s.passages = nil, nil
}

// net is how the return network hangs together, worked out once for all states
// without a path that should not be there.
func (s *state) net() *net {
	switch w := s.wiring; {
	case len(s.links) == 0:
		if w.net == nil {
			w.net = netOf(w.nodes, w.ties(nil))
		}
		return w.net
	case s.knit == nil:
		s.knit = netOf(w.nodes, w.ties(s.links))
	}
	return s.knit
}

// ties lists the return network as it lies.
func (w *wiring) ties(links []link) []tie {
	var out []tie
	for i := range w.stretches {
		if e := &w.stretches[i]; e.a != noNode {
			out = append(out, tie{e.a, e.b, i})
		}
	}
	for k, l := range links {
		out = append(out, tie{l.a, l.b, len(w.stretches) + k})
	}
	return out
}

// ohmsOf is the resistance of a tie.
func (s *state) ohmsOf(id int) float64 {
	if k := id - len(s.ohms); k >= 0 {
		return s.links[k].ohms
	}
	return s.ohms[id]
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
