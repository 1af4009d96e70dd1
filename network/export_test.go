package network

// Transfer returns the voltage between c and d that 1 A driven into a and out
// of b makes: what the test of reciprocity turns round.
func (f *Faults) Transfer(a, b, c, d Terminal) (complex128, error) {
	st, err := f.Draw(b, a)
	if err != nil {
		return 0, err
	}
	return st.V(c) - st.V(d), nil
}

// Entries returns how many numbers the factors hold beside the diagonal.
func (f *Flow) Entries() (unknowns, entries int) { return f.sys.f.n, len(f.sys.f.li) }
