package job

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func record(t testing.TB, text string) *Record {
	t.Helper()
	f, err := ReadRecord("x.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return f.Record()
}

// A job taken apart into entries and folded again is the same job.
func TestRecordSaysWhatTheFileSays(t *testing.T) {
	text := string(sample(t))
	want := mustRead(t, text)
	got, err := record(t, text).Job("yard")
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("the record folds to\n%s\nwant\n%s", Write(got), Write(want))
	}
}

func TestEntriesCarryWhoWhenAndInstrument(t *testing.T) {
	r := record(t, `job: a
instruments: [{name: tester one}]
supply:
  Ze: { value: 0.18 Ω, known by: measured, who: Jo, when: 2026-11-25 09:40, instrument: tester one }
  Ipf: 1.9 kA
readings:
- { at: supply, reading: Ze, value: 0.18 Ω, who: Jo, when: 2026-11-25 09:41 }
`)
	got := ""
	for _, e := range r.Entries() {
		got += fmt.Sprintf("%s = %q %s %s %s\n", e.Path, e.Value, e.Who, e.When, e.Instrument)
		if e.ID == "" {
			t.Errorf("%s has no ID", e.Path)
		}
	}
	mark := strings.Split(got[strings.Index(got, "readings/"):], " ")[0]
	want := strings.ReplaceAll(`instruments/tester one = "1"   
job = "a"   
MARK = "1" Jo 2026-11-25 09:41 
MARK/at = "supply" Jo 2026-11-25 09:41 
MARK/reading = "Ze" Jo 2026-11-25 09:41 
MARK/value = "0.18 Ω" Jo 2026-11-25 09:41 
supply/Ipf = "1.9 kA"   
supply/Ze = "0.18 Ω (measured)" Jo 2026-11-25 09:40 tester one
`, "MARK", mark)
	if got != want {
		t.Errorf("entries are\n%swant\n%s", got, want)
	}
}

// Two people leave with the same file and each add to their copy.
func TestMergeTwoPeople(t *testing.T) {
	text := string(sample(t))
	sam, _ := ReadRecord("sam.yaml", []byte(text))
	jo, _ := ReadRecord("jo.yaml", []byte(text))
	for _, err := range []error{
		sam.Set("circuits/van point/legs/yard wall/length", "8 m"),
		sam.Append("readings", Given{"at", "CP1"}, Given{"reading", "Zs"}, Given{"value", "0.35 Ω"}, Given{"who", "Sam"}),
		jo.Set("circuits/van point/legs/yard wall/length", "8.2 m"),
		jo.Set("circuits/van point/legs/loft/length", "11.0 m"), // the same, spelled otherwise
		jo.Append("readings", Given{"at", "CP1"}, Given{"reading", "Zs"}, Given{"value", "0.36 Ω"}, Given{"who", "Jo"}),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	both := Merge(sam.Record(), jo.Record())
	j, err := both.Job("both")
	if err != nil {
		t.Fatal(err)
	}
	if len(j.Readings) != 4 {
		t.Errorf("%d readings, want the two old ones and one of each", len(j.Readings))
	}
	conflicts := both.Conflicts()
	if len(conflicts) != 1 || conflicts[0].Path != "circuits/van point/legs/yard wall/length" || len(conflicts[0].Entries) != 2 {
		t.Fatalf("conflicts are %v, want the length of yard wall alone", conflicts)
	}
	// Sam walks back and measures.
	settled := Entry{Path: conflicts[0].Path, Value: "8.2 m", Who: "Sam", When: "2026-11-25T15:00:00Z",
		Follows: conflicts[0].Entries[0].ID + " " + conflicts[0].Entries[1].ID}
	both = Merge(both, NewRecord(settled))
	if c := both.Conflicts(); len(c) != 0 {
		t.Errorf("conflicts are %v, want none once settled", c)
	}
	j, err = both.Job("both")
	if err != nil {
		t.Fatal(err)
	}
	point, _ := j.FedBy("CP1")
	if got := point.Legs[1].Length.String(); got != "8.2 m" {
		t.Errorf("length = %s, want the one settled on, 8.2 m", got)
	}
}

// One person on two devices saw on neither what the other says.
func TestSamePersonOnTwoDevicesDiffers(t *testing.T) {
	first := Entry{ID: "tablet", Path: "supply/Ze", Value: "0.30 Ω (measured)", Who: "Jo", When: "2026-11-24"}
	apart := Entry{ID: "phone", Path: "supply/Ze", Value: "0.18 Ω (measured)", Who: "Jo", When: "2026-11-25"}
	r := NewRecord(Entry{Path: "job", Value: "yard"}, first, apart)
	if c := r.Conflicts(); len(c) != 1 || len(c[0].Entries) != 2 || r.Now("supply/Ze").ID != "phone" {
		t.Errorf("conflicts are %v and %v counts, want both, the later meanwhile", c, r.Now("supply/Ze"))
	}
	// Settled on a device whose clock is days behind: settled all the same.
	settled := Merge(r, NewRecord(Entry{ID: "settled", Path: "supply/Ze", Value: "0.30 Ω (measured)", Who: "Jo", When: "2026-11-20", Follows: r.Shown("supply/Ze")}))
	j, err := settled.Job("x")
	if got := j.Supply.Ze.Value.String(); err != nil || got != "0.3 Ω" || len(settled.Conflicts()) != 0 {
		t.Errorf("Ze = %s, %v, conflicts %v, want 0.3 Ω and none", got, err, settled.Conflicts())
	}
}

func TestItemTakenOut(t *testing.T) {
	base := []Entry{
		{Path: "boards/main board/fed from", Value: "supply"},
		{Path: "loads/lathe", Value: "1"},
		{Path: "loads/lathe/current", Value: "9 A"},
		{Path: "loads/saw", Value: "2"},
	}
	r := NewRecord(base...)
	first := r.Entries()[1]
	out := Merge(r, NewRecord(Entry{Path: "loads/lathe", Follows: first.ID}))
	j, err := out.Job("x")
	if err != nil || len(j.Loads) != 1 || j.Loads[0].Name != "saw" {
		t.Errorf("loads are %v, %v, want the saw alone", j.Loads, err)
	}
	other := Merge(r, NewRecord(Entry{Path: "loads/lathe"})) // someone who never saw it
	if c := other.Conflicts(); len(c) != 1 {
		t.Errorf("conflicts are %v, want whether the lathe is there", c)
	}
}

// Entries that come from elsewhere are judged as a file would be.
func TestRecordProblems(t *testing.T) {
	_, err := NewRecord(
		Entry{Path: "supply/Ze", Value: "25 m"},
		Entry{Path: "supply/Zee", Value: "0.2 Ω"},
		Entry{Path: "supply/phases/count", Value: "1"},
		Entry{Path: "site/hazards/pit/depth", Value: "1 m"},
		Entry{Path: "circuits/a~1b/from", Value: "nowhere"},
		Entry{Path: "", Value: "x"},
		Entry{Path: "circuits//from", Value: ""},
	).Job("x")
	want := `x: supply, phases: fields stand here; a whole number is wanted
x: supply, Ze, value is "25 m": a resistance in ohms is wanted, like 0.13 Ω
x: supply, "Zee": no field of that name; the nearest is Ze
x: site, hazard 1: fields stand here; words on one line are wanted
x: circuit 1: a line with name: is wanted, to tell it from the others
x: circuit "a/b", from is "nowhere": no board of that name; there is none yet
x: "": no field of that name; the fields here are job, invented, edition, stage, site, people, instruments, supply, electrodes, boards, loads, sources and more`
	lines := func(s string) []string { l := strings.Split(s, "\n"); slices.Sort(l); return l }
	if got := fmt.Sprint(err); !slices.Equal(lines(got), lines(want)) {
		t.Errorf("says\n%s\nwant\n%s", got, want)
	}
}

// someEntries draws entries that meet often: few paths, few values, few people.
func someEntries(t *rapid.T, label string) *Record {
	entry := rapid.Custom(func(t *rapid.T) Entry {
		pick := func(of ...string) string { return rapid.SampledFrom(of).Draw(t, "one") }
		return Entry{
			ID:      pick("", "", "", "a", "b"),
			Path:    pick("job", "supply/Ze", "supply/phases", "loads/lathe", "loads/lathe/current", "loads/saw", "readings/x/value", "nonsense/y"),
			Value:   pick("", "1", "2", "0.18 Ω", "180 mΩ (measured)", "9 A"),
			Who:     pick("", "Sam", "Jo"),
			When:    pick("", "2026-11-24", "2026-11-25 10:00", "yesterday"),
			Follows: pick("", "", "a", "b", "a b"),
		}
	})
	return NewRecord(rapid.SliceOfN(entry, 0, 12).Draw(t, label)...)
}

func TestMergeProperties(t *testing.T) {
	same := func(t *rapid.T, law string, a, b *Record) {
		if !slices.Equal(a.Entries(), b.Entries()) {
			t.Fatalf("merging is not %s:\n%v\n%v", law, a.Entries(), b.Entries())
		}
		ja, ea := a.Job("x")
		jb, eb := b.Job("x")
		if !reflect.DeepEqual(ja, jb) || fmt.Sprint(ea) != fmt.Sprint(eb) {
			t.Fatalf("merging is not %s in what is read:\n%s%v\n%s%v", law, Write(ja), ea, Write(jb), eb)
		}
		if !reflect.DeepEqual(a.Conflicts(), b.Conflicts()) {
			t.Fatalf("merging is not %s in what is to settle: %v, %v", law, a.Conflicts(), b.Conflicts())
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := someEntries(t, "a"), someEntries(t, "b"), someEntries(t, "c")
		ab := Merge(a, b)
		same(t, "commutative", ab, Merge(b, a))
		same(t, "associative", Merge(ab, c), Merge(a, Merge(b, c)))
		same(t, "idempotent", Merge(ab, a), ab)
		same(t, "neutral to nothing", Merge(a, &Record{}), a)
		for _, of := range []*Record{a, b} {
			for _, e := range of.Entries() {
				if !slices.Contains(ab.Entries(), e) {
					t.Fatalf("merging lost %v", e)
				}
			}
		}
	})
}
