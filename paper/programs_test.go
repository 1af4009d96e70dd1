package paper

import (
	"bytes"
	"crypto/ed25519"
	"crypto/x509"
	"encoding/hex"
	"encoding/pem"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"chargewright/seal"
)

// TestAnotherProgramChecksTheSignature: openssl verifies the Ed25519 signature
// over the statement, and finds the same SHA-256 of the file before the seal.
func TestAnotherProgramChecksTheSignature(t *testing.T) {
	openssl := tool(t, "openssl", "openssl")
	k := aKey(t)
	file := issuedOf(t, example(t, "terrace complete.yaml"), k, nil).File
	before, rest, _ := bytes.Cut(file, []byte(seal.Mark))
	line, _, _ := bytes.Cut(rest, []byte("\n"))
	space := bytes.LastIndexByte(line, ' ')
	statement := line[:space]
	signature, err := hex.DecodeString(string(line[space+1:]))
	if err != nil {
		t.Fatal(err)
	}
	public, err := hex.DecodeString(k.Public)
	if err != nil {
		t.Fatal(err)
	}
	der, err := x509.MarshalPKIXPublicKey(ed25519.PublicKey(public))
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
	if s := seal.Check(file).Statement; !strings.HasPrefix(digest, s.SHA256) {
		t.Errorf("openssl finds %s, the statement says %s", digest, s.SHA256)
	}
}

// TestCodesAreRead: an independent program reads the QR codes off the page.
func TestCodesAreRead(t *testing.T) {
	zbarimg, pdftoppm := tool(t, "zbarimg", "zbar-tools"), tool(t, "pdftoppm", "poppler-utils")
	k := aKey(t)
	i := issuedOf(t, example(t, "terrace complete.yaml"), k, nil)
	var sheet bytes.Buffer
	if err := k.Sheet(nil).PDF(&sheet); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for _, tt := range []struct {
		name string
		pdf  []byte
		page int
		want string
	}{
		{"certificate", i.File, seal.Check(i.File).Statement.Pages(), k.Slip("2026-0001", 1, i.Statement.Data).Text()},
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
