package paper

import (
	"bytes"
	"crypto/sha256"
	"crypto/x509"
	"encoding/hex"
	"encoding/pem"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"chargewright/job"
)

// steady is randomness that is the same every time.
func steady(seed byte) *rand.ChaCha8 { return rand.NewChaCha8([32]byte{seed}) }

func aKey(t testing.TB) *Key {
	t.Helper()
	k, err := NewKey("Sparks and Daughter (invented)", made, steady(1))
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func issuedOf(t testing.TB, p packed, k *Key, r Register) *Issued {
	t.Helper()
	i, err := IssueCertificate(p.m, p.fs, p.es, made, k, r)
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
		if bounds := regexp.MustCompile(`results: pages \d+ to \d+`).FindString(strings.Join(strings.Fields(text), " ")); bounds == "" || !strings.HasSuffix(bounds, fmt.Sprint(lastResult(p))) {
			t.Errorf("%s: %q, and the results end on page %d", p.name, bounds, lastResult(p))
		}
		if strings.Contains(text, draft) || strings.Contains(text, notKnown) {
			t.Errorf("%s: an issued certificate says %q or %q", p.name, draft, notKnown)
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
		if c := Check(i.File); !c.Unchanged || c.Statement.Number != "2026-0001" || c.Statement.pages() != len(certificatePaper(p.m, p.fs, p.es, made, &Issue{Number: "2026-0001", Times: 1, At: made}).Pages()) {
			t.Errorf("%s: Check = %+v", p.name, c)
		}
		again := issuedOf(t, p, k, nil)
		if !bytes.Equal(again.File, i.File) {
			t.Errorf("%s: the same issue makes other bytes", p.name)
		}
	}
}

// lastResult is the last page with a test result of the certificate of a job.
func lastResult(p packed) int {
	last := 0
	for i, page := range certificatePaper(p.m, p.fs, p.es, made, &Issue{Number: "2026-0001", Times: 1, At: made}).Pages() {
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
	if !Check(file).Unchanged {
		t.Fatal("the file as issued is said to be changed")
	}
	seal := bytes.LastIndex(file, []byte(sealMark))
	work := bytes.Clone(file)
	for at := 0; at < len(file); at++ {
		if at < seal && at%5 != 0 {
			continue
		}
		for _, flip := range []byte{1, 0x20, 0x80} {
			if at < seal && flip != 1 {
				continue
			}
			work[at] ^= flip
			if c := Check(work); c.Unchanged {
				t.Fatalf("byte %d of %d changed by %#x is not seen", at, len(file), flip)
			}
			work[at] = file[at]
		}
	}
	for n := 0; n < len(file); n += 997 {
		if Check(file[:n]).Unchanged {
			t.Errorf("the first %d bytes alone are said to be unchanged", n)
		}
	}
	for _, tail := range []string{"\n", " ", "%", "startxref\n0\n%%EOF\n", string(file[seal:])} {
		if Check(append(bytes.Clone(file), tail...)).Unchanged {
			t.Errorf("%q added at the end is not seen", tail)
		}
	}
	at := bytes.Index(file, []byte("%PDF")) + 9
	if Check(append(append(bytes.Clone(file[:at]), ' '), file[at:]...)).Unchanged {
		t.Error("a byte put in is not seen")
	}
}

// TestCheckNamesWhatWasChanged: the data, a page, or the file around them.
func TestCheckNamesWhatWasChanged(t *testing.T) {
	i := issuedOf(t, example(t, "terrace complete.yaml"), aKey(t), nil)
	c := Check(i.File)
	for _, p := range c.Statement.Parts {
		work := bytes.Clone(i.File)
		work[(p.From+p.To)/2] ^= 4
		if got := Check(work); got.Unchanged || len(got.Changed) != 1 || got.Changed[0] != p.Name+" was changed" {
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
		if Check(work).Unchanged {
			t.Fatalf("mangled file %d is said to be unchanged", n)
		}
	}
}

func FuzzCheck(f *testing.F) {
	file := issuedOf(f, example(f, "terrace complete.yaml"), aKey(f), nil).File
	f.Add(file)
	f.Add(file[len(file)-5000:])
	f.Add([]byte(sealMark + "{} 00\n"))
	f.Add([]byte("%PDF-1.7\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if c := Check(b); c.Unchanged && !bytes.Equal(b, file) && c.Statement.Key == aKey(t).Public {
			t.Error("other bytes pass as signed by the same key")
		}
	})
}

// TestForgedSeal: whoever changes the file and signs it anew does so with
// another key, and that is what is said.
func TestForgedSeal(t *testing.T) {
	k := aKey(t)
	p := example(t, "terrace complete.yaml")
	forger, err := NewKey(k.Firm, made, steady(66))
	if err != nil {
		t.Fatal(err)
	}
	c := Check(issuedOf(t, p, forger, nil).File)
	if says, its := c.Statement.Signer(k); its || !strings.Contains(says, "not the key") {
		t.Errorf("of a forger's key: %q, %v", says, its)
	}
	forged := Succession{Old: k.Public, New: forger.Public, When: made.Format(time.RFC3339), Signature: forger.sign([]byte("mine"))}
	c.Statement.Former = []Succession{forged}
	if _, its := c.Statement.Signer(k); its {
		t.Error("a succession that the old key did not sign is believed")
	}
	if _, its := c.Statement.Signer(nil); its {
		t.Error("a key is said to be the firm's without anything to hold it against")
	}
}

func TestKeyIsLockedAndRotated(t *testing.T) {
	k := aKey(t)
	if _, err := k.Lock([]byte("too short"), steady(2)); err == nil {
		t.Error("a short passphrase is taken")
	}
	file, err := k.Lock([]byte("four plain words here"), steady(2))
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(file, []byte(hex.EncodeToString(k.private.Seed()))) {
		t.Error("the private key stands open in its file")
	}
	back, err := Unlock(file, []byte("four plain words here"))
	if err != nil || !back.private.Equal(k.private) || back.Firm != k.Firm {
		t.Fatalf("Unlock = %v, %v", back, err)
	}
	if _, err := Unlock(file, []byte("four other words here")); err == nil {
		t.Error("another passphrase opens the key")
	}
	if _, err := Unlock(bytes.Replace(file, []byte("Daughter"), []byte("Daughtes"), 1), []byte("four plain words here")); err == nil {
		t.Error("a key file with another firm's name is taken")
	}
	next, err := k.Rotate(made.AddDate(1, 0, 0), steady(3))
	if err != nil {
		t.Fatal(err)
	}
	third, err := next.Rotate(made.AddDate(2, 0, 0), steady(4))
	if err != nil {
		t.Fatal(err)
	}
	old := Check(issuedOf(t, example(t, "terrace complete.yaml"), k, nil).File).Statement
	if says, its := old.Signer(third); !its || !strings.Contains(says, "former key") {
		t.Errorf("of the first key, two rotations on: %q", says)
	}
	later := Check(issuedOf(t, example(t, "terrace complete.yaml"), third, nil).File).Statement
	if says, its := later.Signer(k); !its || !strings.Contains(says, "later key") {
		t.Errorf("of the third key, by one who knows the first: %q", says)
	}
	if third.Former[1].When = "2001-01-01T00:00:00Z"; third.Former[1].Holds() {
		t.Error("a succession may be dated otherwise")
	}
}

func TestRegisterNumbersAndSupersedes(t *testing.T) {
	k := aKey(t)
	var text []byte
	var r Register
	enter := func(p packed) *Issued {
		t.Helper()
		i := issuedOf(t, p, k, r)
		text = append(text, i.Line...)
		var err error
		if r, err = ReadRegister(text); err != nil {
			t.Fatal(err)
		}
		return i
	}
	bakery, terrace := example(t, "bakery complete.yaml"), example(t, "terrace complete.yaml")
	first := enter(bakery)
	other := enter(terrace)
	second := enter(bakery)
	if first.Statement.Number != "2026-0001" || other.Statement.Number != "2026-0002" || second.Statement.Number != "2026-0001" || second.Statement.Issue != 2 {
		t.Errorf("numbers %v, %v, %v", first.Statement, other.Statement, second.Statement)
	}
	if later, ok := r.Later(first.Statement); !ok || later.Issue != 2 {
		t.Errorf("Later(first) = %v, %v", later, ok)
	}
	if _, ok := r.Later(second.Statement); ok {
		t.Error("the latest issue is said to be superseded")
	}
	if !second.Statement.Supersedes(first.Statement) && !Check(second.File).Statement.Supersedes(Check(first.File).Statement) {
		t.Error("the second issue does not take the place of the first")
	}
	lines := bytes.SplitAfter(text, []byte("\n"))
	if _, err := ReadRegister(append(bytes.Clone(lines[0]), lines[2]...)); err == nil {
		t.Error("a line taken out of the register is not seen")
	}
	for at := 0; at < len(text); at += 3 {
		work := bytes.Clone(text)
		work[at] ^= 1
		if _, err := ReadRegister(work); err == nil {
			t.Fatalf("byte %d of the register changed is not seen", at)
		}
	}
}

// TestAnotherProgramChecksTheSignature: openssl verifies the Ed25519 signature
// over the statement, and finds the same SHA-256 of the file before the seal.
func TestAnotherProgramChecksTheSignature(t *testing.T) {
	openssl := tool(t, "openssl", "openssl")
	k := aKey(t)
	file := issuedOf(t, example(t, "terrace complete.yaml"), k, nil).File
	before, rest, _ := bytes.Cut(file, []byte(sealMark))
	line, _, _ := bytes.Cut(rest, []byte("\n"))
	space := bytes.LastIndexByte(line, ' ')
	statement := line[:space]
	signature, err := hex.DecodeString(string(line[space+1:]))
	if err != nil {
		t.Fatal(err)
	}
	der, err := x509.MarshalPKIXPublicKey(k.private.Public())
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	at := func(name string, content []byte) string {
		save(t, filepath.Join(dir, name), content)
		return filepath.Join(dir, name)
	}
	key := at("key.pem", pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: der}))
	message, sig := at("message", append([]byte("chargewright statement 1\n"), statement...)), at("sig", signature)
	if out := run(t, openssl, "pkeyutl", "-verify", "-pubin", "-inkey", key, "-rawin", "-in", message, "-sigfile", sig); !strings.Contains(out, "Verified Successfully") {
		t.Error(out)
	}
	digest := run(t, openssl, "dgst", "-sha256", "-r", at("before", before))
	if s := Check(file).Statement; !strings.HasPrefix(digest, s.SHA256) {
		t.Errorf("openssl finds %s, the statement says %s", digest, s.SHA256)
	}
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

// TestCodesAreRead: an independent program reads the QR codes off the page.
func TestCodesAreRead(t *testing.T) {
	zbarimg, pdftoppm := tool(t, "zbarimg", "zbar-tools"), tool(t, "pdftoppm", "poppler-utils")
	k := aKey(t)
	i := issuedOf(t, example(t, "terrace complete.yaml"), k, nil)
	var sheet bytes.Buffer
	if err := k.Sheet().PDF(&sheet); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for _, tt := range []struct {
		name string
		pdf  []byte
		page int
		want string
	}{
		{"certificate", i.File, Check(i.File).Statement.pages(), "certificate 2026-0001 issue 1\nkey " + k.Public + "\ndata " + i.Statement.Data},
		{"sheet", sheet.Bytes(), 1, "key " + k.Public},
	} {
		file := filepath.Join(dir, tt.name+".pdf")
		save(t, file, tt.pdf)
		page := strconv.Itoa(tt.page)
		run(t, pdftoppm, "-r", "100", "-png", "-singlefile", "-f", page, "-l", page, file, filepath.Join(dir, tt.name))
		out, err := exec.Command(zbarimg, "-q", "--raw", filepath.Join(dir, tt.name+".png")).Output()
		if got := strings.TrimSpace(string(out)); err != nil || got != tt.want {
			t.Errorf("%s: the code reads %q (%v), want %q", tt.name, got, err, tt.want)
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
		if !Check(file).Unchanged {
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

// FuzzReadRegister: what is accepted was signed, line by line, and is written
// back letter for letter.
func FuzzReadRegister(f *testing.F) {
	k := aKey(f)
	f.Add([]byte{})
	f.Add([]byte("{}\n"))
	f.Add(issuedOf(f, example(f, "terrace complete.yaml"), k, nil).Line)
	f.Fuzz(func(t *testing.T, text []byte) {
		r, err := ReadRegister(text)
		if err != nil {
			return
		}
		var back []byte
		for _, e := range r {
			if !signatureHolds(e.Key, e.says(), e.Signature) {
				t.Fatal("a line without a signature is accepted")
			}
			back = append(append(back, e.line()...), '\n')
		}
		if len(r) > 0 && !bytes.Contains(text, []byte("\n\n")) && !bytes.Equal(bytes.Trim(text, "\n"), bytes.Trim(back, "\n")) {
			t.Fatalf("read %q, wrote %q", text, back)
		}
	})
}

// FuzzPublicKey: a key file of any bytes is read or refused.
func FuzzPublicKey(f *testing.F) {
	locked, err := aKey(f).Lock([]byte("four plain words here"), steady(2))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(locked)
	f.Add([]byte("{}"))
	f.Fuzz(func(t *testing.T, file []byte) {
		k, err := PublicKey(file)
		if err != nil {
			return
		}
		if _, err := exactHex(k.Public, 32); err != nil {
			t.Errorf("a key file without a public key is taken: %v", err)
		}
		for _, s := range k.Former {
			s.Holds()
		}
	})
}
