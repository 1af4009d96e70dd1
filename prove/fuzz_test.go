package prove

import (
	"reflect"
	"testing"
)

// FuzzPriors: a table of rates of one's own is read or refused, the
// same each time.
func FuzzPriors(f *testing.F) {
	f.Add(PriorsTable())
	f.Add("cause,rate\n")
	f.Add("")
	f.Fuzz(func(t *testing.T, text string) {
		p, err := ReadPriors(text)
		again, still := ReadPriors(text)
		if (err == nil) != (still == nil) || !reflect.DeepEqual(p, again) {
			t.Errorf("%q is read as %v, %v and then as %v, %v", text, p, err, again, still)
		}
	})
}
