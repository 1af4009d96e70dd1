package paper

import (
	"bytes"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"chargewright/quantity"
	"chargewright/works"
)

var pageObject = regexp.MustCompile(`<</Type /Page\n`)

// TestAHouseIsTwentyPages: what a customer is given is read only where it is
// short, and a firm files what it can find again. Twelve points alike are told
// once: more points add labels and readings, not workings.
func TestAHouseIsTwentyPages(t *testing.T) {
	pages := func(p packed) (all int, by map[string]int) {
		files, err := Pack(p.m, p.fs, p.es, nil, made)
		if err != nil {
			t.Fatal(err)
		}
		by = map[string]int{}
		for _, f := range files {
			n := len(pageObject.FindAll(f.Content, -1))
			by[f.Folder] += n
			by[f.Name] = n
			all += n
		}
		return all, by
	}
	all, by := pages(example(t, "terrace complete.yaml"))
	t.Logf("the house: %d pages, %v", all, by)
	if by[draftCertificate] > 4 {
		t.Errorf("the certificate of one circuit has %d pages, and 4 are enough", by[draftCertificate])
	}
	if all > 20 || by[ForTheCustomer] > 12 {
		t.Errorf("a house with one point has %d pages, %d for the customer: 20 and 12 are the most", all, by[ForTheCustomer])
	}
	one, twelve := alikePoints(t, 1), alikePoints(t, 12)
	_, few := pages(one)
	_, many := pages(twelve)
	for _, paper := range []string{"design-sheet.pdf", "settings-card.pdf", "owner.pdf", "isolation.pdf"} {
		if many[paper] > few[paper]+2 { // each has its leg in a table
			t.Errorf("%s has %d pages for twelve points alike and %d for one", paper, many[paper], few[paper])
		}
	}
	if many["test-sheet.pdf"] > few["test-sheet.pdf"]+3 {
		t.Errorf("the test sheet has %d pages for twelve points alike and %d for one", many["test-sheet.pdf"], few["test-sheet.pdf"])
	}
}

// alikePoints is the house with n points that differ only in name, way, line and
// length.
func alikePoints(t testing.TB, n int) packed {
	p := example(t, "terrace complete.yaml")
	j := *p.m.Job
	point, circuit := j.Points[0], j.Circuits[0]
	j.Name, j.Points, j.Circuits, j.Readings = "Points alike", nil, nil, nil
	for i := range n {
		point.Name, circuit.Name = fmt.Sprintf("P%d", i+1), fmt.Sprintf("row %d", i+1)
		circuit.To, circuit.Way = point.Name, fmt.Sprint(i+1)
		circuit.Legs = append([]works.Leg{}, circuit.Legs...)
		circuit.Legs[0].Length = quantity.Known(quantity.Metres(4 + i))
		j.Points, j.Circuits = append(j.Points, point), append(j.Circuits, circuit)
	}
	j.Boards = append([]works.Board{}, j.Boards...)
	j.Boards[0].Ways = quantity.Known(24)
	return of(t, "alike", &j)
}

// TestEnvelopesAreBound: three PDFs on request, each with every page of its
// papers in their order, and no draft certificate in the customer's.
func TestEnvelopesAreBound(t *testing.T) {
	qpdf := tool(t, "qpdf", "qpdf")
	p := example(t, "terrace complete.yaml")
	set, err := Pack(p.m, p.fs, p.es, nil, made)
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]int{}
	for _, f := range set {
		if f.Name != draftCertificate {
			want[f.Folder+".pdf"] += len(pageObject.FindAll(f.Content, -1))
		}
	}
	bound, err := Bound(p.m, p.fs, p.es, nil, made)
	if err != nil || len(bound) != 3 {
		t.Fatalf("Bound = %d files, %v", len(bound), err)
	}
	for _, f := range bound {
		if got := len(pageObject.FindAll(f.Content, -1)); got != want[f.Name] || got == 0 {
			t.Errorf("%s has %d pages, and its papers have %d", f.Name, got, want[f.Name])
		}
		file := t.TempDir() + "/" + f.Name
		if err := os.WriteFile(file, f.Content, 0o644); err != nil {
			t.Fatal(err)
		}
		if out := run(t, qpdf, "--check", file); strings.Contains(out, "WARNING") {
			t.Errorf("%s: %s", f.Name, out)
		}
	}
}

// TestTheCutOutGoesWithTheNotice: the operator asks for a photo of it; one that is
// chosen and at hand is bound in, and one that is not is asked for.
func TestTheCutOutGoesWithTheNotice(t *testing.T) {
	p, photos := photographed(t, "cut-out.jpg")
	p.m.Job.Photos[0].Of = "cut-out"
	files, err := Pack(p.m, p.fs, p.es, photos, made, Notices)
	if err != nil {
		t.Fatal(err)
	}
	if notice := content(files, "notice-1-network-operator.pdf"); !bytes.Contains(notice, []byte("/DCTDecode")) {
		t.Error("the photo of the cut-out is not in the notice")
	}
	if notice := content(files, "notice-2-building-control.pdf"); bytes.Contains(notice, []byte("/DCTDecode")) {
		t.Error("the photo of the cut-out is in the notice to building control")
	}
	told, err := notices(example(t, "terrace complete.yaml").m, nil, made)
	if err != nil || !strings.Contains(text(told[0]), "add a photograph of the cut-out") {
		t.Errorf("nobody asks for a photo of the cut-out (%v)", err)
	}
}

// TestAnIssuedCertificateIsFourPages with its codes, whose text the very camera
// of a reader program finds signed.
func TestAnIssuedCertificateIsFourPages(t *testing.T) {
	k := aKey(t)
	i := issuedOf(t, example(t, "terrace complete.yaml"), k, nil)
	if n := len(pageObject.FindAll(i.File, -1)); n > 4 {
		t.Errorf("the issued certificate of one circuit has %d pages", n)
	}
	if at := os.Getenv("KEEP"); at != "" {
		save(t, at, i.File)
	}
}
