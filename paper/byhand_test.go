package paper

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"chargewright/seal"
)

// TestPapersAreCheckedByHand runs the commands of docs/papers.md on an issued
// certificate: a firm that is gone, or this program with it, must not take the
// proof along.
func TestPapersAreCheckedByHand(t *testing.T) {
	for _, name := range []string{"qpdf", "openssl", "xxd", "sh"} {
		tool(t, name, name)
	}
	page, err := os.ReadFile("../docs/papers.md")
	if err != nil {
		t.Fatal(err)
	}
	k := aKey(t)
	i := issuedOf(t, example(t, "terrace complete.yaml"), k, nil)
	blocks := regexp.MustCompile("(?s)```sh\n(.*?)```").FindAllStringSubmatch(string(page), -1)
	blocks = slices.DeleteFunc(blocks, func(b []string) bool { return !strings.Contains(b[1], "openssl") })
	sealed := seal.Check(i.File).Statement
	want := []string{sealed.SHA256, i.Statement.Data, "", ""}
	if len(blocks) != len(want) {
		t.Fatalf("docs/papers.md has %d blocks of commands", len(blocks))
	}
	check := func(n int, file []byte) (string, error) {
		dir := t.TempDir()
		save(t, filepath.Join(dir, "certificate.pdf"), file)
		save(t, filepath.Join(dir, "code.txt"), []byte(k.Slip("2026-0001", 1, i.Statement.Data).Text()+"\n"))
		c := exec.Command("sh", "-ec", blocks[n][1])
		c.Dir, c.Env = dir, append(os.Environ(), "KEY="+k.Public)
		out, err := c.CombinedOutput()
		return string(out), err
	}
	for n, sum := range want {
		out, err := check(n, i.File)
		if err != nil || !strings.Contains(out, sum) {
			t.Errorf("block %d says %q (%v), and %s is wanted", n+1, out, err, sum)
		}
		if n == 0 && !strings.Contains(out, "Signature Verified Successfully") {
			t.Errorf("the signature is not found good: %s", out)
		}
	}
	changed := slices.Clone(i.File)
	changed[20000] ^= 1
	if out, _ := check(0, changed); sealed.SHA256 == "" || strings.Contains(out, sealed.SHA256) {
		t.Errorf("a changed byte is not seen: %s", out)
	}
}

// TestPapersAreTagged: what a reader speaks is in order, every picture is told in
// words, and what PDF/A-3 asks of the whole file is there (ISO 19005-3, our own
// list of its points, from memory; qpdf reads the file).
func TestPapersAreTagged(t *testing.T) {
	qpdf := tool(t, "qpdf", "qpdf")
	_, docs := documents(example(t, "terrace complete.yaml"))
	for _, d := range docs {
		elements := d.Structure()
		if len(elements) == 0 || elements[0].Kind != "H1" {
			t.Fatalf("%s does not begin with its title", d.Title)
		}
		level := 1
		for _, e := range elements {
			switch {
			case e.Kind == "H3" && level < 2:
				t.Errorf("%s: a heading of the third level stands under none of the second", d.Title)
			case e.Kind == "H2" || e.Kind == "H3":
				level = int(e.Kind[1] - '0')
			case e.Kind == "Figure" && e.Alt == "":
				t.Errorf("%s: a picture is told in no words", d.Title)
			case (e.Kind == "TD" || e.Kind == "TH") && elements[e.Of].Kind != "TR", e.Kind == "TR" && elements[e.Of].Kind != "Table",
				e.Kind == "LI" && elements[e.Of].Kind != "L":
				t.Errorf("%s: %s stands in %s", d.Title, e.Kind, elements[e.Of].Kind)
			}
		}
	}
	file := filepath.Join(t.TempDir(), "c.pdf")
	save(t, file, issuedOf(t, example(t, "terrace complete.yaml"), aKey(t), nil).File)
	plain := run(t, qpdf, "--qdf", "--object-streams=disable", file, "-")
	for _, want := range []string{"/MarkInfo", "/Marked true", "/StructTreeRoot", "/ParentTree", "/StructParents", "/Lang (en-GB)", "/DisplayDocTitle true", "/Outlines",
		"/OutputIntents", "/GTS_PDFA1", "<pdfaid:part>3</pdfaid:part>", "/AFRelationship /Source", "/AF ", "application#2fjson", "/ID ", "/Artifact BMC", "%PDF-1.7"} {
		if !strings.Contains(plain, want) && !strings.Contains(plain, strings.ReplaceAll(want, "#2f", "#2F")) {
			t.Errorf("the certificate has no %s", want)
		}
	}
	for _, refused := range []string{"/Encrypt", "/JavaScript", "/JS ", "/Launch", "/LZWDecode", "/SMask", "/Type /Font\n/Subtype /Type1"} {
		if strings.Contains(plain, refused) {
			t.Errorf("the certificate has %s, which the standard refuses", refused)
		}
	}
}
