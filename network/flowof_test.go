package network_test

import "chargewright/network"

// fataler is a test of either kind: one run, or one of many drawn at random.
type fataler interface {
	Helper()
	Fatal(args ...any)
}

// flowOf builds a network and solves its power flow.
func flowOf(t fataler, b *network.Builder) (*network.Network, *network.State) {
	t.Helper()
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	flow, err := net.Flow()
	if err != nil {
		t.Fatal(err)
	}
	st := flow.NewState()
	if err := flow.Solve(st); err != nil {
		t.Fatal(err)
	}
	return net, st
}
