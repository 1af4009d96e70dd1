package paper

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"chargewright/document"
	"chargewright/job"
	"chargewright/seal"
)

// steady is randomness that is the same every time.
func steady(seed byte) *rand.ChaCha8 { return rand.NewChaCha8([32]byte{seed}) }

func aKey(t testing.TB) *seal.Key {
	t.Helper()
	k, err := seal.NewKey("Sparks and Daughter (invented)", made, steady(1))
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func issuedOf(t testing.TB, p packed, k *seal.Key, r seal.Register) *Issued {
	t.Helper()
	i, err := IssueCertificate(p.m, p.fs, p.es, made, k, r, seal.Order{})
	if err != nil {
		for _, g := range Missing(p.m, p.fs, p.es, made) {
			t.Log(g)
		}
		t.Fatalf("%s: %v", p.name, err)
	}
	return i
}

// completes are the example jobs that are finished.
func completes(t testing.TB) []packed {
	return []packed{example(t, "bakery complete.yaml"), example(t, "pool complete.yaml"), example(t, "terrace complete.yaml")}
}

func TestIssuedFilesHold(t *testing.T) {
	qpdf, pdftotext, pdfdetach := tool(t, "qpdf", "qpdf"), tool(t, "pdftotext", "poppler-utils"), tool(t, "pdfdetach", "poppler-utils")
	k := aKey(t)
	dir := t.TempDir()
	for _, p := range completes(t) {
		i := issuedOf(t, p, k, nil)
		file := filepath.Join(dir, "c.pdf")
		if err := os.WriteFile(file, i.File, 0o644); err != nil {
			t.Fatal(err)
		}
		if out := run(t, qpdf, "--check", file); strings.Contains(out, "WARNING") {
			t.Errorf("%s: %s", p.name, out)
		}
		inside := run(t, qpdf, "--qdf", "--object-streams=disable", file, "-")
		for _, want := range []string{"/Lang (en-GB)", "/Outlines ", "/Title "} {
			if !strings.Contains(inside, want) {
				t.Errorf("%s: the PDF has no %s", p.name, want)
			}
		}
		text := run(t, pdftotext, "-layout", file, "-")
		for _, want := range []string{"certificate 2026-0001, issue 1", "Schedule of inspections", "Ω", "mm²", "IΔn", "page 1 of", "invented"} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: the text has no %q", p.name, want)
			}
		}
		if bounds := regexp.MustCompile(`results: pages? (\d+ to )?\d+`).FindString(strings.Join(strings.Fields(run(t, pdftotext, "-raw", file, "-")), " ")); bounds == "" || !strings.HasSuffix(bounds, fmt.Sprint(lastResult(p, k, i))) {
			t.Errorf("%s: %q, and the results end on page %d", p.name, bounds, lastResult(p, k, i))
		}
		if strings.Contains(text, document.Draft) || strings.Contains(text, notKnown) {
			t.Errorf("%s: an issued certificate says %q or %q", p.name, document.Draft, notKnown)
		}
		detached := filepath.Join(dir, "job.json")
		run(t, pdfdetach, "-save", "1", "-o", detached, file)
		data, err := os.ReadFile(detached)
		if err != nil {
			t.Fatal(err)
		}
		back, err := job.Read("job.json", data)
		if err != nil || !reflect.DeepEqual(back, p.m.Job) {
			t.Errorf("%s: the attached data is not the job (%v)", p.name, err)
		}
		h := sha256.Sum256(data)
		if got := hex.EncodeToString(h[:]); got != i.Statement.Data || !strings.Contains(strings.ReplaceAll(text, " ", ""), got) {
			t.Errorf("%s: the sum of the data, %s, is not the one signed and printed", p.name, got)
		}
		if c := seal.Check(i.File); !c.Unchanged || c.Statement.Number != "2026-0001" || c.Statement.Pages() != len(issuedPages(p, k, i)) {
			t.Errorf("%s: Check = %+v", p.name, c)
		}
		again := issuedOf(t, p, k, nil)
		if !bytes.Equal(again.File, i.File) {
			t.Errorf("%s: the same issue makes other bytes", p.name)
		}
	}
}

// issuedPages is the pages of an issue.
func issuedPages(p packed, k *seal.Key, of *Issued) []document.Page {
	s := of.Statement
	return certificatePaper(p.m, p.fs, p.es, made, &Issue{Number: s.Number, Times: s.Issue, At: made, Firm: k.Firm, Key: k.Public, Data: s.Data, Slip: k.Slip(s.Number, s.Issue, s.Data)}).Pages()
}

// lastResult is the last page with a test result of the certificate of a job.
func lastResult(p packed, k *seal.Key, of *Issued) int {
	last := 0
	for i, page := range issuedPages(p, k, of) {
		for _, text := range page.Scene.Texts() {
			if text.Text == "Calibrated until" {
				last = i + 1
			}
		}
	}
	return last
}

// TestEveryByteCounts: a byte changed, added or taken away anywhere is seen.
// Every byte of the seal and of the ending is tried, of the rest every fifth.
func TestEveryByteCounts(t *testing.T) {
	file := issuedOf(t, example(t, "terrace complete.yaml"), aKey(t), nil).File
	if !seal.Check(file).Unchanged {
		t.Fatal("the file as issued is said to be changed")
	}
	sealed := bytes.LastIndex(file, []byte(seal.Mark))
	work := bytes.Clone(file)
	for at := 0; at < len(file); at++ {
		if at < sealed && at%5 != 0 {
			continue
		}
		for _, flip := range []byte{1, 0x20, 0x80} {
			if at < sealed && flip != 1 {
				continue
			}
			work[at] ^= flip
			if c := seal.Check(work); c.Unchanged {
				t.Fatalf("byte %d of %d changed by %#x is not seen", at, len(file), flip)
			}
			work[at] = file[at]
		}
	}
	for n := 0; n < len(file); n += 997 {
		if seal.Check(file[:n]).Unchanged {
			t.Errorf("the first %d bytes alone are said to be unchanged", n)
		}
	}
	for _, tail := range []string{"\n", " ", "%", "startxref\n0\n%%EOF\n", string(file[sealed:])} {
		if seal.Check(append(bytes.Clone(file), tail...)).Unchanged {
			t.Errorf("%q added at the end is not seen", tail)
		}
	}
	at := bytes.Index(file, []byte("%PDF")) + 9
	if seal.Check(append(append(bytes.Clone(file[:at]), ' '), file[at:]...)).Unchanged {
		t.Error("a byte put in is not seen")
	}
}

// TestCheckNamesWhatWasChanged: the data, a page, or the file around them.
func TestCheckNamesWhatWasChanged(t *testing.T) {
	i := issuedOf(t, example(t, "terrace complete.yaml"), aKey(t), nil)
	c := seal.Check(i.File)
	for _, p := range c.Statement.Parts {
		work := bytes.Clone(i.File)
		work[(p.From+p.To)/2] ^= 4
		if got := seal.Check(work); got.Unchanged || len(got.Changed) != 1 || got.Changed[0] != p.Name+" was changed" {
			t.Errorf("%s changed: %q", p.Name, got.Why)
		}
	}
}

// TestTenThousandMangledFiles: no bytes make Check fail, and none pass.
func TestTenThousandMangledFiles(t *testing.T) {
	file := issuedOf(t, example(t, "terrace complete.yaml"), aKey(t), nil).File
	file = file[len(file)-12000:] // the seal and what stands before it
	r := rand.New(steady(9))
	for n := range 10000 {
		work := bytes.Clone(file)
		for range 1 + r.IntN(6) {
			from := r.IntN(len(work))
			switch r.IntN(4) {
			case 0:
				work[from] = byte(r.Uint32())
			case 1:
				work = work[:from+1]
			case 2:
				to := from + r.IntN(len(work)-from)
				work = append(work[:from:from], work[to:]...)
			default:
				work = append(work[:from:from], append(bytes.Clone(work[r.IntN(len(work)):]), work[from:]...)...)
			}
			if len(work) == 0 {
				work = []byte{0}
			}
		}
		if seal.Check(work).Unchanged {
			t.Fatalf("mangled file %d is said to be unchanged", n)
		}
	}
}

func FuzzCheck(f *testing.F) {
	file := issuedOf(f, example(f, "terrace complete.yaml"), aKey(f), nil).File
	f.Add(file)
	f.Add(file[len(file)-5000:])
	f.Add([]byte(seal.Mark + "{} 00\n"))
	f.Add([]byte("%PDF-1.7\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if c := seal.Check(b); c.Unchanged && !bytes.Equal(b, file) && c.Statement.Key == aKey(t).Public {
			t.Error("other bytes pass as signed by the same key")
		}
	})
}

// TestTwoHundredCircuitsAreCertified: every circuit stands in the schedule,
// four to a table.
func TestTwoHundredCircuitsAreCertified(t *testing.T) {
	p := manyCircuits(t, 200)
	printed := map[string]bool{}
	for _, page := range certificatePaper(p.m, p.fs, p.es, made, nil).Pages() {
		for _, text := range page.Scene.Texts() {
			printed[text.Text] = true
		}
	}
	for i := range 200 {
		if name := fmt.Sprintf("row %d", i+1); !printed[name] {
			t.Errorf("%q is not in the schedule", name)
		}
	}
}

func BenchmarkCertificate(b *testing.B) {
	k := aKey(b)
	p := example(b, "bakery complete.yaml")
	b.ReportAllocs()
	for b.Loop() {
		issuedOf(b, p, k, nil)
	}
}

func BenchmarkCheck(b *testing.B) {
	file := issuedOf(b, example(b, "bakery complete.yaml"), aKey(b), nil).File
	b.SetBytes(int64(len(file)))
	for b.Loop() {
		if !seal.Check(file).Unchanged {
			b.Fatal("changed")
		}
	}
}

// BenchmarkThousandCertificates is a firm's year on one core, one job after
// another.
func BenchmarkThousandCertificates(b *testing.B) {
	k := aKey(b)
	p := example(b, "bakery complete.yaml")
	for b.Loop() {
		for range 1000 {
			issuedOf(b, p, k, nil)
		}
	}
}
