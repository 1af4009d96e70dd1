package prove

import "testing"

// FuzzPriors: a table of rates of one's own is read or refused, alike each time;
// our own is read.
func FuzzPriors(f *testing.F) {
	f.Add(PriorsTable())
	f.Add("cause,rate\n")
	f.Add("")
	f.Fuzz(func(t *testing.T, text string) {
		_, err := ReadPriors(text)
		_, again := ReadPriors(text)
		if (err == nil) != (again == nil) || text == PriorsTable() && err != nil {
			t.Errorf("%q is answered %v and then %v", text, err, again)
		}
	})
}
