// Package network answers what current flows where, and what voltage stands
// where, in a low-voltage installation and the mains that feed it.
//
// There is one model: nodes with up to three lines, neutral and protective
// conductor; coupled branches between them; true earth as the reference; and
// sources, electrodes and loads. The formulas of the trade
// (R1 + R2, voltage drop, loop impedance, the star-point shift of a lost PEN)
// are special cases of it. The model also goes where they cannot: unbalanced
// phases, meshes, parallel earth paths, many points on one feeder.
//
// A Builder collects the parts and Build checks them. From the Network come
//
//	Flow           voltages and currents under load
//	Faults         loop impedances and fault currents, loads left out
//	ThirdHarmonic  the 150 Hz currents that add up in the neutral
//	LosePEN        what metalwork stands at when a PEN conductor breaks
//
// Everything is factored once and solved many times. A Flow, Faults or State
// is for one goroutine at a time; a Network never changes and may be shared.
//
// The package computes; it does not judge. Whether a result is allowed is a
// matter for the standard, the local code and a qualified person.
package network

import "fmt"

// A NodeID names a place where conductors can be joined: a busbar, a cut-out,
// a board, a point. The zero NodeID is no node.
type NodeID int32

// A Conductor is one of the conductors that may be present at a node. The zero
// Conductor is none.
type Conductor uint8

// The conductors. PEN is the combined neutral and protective conductor. Earth
// is true (remote) earth: the same everywhere, and the zero of all potentials.
const (
	L1 Conductor = iota + 1
	L2
	L3
	N
	PE
	PEN
	Earth
)

// conductorsPerNode bounds the numbers a Conductor may have. Those above Earth
// are spare, for cables with several neutrals and the like.
const conductorsPerNode = 16

// String returns the conductor as it is named in a sentence.
func (c Conductor) String() string {
	switch c {
	case L1, L2, L3:
		return fmt.Sprintf("line %d", c)
	case N:
		return "neutral"
	case PE:
		return "protective conductor"
	case PEN:
		return "PEN conductor"
	case Earth:
		return "true earth"
	}
	return fmt.Sprintf("conductor %d", uint8(c))
}

// A Terminal is one conductor at one node.
type Terminal struct {
	Node      NodeID
	Conductor Conductor
}

// At returns the terminal of conductor c at the node.
func (n NodeID) At(c Conductor) Terminal { return Terminal{n, c} }

// All returns the terminals of the conductors at the node, in the order given:
// the ends of a branch.
func (n NodeID) All(cs ...Conductor) []Terminal {
	ts := make([]Terminal, len(cs))
	for i, c := range cs {
		ts[i] = n.At(c)
	}
	return ts
}

// A BranchID names anything that current flows through: a branch, join,
// transformer, electrode or source.
type BranchID int32

// A LoadID names a load.
type LoadID int32

// A Problem is one reason why a network cannot be built or solved. It is safe
// to show to anyone.
type Problem struct {
	Subject string // the part or place, in words: "point CP3, neutral"
	Reason  string // what is wrong and what would be right
}

func (p *Problem) Error() string { return p.Subject + ": " + p.Reason }

func problem(subject, format string, args ...any) *Problem {
	return &Problem{subject, fmt.Sprintf(format, args...)}
}

// Network is a checked set of nodes, branches and loads. It never changes.
type Network struct {
	nodes     []string   // by NodeID; the first is not used
	terminals []Terminal // the first is true earth
	index     []int32    // NodeID × conductorsPerNode + Conductor → terminal, or −1
	elements  []element
	loads     []Load
	impedance []int32 // LoadID → its element if it is a constant impedance, or −1
}

// An element is a set of legs that share one impedance matrix. Every part of a
// network is one; they differ only in what their legs span.
//
//	leg voltages + emf = z × leg currents
type element struct {
	name   string
	legs   []leg
	z      Matrix       // of a constant-impedance load: not used
	emf    []complex128 // V; nil but for sources
	load   LoadID       // −1 unless the element is a constant-impedance load
	broken uint32       // one bit for each leg that no longer conducts
}

// A leg spans one pair of terminals, or, in a transformer, two.
//
//	leg voltage = ratio × (V0 − V1) − (V2 − V3)      transformer
//	leg voltage = V0 − V1                            anything else
type leg struct {
	terminal [4]int32
	ratio    float64 // secondary turns over primary turns; 0 for one pair only
}

// terms returns how many terminals the leg has and with what sign and weight
// the leg's current leaves each of them.
func (l *leg) terms() (int, [4]float64) {
	if l.ratio == 0 {
		return 2, [4]float64{1, -1}
	}
	return 4, [4]float64{l.ratio, -l.ratio, -1, 1}
}

// find returns the index of terminal t, and whether the network has it.
func (n *Network) find(t Terminal) (int32, bool) {
	if t.Conductor == Earth {
		return 0, true
	}
	if t.Node <= 0 || int(t.Node) >= len(n.nodes) || t.Conductor == 0 || t.Conductor >= conductorsPerNode {
		return 0, false
	}
	i := n.index[int(t.Node)*conductorsPerNode+int(t.Conductor)]
	return i, i >= 0
}

// Has reports whether terminal t is part of the network.
func (n *Network) Has(t Terminal) bool {
	_, ok := n.find(t)
	return ok
}

// Describe returns a terminal in words: "point CP3, neutral".
func (n *Network) Describe(t Terminal) string { return describe(n.nodes, t) }

func describe(nodes []string, t Terminal) string {
	switch {
	case t.Conductor == Earth:
		return "true earth"
	case t.Node <= 0 || int(t.Node) >= len(nodes):
		return "a node that was never added"
	case t.Conductor == 0:
		return nodes[t.Node] + ", no conductor"
	}
	return nodes[t.Node] + ", " + t.Conductor.String()
}

// Break returns a copy of the network in which the given conductors of a
// branch no longer conduct, or all of them when none is given. A conductor is
// named as it is at the From end.
func (n *Network) Break(b BranchID, conductors ...Conductor) (*Network, error) {
	if b < 0 || int(b) >= len(n.elements) {
		return nil, problem("break", "there is no branch %d", b)
	}
	broken := *n
	broken.elements = append([]element(nil), n.elements...)
	e := &broken.elements[b]
	if len(conductors) == 0 {
		e.broken = 1<<len(e.legs) - 1
	}
	for _, c := range conductors {
		found := false
		for k := range e.legs {
			if n.terminals[e.legs[k].terminal[0]].Conductor == c {
				e.broken |= 1 << k
				found = true
			}
		}
		if !found {
			return nil, problem(e.name, "it has no %v to break", c)
		}
	}
	return &broken, nil
}
