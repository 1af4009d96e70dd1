package network

import (
	"errors"
	"math"
	"math/cmplx"
	"slices"

	"chargewright/quantity"
)

// A Builder collects the parts of a network. Its methods note what is wrong
// with a part; Build reports all of it at once.
type Builder struct {
	net      Network
	problems []error
}

// NewBuilder returns a Builder with nothing in it but true earth.
func NewBuilder() *Builder {
	return &Builder{net: Network{
		nodes:     []string{""},
		terminals: []Terminal{{Conductor: Earth}},
		index:     make([]int32, conductorsPerNode),
	}}
}

// Node adds a node. The name is used in messages: "point CP3", "board B1".
func (b *Builder) Node(name string) NodeID {
	b.net.nodes = append(b.net.nodes, name)
	for range conductorsPerNode {
		b.net.index = append(b.net.index, -1)
	}
	return NodeID(len(b.net.nodes) - 1)
}

// A Branch is a run of conductors: a cable, a service, a busbar, a switch.
type Branch struct {
	Name     string
	From, To []Terminal  // the ends of each conductor, in the order of Z
	Z        Matrix      // for the whole length, at the temperature asked about
	Open     bool        // nothing conducts
	Broken   []Conductor // these do not conduct; named as they are at From
}

// Branch adds a branch. A conductor without any impedance is a perfect join.
func (b *Builder) Branch(br Branch) BranchID {
	if len(br.From) == 0 || len(br.From) != len(br.To) || len(br.From) != br.Z.size {
		b.reject(br.Name, "%d conductors leave, %d arrive and %d have an impedance: the numbers must be equal", len(br.From), len(br.To), br.Z.size)
		return -1
	}
	legs := make([]leg, len(br.From))
	for k := range legs {
		legs[k].terminal = [4]int32{b.terminal(br.Name, br.From[k]), b.terminal(br.Name, br.To[k])}
	}
	e := element{name: br.Name, legs: legs, z: br.Z, load: -1}
	if br.Open {
		e.broken = 1<<len(legs) - 1
	}
	for _, c := range br.Broken {
		found := false
		for k, t := range br.From {
			if t.Conductor == c {
				e.broken |= 1 << k
				found = true
			}
		}
		if !found {
			b.reject(br.Name, "it has no %v to break", c)
		}
	}
	return b.add(e)
}

// Join connects conductors of one node without impedance, as the cut-out of a
// TN-C-S supply does with neutral and protective conductor.
func (b *Builder) Join(name string, n NodeID, first Conductor, others ...Conductor) BranchID {
	from := make([]Terminal, len(others))
	for i := range from {
		from[i] = n.At(first)
	}
	return b.Branch(Branch{Name: name, From: from, To: n.All(others...), Z: Series(make([]quantity.Impedance, len(others))...)})
}

// Electrode adds an earth electrode.
//
//	at   what it earths
//	r    resistance to true earth, in Ω, at or above zero
//
// Where all loads are impedances an electrode never raises the voltage of what
// it earths. It may raise that of other metalwork, such as a star point.
func (b *Builder) Electrode(name string, at Terminal, r quantity.Ohms) BranchID {
	return b.Branch(Branch{Name: name, From: []Terminal{at}, To: []Terminal{{Conductor: Earth}}, Z: Series(quantity.Impedance(complex(r, 0)))})
}

// A Source is a set of ideal voltages behind an impedance (Thévenin).
type Source struct {
	Name  string
	Star  Terminal     // the point the voltages are counted from
	Lines []Terminal   // one for each voltage
	EMF   []complex128 // V, r.m.s.
	Z     Matrix       // the zero Matrix for a source without impedance
}

// ThreePhase returns the phasors of a balanced supply, in V: u at 0°, −120°
// and 120°.
func ThreePhase(u quantity.Volts) []complex128 {
	h := float64(u) / 2
	return []complex128{complex(2*h, 0), complex(-h, -h*math.Sqrt(3)), complex(-h, h*math.Sqrt(3))}
}

// Source adds a source.
func (b *Builder) Source(s Source) BranchID {
	if len(s.Lines) == 0 || len(s.Lines) != len(s.EMF) {
		b.reject(s.Name, "%d lines have %d voltages: the numbers must be equal", len(s.Lines), len(s.EMF))
		return -1
	}
	if s.Z.size == 0 {
		s.Z = Series(make([]quantity.Impedance, len(s.Lines))...)
	}
	if s.Z.size != len(s.Lines) {
		b.reject(s.Name, "%d lines have %d impedances: the numbers must be equal", len(s.Lines), s.Z.size)
		return -1
	}
	legs := make([]leg, len(s.Lines))
	for k, e := range s.EMF {
		if cmplx.IsNaN(e) || cmplx.IsInf(e) {
			b.reject(s.Name, "voltage %d is not a number", k+1)
		}
		legs[k].terminal = [4]int32{b.terminal(s.Name, s.Star), b.terminal(s.Name, s.Lines[k])}
	}
	return b.add(element{name: s.Name, legs: legs, z: s.Z, emf: append([]complex128(nil), s.EMF...), load: -1})
}

// Build checks everything that was added and returns the network, or all the
// problems found.
func (b *Builder) Build() (*Network, error) {
	if len(b.problems) > 0 {
		return nil, errors.Join(b.problems...)
	}
	supplied := false
	for i := range b.net.elements {
		supplied = supplied || b.net.elements[i].emf != nil
	}
	if !supplied {
		return nil, problem("network", "it has no source: add the supply first")
	}
	net := b.net
	net.index = slices.Clone(net.index) // the Builder may go on
	return &net, nil
}

func (b *Builder) reject(subject, format string, args ...any) {
	b.problems = append(b.problems, problem(subject, format, args...))
}

// terminal returns the index of t, adding the conductor to the node if it is
// new there.
func (b *Builder) terminal(user string, t Terminal) int32 {
	if t.Conductor == Earth {
		return 0
	}
	if t.Node <= 0 || int(t.Node) >= len(b.net.nodes) || t.Conductor == 0 || t.Conductor >= conductorsPerNode {
		b.reject(user, "it is connected to %s", describe(b.net.nodes, t))
		return 0
	}
	i := &b.net.index[int(t.Node)*conductorsPerNode+int(t.Conductor)]
	if *i < 0 {
		*i = int32(len(b.net.terminals))
		b.net.terminals = append(b.net.terminals, t)
	}
	return *i
}

func (b *Builder) add(e element) BranchID {
	if why := e.z.check(); why != "" {
		b.reject(e.name, "%s", why)
	}
	if len(e.legs) > 32 {
		b.reject(e.name, "it has %d conductors: 32 are the most", len(e.legs))
	}
	b.net.elements = append(b.net.elements, e)
	return BranchID(len(b.net.elements) - 1)
}
