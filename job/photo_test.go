package job

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestTwoChoicesOfOnePhoto: two people apart choose whether a photo is put on
// the papers. Whichever way round they are merged the record is the same; the
// difference is shown exactly where they differ, and is gone once it is settled.
func TestTwoChoicesOfOnePhoto(t *testing.T) {
	const item = "photos/cut-out-1.jpg"
	rapid.Check(t, func(t *rapid.T) {
		there := NewRecord(Entry{ID: "p1", Path: item, Value: "1", Who: "Cy", When: "2026-11-25 08:00"}, Entry{ID: "p2", Path: item + "/of", Value: OfCutOut, Who: "Cy", When: "2026-11-25 08:00"})
		choose := func(id, who string) Entry {
			return Entry{ID: id, Path: item + "/on papers", Who: who, Value: rapid.SampledFrom([]string{"yes", "Yes", "no", "true", "false"}).Draw(t, who),
				When: rapid.SampledFrom([]string{"2026-11-25 09:00", "2026-11-25 10:00"}).Draw(t, who+" at")}
		}
		ann, bert := choose("a", "Ann"), choose("b", "Bert")
		ab, ba := Merge(Merge(there, NewRecord(ann)), NewRecord(bert)), Merge(NewRecord(bert), Merge(NewRecord(ann), there))
		if !slices.Equal(ab.Entries(), ba.Entries()) {
			t.Fatalf("merged one way %v, the other %v", ab.Entries(), ba.Entries())
		}
		means := func(e Entry) bool { yes, _ := parseYesNo(e.Value); return yes }
		conflicts := ab.Conflicts()
		if differ := means(ann) != means(bert); differ != (len(conflicts) == 1) {
			t.Fatalf("Ann says %q, Bert %q, and %d differences are shown", ann.Value, bert.Value, len(conflicts))
		}
		settled := Merge(ab, NewRecord(Entry{ID: "c", Path: ann.Path, Value: "yes", Who: "Cy", When: "2026-11-25 08:30", Follows: "a b"}))
		if c := settled.Conflicts(); len(c) != 0 {
			t.Fatalf("settled, and still shown: %v", c)
		}
		j, err := settled.Job("")
		if err != nil || len(j.Chosen()) != 1 {
			t.Fatalf("chosen %v, %v; want the one photo", j.Chosen(), err)
		}
	})
}

// TestNoPhotoIsChosenByItself, and none by being there.
func TestNoPhotoIsChosenByItself(t *testing.T) {
	text := "job: a\nphotos:\n  - name: a-1.jpg\n    of: cut-out\n  - name: b-1.png\n    of: job\n    on papers: no\n  - name: c-1.jpg\n    of: meter and tails\n    on papers: yes\n"
	j, err := Read("a.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if c := j.Chosen(); len(c) != 1 || c[0].Name != "c-1.jpg" {
		t.Errorf("chosen: %v, want c-1.jpg alone", c)
	}
	again, err := Read("b.yaml", Write(j))
	if err != nil || !slices.Equal(again.Photos, j.Photos) {
		t.Errorf("written and read again: %v, %v", again.Photos, err)
	}
}

// TestPhotosOfEveryPart: each part of an example can be named, and a part that
// is gone is told of without anything being refused.
func TestPhotosOfEveryPart(t *testing.T) {
	text := "job: a\nboards:\n  - name: main board\n    fed from: supply\n    RCDs:\n      - name: first\nsupply:\n  main bonding:\n    - to: water\ncircuits:\n  - name: way/1\n    from: main board\n    to: CP1\n    legs:\n      - name: loft\npoints:\n  - name: CP1\nphotos:\n"
	for i, of := range []string{OfJob, OfStreet, OfCutOut, OfMeter, OfEarthing, "board main board", "board main board, RCD first", "supply, main bonding water", "circuit way/1", "circuit way/1, leg loft", "point CP1"} {
		text += "  - name: p-" + string(rune('a'+i)) + ".jpg\n    of: " + of + "\n"
	}
	if _, err := Read("a.yaml", []byte(text)); err != nil {
		t.Error(err)
	}
	f, err := ReadRecord("a.yaml", []byte(strings.Replace(text, "of: point CP1", "of: point CP2", 1)))
	if err == nil || !strings.Contains(err.Error(), "a.yaml:40: ") || !strings.Contains(err.Error(), "the nearest is point CP1") {
		t.Errorf("a photo of a part that is gone: %v", err)
	}
	if got := f.LineOf("p-k.jpg", "of"); got != 40 {
		t.Errorf("LineOf = %d, want 40", got)
	}
	if got, none := f.LineOf("p-k.jpg", "caption"), f.LineOf("p-z.jpg", "of"); got != 39 || none != 0 {
		t.Errorf("LineOf = %d and %d, want the photo's own line 39, and 0", got, none)
	}
}
