package job

import "testing"

// FuzzWhen: a time a person wrote is read or is none, and orders like itself.
func FuzzWhen(f *testing.F) {
	for _, text := range []string{"2026-11-25T09:00:00Z", "2026-11-25 09:00", "25 Nov 2026", "2026-11-25", "", "9", "2026-11-25T09:00:00+14:00"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		at, _, ok := ReadWhen(text)
		again, _, still := ReadWhen(text)
		if ok != still || !at.Equal(again) || !ok && !at.IsZero() {
			t.Errorf("%q is %v, %v and then %v, %v", text, at, ok, again, still)
		}
		if compareWhen(text, text) != 0 {
			t.Errorf("%q is not at the same time as itself", text)
		}
	})
}
