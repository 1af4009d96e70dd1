package job

import (
	"bytes"
	"cmp"
	"slices"
	"testing"

	"chargewright/trade"
)

// What a template takes, in a job file.
const assumedFile = `job: template
supply:
  earthing: TN-C-S (assumed, house with one point)
  Ze: 0.35 Ω (assumed, the most that is declared)
boards:
  - name: main board
    fed from: supply
    place: kitchen (ground floor)
    ways: 12 (assumed)
circuits:
  - name: charge point
    from: main board
    existing: no (assumed, new work)
    cable:
      csa: 6 mm² (assumed, house with one point)
    legs:
      - name: first leg
        length: 12 m
        length known by: assumed
`

func byPath(a, b Assumption) int { return cmp.Compare(a.Path, b.Path) }

func TestAssumed(t *testing.T) {
	j, err := Read("template.yaml", []byte(assumedFile))
	if j == nil {
		t.Fatal(err)
	}
	want := []Assumption{
		{"supply/Ze", "0.35 Ω", "the most that is declared"},
		{"supply/earthing", "TN-C-S", "house with one point"},
		{"boards/main board/ways", "12", ""},
		{"circuits/charge point/existing", "no", "new work"},
		{"circuits/charge point/cable/csa", "6 mm²", "house with one point"},
		{"circuits/charge point/legs/first leg/length", "12 m", ""},
	}
	if got := j.Assumed(); !slices.Equal(got, want) {
		t.Errorf("Assumed() = %q, want %q", got, want)
	}
	if j.Boards[0].Place != "kitchen (ground floor)" || j.Supply.Earthing.Or("") != trade.TNCS || j.Boards[0].Ways.Or(0) != 12 {
		t.Errorf("the values are read as %q, %v, %v", j.Boards[0].Place, j.Supply.Earthing, j.Boards[0].Ways)
	}
	for what, text := range map[string][]byte{"Write": Write(j), "JSON": JSON(j)} {
		back, _ := Read(what, text)
		got := back.Assumed()
		slices.SortFunc(got, byPath)
		if !slices.Equal(got, slices.SortedFunc(slices.Values(want), byPath)) {
			t.Errorf("after %s: Assumed() = %q", what, got)
		}
	}
	var names []string
	for _, a := range want {
		names = append(names, a.Path)
	}
	bare := j.Without(names...)
	if left := bare.Assumed(); left != nil || bare.Circuits[0].Cable.CSA.IsKnown() || !j.Circuits[0].Cable.CSA.IsKnown() {
		t.Errorf("without what is assumed there is %q; csa %v of %v", left, bare.Circuits[0].Cable.CSA, j.Circuits[0].Cable.CSA)
	}
	if got := (Assumption{Path: names[5]}).Name(); got != "circuit charge point, leg first leg, length" {
		t.Errorf("Name() = %q", got)
	}
}

// TestSeen: who looks enters the value without its mark, and both who looked
// and who did not merge as any two entries do.
func TestSeen(t *testing.T) {
	f, _ := ReadRecord("template.yaml", []byte(assumedFile))
	r := f.Record()
	seen := func(path string) *Record { return Merge(r, NewRecord(r.Seen(path)...)) }
	for _, path := range []string{"supply/earthing", "circuits/charge point/cable/csa", "circuits/charge point/legs/first leg/length", "circuits/charge point/existing"} {
		after := seen(path)
		j, _ := after.Job("")
		if j.IsAssumed(path) || len(j.Assumed()) != 5 || after.Conflicts() != nil {
			t.Errorf("%s is seen: assumed %q, in dispute %v", path, j.Assumed(), after.Conflicts())
		}
	}
	if got := r.Seen("supply/Ze"); got != nil {
		t.Errorf("Seen(Ze) = %v: it cannot be seen, only measured or declared", got)
	}
	if got := seen("supply/earthing").Seen("supply/earthing"); got != nil {
		t.Errorf("seen twice: %v", got)
	}
	// Another never saw the template's value and entered their own: a person settles it.
	other := Merge(r, NewRecord(Entry{Path: "supply/earthing", Value: "TN-S", When: "2026-11-25T10:00:00Z"}))
	if len(other.Conflicts()) != 1 {
		t.Errorf("an assumed and another value do not differ: %v", other.Conflicts())
	}
	if err := f.Set("circuits/charge point/cable/csa", "10 mm²"); err != nil || bytes.Contains(f.Bytes(), []byte("6 mm² (assumed")) {
		t.Errorf("set over what is assumed: %v\n%s", err, f.Bytes())
	}
	if err := f.Set("circuits/charge point/cable/csa", "16 mm² (assumed, another template)"); err != nil {
		t.Error(err)
	}
	if j, _ := f.Job(); !j.IsAssumed("circuits/charge point/cable/csa") {
		t.Error("a value set with its mark is not assumed")
	}
	if j, _ := Read("", []byte("job: x\nnotes:\n  - text: it was so (assumed)\n")); len(j.Assumed()) != 0 || j.Notes[0].Text != "it was so (assumed)" {
		t.Errorf("a note is a note, not an assumption: %q", j.Notes)
	}
}
