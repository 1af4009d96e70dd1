package network

import "math/cmplx"

// potentials groups terminals whose voltages differ by a known amount, so that
// each group is one unknown: a perfect join, and an ideal source, cost nothing
// and need no tiny stand-in resistance.
type potentials struct {
	parent []int32
	offset []complex128 // V above the parent
}

func newPotentials(n int) *potentials {
	p := &potentials{make([]int32, n), make([]complex128, n)}
	for i := range p.parent {
		p.parent[i] = int32(i)
	}
	return p
}

// root returns the terminal that stands for t's group and how far t is above it.
func (p *potentials) root(t int32) (int32, complex128) {
	r, above := t, complex128(0)
	for p.parent[r] != r {
		above += p.offset[r]
		r = p.parent[r]
	}
	for rest := above; p.parent[t] != r && t != r; { // shorten the way for the next to ask
		next, step := p.parent[t], p.offset[t]
		p.parent[t], p.offset[t] = r, rest
		t, rest = next, rest-step
	}
	return r, above
}

// fix states that b stands emf above a. It reports whether that was news, and
// whether it agrees with what was known.
func (p *potentials) fix(a, b int32, emf complex128) (news, agrees bool) {
	ra, above := p.root(a)
	rb, bAbove := p.root(b)
	if ra == rb {
		return false, cmplx.Abs(above+emf-bAbove) <= 1e-9*(1+cmplx.Abs(above)+cmplx.Abs(bAbove))
	}
	if rb == 0 { // true earth stays a root: it is the zero of potentials
		p.parent[ra], p.offset[ra] = rb, bAbove-emf-above
	} else {
		p.parent[rb], p.offset[rb] = ra, above+emf-bAbove
	}
	return true, true
}
