package network

// Transfer returns the voltage between c and d that 1 A driven into a and out
// of b makes: what the test of reciprocity turns round.
func (f *Faults) Transfer(a, b, c, d Terminal) (complex128, error) {
	at, err := f.terminals([]Terminal{a, b, c, d})
	if err != nil {
		return 0, err
	}
	x := f.response(at[0], at[1])
	return x[f.sys.position[at[2]]] - x[f.sys.position[at[3]]], nil
}

// Entries returns how many numbers the factors hold beside the diagonal.
func (f *Flow) Entries() (unknowns, entries int) { return f.sys.f.n, len(f.sys.f.li) }
