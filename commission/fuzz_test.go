package commission

import "testing"

// FuzzSteps: a list of steps of one's own is read or refused with its line.
func FuzzSteps(f *testing.F) {
	f.Add([]byte("step,what\n"))
	f.Add([]byte(""))
	f.Fuzz(func(t *testing.T, text []byte) {
		steps, err := ReadSteps("mine.csv", text)
		for _, one := range steps {
			if err == nil && (one.Key == "" || one.Title == "" || deeds[one.Does] == nil) {
				t.Errorf("%q is read as a step that does nothing: %+v", text, one)
			}
		}
	})
}
