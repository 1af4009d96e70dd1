package job

import (
	"bytes"
	"reflect"
	"slices"
	"testing"
)

// FuzzRead states what holds for any bytes: no panic; a refusal names at least
// one fault; and what is accepted can be printed and read back, folds from its
// entries to the same job, and is not changed by writing what stands there.
func FuzzRead(f *testing.F) {
	for _, seed := range seeds(f) {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		j, err := Read("x.yaml", text)
		if err != nil {
			if ps, ok := err.(Problems); !ok || len(ps) == 0 || ps.Error() == "" {
				t.Fatalf("refused with %T %v, want Problems", err, err)
			}
			if file, _ := ReadRecord("x.yaml", text); file != nil {
				file.Record().Job("x.yaml")
				file.Set("supply/Ze", "0.18 Ω (measured)")
				file.Append("readings", Given{"value", "1 Ω"})
			}
			return
		}
		printed := Write(j)
		again, err := Read("x.yaml", printed)
		if err != nil {
			t.Fatalf("cannot read back our own\n%s\n%v", printed, err)
		}
		if !reflect.DeepEqual(again, j) {
			t.Fatalf("reads back otherwise:\n%s\nwas\n%s", Write(again), printed)
		}
		file, err := ReadRecord("x.yaml", text)
		if err != nil {
			t.Fatalf("Read accepts what ReadRecord refuses: %v", err)
		}
		r := file.Record()
		folded, err := r.Job("x.yaml")
		if err != nil || !reflect.DeepEqual(folded, j) {
			t.Fatalf("folds to\n%s\n%v\nwant\n%s", Write(folded), err, printed)
		}
		if m := Merge(r, r); !slices.Equal(m.Entries(), r.Entries()) || len(r.Conflicts()) > 0 {
			t.Fatalf("does not merge to itself: %v", r.Conflicts())
		}
		for _, path := range paths(file.root, jobShape, "") {
			if value, ok := file.Get(path); ok {
				if err := file.Set(path, value); err != nil || !bytes.Equal(file.Bytes(), text) {
					t.Fatalf("Set(%q, %q) = %v and changed the file", path, value, err)
				}
			}
		}
	})
}

// FuzzSet states what holds when any text is set at any path of any file: no
// panic; a refusal leaves the file alone; what is accepted reads back.
func FuzzSet(f *testing.F) {
	for i, seed := range seeds(f) {
		f.Add(seed, []string{"job", "supply/Ze", "circuits/van point/legs/yard wall/length", "readings/3/value", "site/hazards/1", "boards/x/RCDs/y/type"}[i%6], []string{"0.2 Ω", "a: b", "two\nlines"}[i%3])
	}
	f.Fuzz(func(t *testing.T, text []byte, path, value string) {
		file, _ := ReadRecord("x.yaml", text)
		if file == nil {
			return
		}
		if err := file.Set(path, value); err != nil {
			if !bytes.Equal(file.Bytes(), text) {
				t.Fatalf("Set(%q, %q) = %v and changed the file", path, value, err)
			}
			return
		}
		if now, _ := file.Get(renamed(path, tidy(value))); now != tidy(value) {
			t.Fatalf("Set(%q, %q) reads back as %q in\n%s", path, value, now, file.Bytes())
		}
	})
}
