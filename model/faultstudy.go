package model

import (
	"fmt"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/network"
	"chargewright/quantity"
)

// FaultStudy is one fault somewhere in the job.
type FaultStudy struct {
	What     string           `json:"fault"`
	Greatest quantity.Amperes `json:"greatestAmperes"` // conductors cold
	Least    quantity.Amperes `json:"leastAmperes"`    // conductors hot, lowest supply voltage
	Loop     quantity.Ohms    `json:"loopOhms"`        // hot; of two conductors only
	Touch    quantity.Volts   `json:"touchVolts"`      // metal at the fault to true earth, where the fault is to it
	Lacks    finding.Lacks    `json:"notKnown"`
}

// faultConductors are the conductors a fault may name.
var faultConductors = map[string]network.Conductor{
	"L1": network.L1, "L2": network.L2, "L3": network.L3, "N": network.N, "PE": network.PE,
}

// StudyFault studies a fault written as conductors and place: "L1-PE@CP1",
// "L1-N@CP1", "L1-L2@yard board", "L1-L2-L3@yard board". A place is a board, a
// point or "origin". A text that is no fault gives an error that says how to
// write one.
func (m *Model) StudyFault(text string) (FaultStudy, error) {
	touching, place, ok := strings.Cut(text, "@")
	s := FaultStudy{What: text}
	var conductors []network.Conductor
	for _, name := range strings.FieldsFunc(touching, func(r rune) bool { return r == '-' || r == '–' || r == ' ' }) {
		c, known := faultConductors[strings.ToUpper(name)]
		if !known {
			return s, fmt.Errorf("fault is %q: %q is no conductor; write two or three of L1, L2, L3, N and PE, like L1-PE@CP1", text, name)
		}
		conductors = append(conductors, c)
	}
	if !ok || len(conductors) < 2 {
		return s, fmt.Errorf("fault is %q: write the conductors that touch and the place, like L1-PE@CP1", text)
	}
	cold := m.newNetwork(At20, reactive, 1).finish()
	hot := m.newNetwork(AtOperating, resistive, 1).finish()
	s.Lacks = append(s.Lacks, cold.Lacks...)
	s.Lacks = finding.Gather(s.Lacks, m.NoIpf(), m.External().Lacks)
	node, known := hot.placeNamed(strings.TrimSpace(place))
	if !known && len(s.Lacks) > 0 && slices.Contains(m.FaultPlaces(), strings.TrimSpace(place)) {
		return s, nil // it cannot be laid out yet
	}
	if !known {
		return s, fmt.Errorf("fault is %q: there is no %q to study; the places are %s", text, place, strings.Join(hot.places(), ", "))
	}
	if len(s.Lacks) > 0 || cold.Network == nil || hot.Network == nil {
		return s, nil
	}
	for _, c := range conductors {
		if !hot.Has(node.At(c)) {
			return s, fmt.Errorf("fault is %q: %s", text, hot.Describe(node.At(c))+" does not exist there")
		}
	}
	cmin, _, err := m.Rules.Limit("cmin")
	if err != nil {
		return s, err
	}
	s.Greatest, _, err = faultCurrent(cold, node, conductors, 1)
	if err != nil {
		return s, err
	}
	var st *network.State
	s.Least, st, err = faultCurrent(hot, node, conductors, cmin)
	if err != nil {
		return s, err
	}
	for _, c := range conductors {
		if c == network.PE {
			s.Touch = st.Touch(node.At(network.PE))
		}
	}
	if len(conductors) == 2 {
		faults, err := hot.Faults()
		if err != nil {
			return s, err
		}
		z, err := faults.LoopImpedance(node.At(conductors[0]), node.At(conductors[1]))
		if err != nil {
			return s, err
		}
		s.Loop = z.Magnitude()
	}
	return s, nil
}

// faultCurrent returns the greatest current at the terminals that touch.
func faultCurrent(n *Network, node network.NodeID, conductors []network.Conductor, c float64) (quantity.Amperes, *network.State, error) {
	faults, err := n.Faults()
	if err != nil {
		return 0, nil, err
	}
	st, currents, err := faults.Solve(network.Fault{Terminals: node.All(conductors...)}, c)
	if err != nil {
		return 0, nil, err
	}
	var most float64
	for _, i := range currents {
		most = max(most, network.RMS(i))
	}
	return quantity.Amperes(most), st, nil
}

// FaultPlaces lists where a fault may be studied: the origin, the boards, and
// the far ends of the other circuits.
func (m *Model) FaultPlaces() []string {
	out := []string{"origin"}
	for _, b := range m.Boards {
		out = append(out, b.Record.Name)
	}
	for _, c := range m.Circuits {
		if c.Board == nil && c.Record.To != "" && !slices.Contains(out, c.Record.To) {
			out = append(out, c.Record.To)
		}
	}
	return out
}

// placeNamed returns the node of a board, a point, a load's circuit or the origin.
func (n *Network) placeNamed(name string) (network.NodeID, bool) {
	if strings.EqualFold(name, "origin") || strings.EqualFold(name, "supply") {
		return n.Origin, n.Origin != 0
	}
	for b, node := range n.Boards {
		if strings.EqualFold(b.Record.Name, name) {
			return node, true
		}
	}
	for c, node := range n.Ends {
		if strings.EqualFold(c.Record.To, name) || strings.EqualFold(c.Record.Name, name) {
			return node, true
		}
	}
	return 0, false
}

// places lists where a fault may be, in the job's order.
func (n *Network) places() []string {
	out := []string{"origin"}
	for _, b := range n.model.Boards {
		if _, laid := n.Boards[b]; laid {
			out = append(out, b.Record.Name)
		}
	}
	for _, c := range n.model.Circuits {
		if _, laid := n.Ends[c]; laid && c.Board == nil {
			out = append(out, c.Record.To)
		}
	}
	return out
}
