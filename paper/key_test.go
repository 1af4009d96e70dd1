package paper

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"chargewright/document"
	"chargewright/seal"
)

// TestForgedSeal: whoever changes the file and signs it anew does so with
// another key, and that is what is said.
func TestForgedSeal(t *testing.T) {
	k := aKey(t)
	p := example(t, "terrace complete.yaml")
	forger, err := seal.NewKey(k.Firm, made, steady(66))
	if err != nil {
		t.Fatal(err)
	}
	c := seal.Check(issuedOf(t, p, forger, nil).File)
	if says, its := c.Statement.Signer(k); its || !strings.Contains(says, "not the key") {
		t.Errorf("of a forger's key: %q, %v", says, its)
	}
	heir, err := forger.Rotate(made, steady(67))
	if err != nil {
		t.Fatal(err)
	}
	forged := heir.Former[0] // signed, but not by the key it names
	forged.Old, forged.New = k.Public, forger.Public
	c.Statement.Former = []seal.Succession{forged}
	if _, its := c.Statement.Signer(k); its {
		t.Error("a succession that the old key did not sign is believed")
	}
	if _, its := c.Statement.Signer(nil); its {
		t.Error("a key is said to be the firm's without anything to hold it against")
	}
}

// TestASuccessionIsBelieved both ways, and only as it was signed.
func TestASuccessionIsBelieved(t *testing.T) {
	k := aKey(t)
	next, err := k.Rotate(made.AddDate(1, 0, 0), steady(3))
	if err != nil {
		t.Fatal(err)
	}
	third, err := next.Rotate(made.AddDate(2, 0, 0), steady(4))
	if err != nil {
		t.Fatal(err)
	}
	old := seal.Check(issuedOf(t, example(t, "terrace complete.yaml"), k, nil).File).Statement
	if says, its := old.Signer(third); !its || !strings.Contains(says, "former key") {
		t.Errorf("of the first key, two rotations on: %q", says)
	}
	later := seal.Check(issuedOf(t, example(t, "terrace complete.yaml"), third, nil).File).Statement
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
	var r seal.Register
	enter := func(p packed) *Issued {
		t.Helper()
		i := issuedOf(t, p, k, r)
		text = append(text, i.Line...)
		var err error
		if r, err = seal.ReadRegister(text, k); err != nil {
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
	if !second.Statement.Supersedes(first.Statement) && !seal.Check(second.File).Statement.Supersedes(seal.Check(first.File).Statement) {
		t.Error("the second issue does not take the place of the first")
	}
	if again, ordered := r.Ordered(seal.Order{}); ordered {
		t.Errorf("an order without a name was %v", again)
	}
	lines := bytes.SplitAfter(text, []byte("\n"))
	if _, err := seal.ReadRegister(append(bytes.Clone(lines[0]), lines[2]...), k); err == nil {
		t.Error("a line taken out of the register is not seen")
	}
	for at := 0; at < len(text); at += 3 {
		work := bytes.Clone(text)
		work[at] ^= 1
		if _, err := seal.ReadRegister(work, k); err == nil {
			t.Fatalf("byte %d of the register changed is not seen", at)
		}
	}
}

// TestRegisterDeniesWhatItDoesNotHold: whoever has a copy of the firm's key can
// sign anything with any date. The register says what the firm did issue.
func TestRegisterDeniesWhatItDoesNotHold(t *testing.T) {
	k, p := aKey(t), example(t, "terrace complete.yaml")
	true1 := issuedOf(t, p, k, nil)
	r, err := seal.ReadRegister(true1.Line, k)
	if err != nil {
		t.Fatal(err)
	}
	verify := func(file []byte, r seal.Register, known *seal.Key) seal.Verified {
		return seal.Verify([]document.File{{Name: "it.pdf", Content: file}}, known, r, nil)[0]
	}
	if v := verify(true1.File, r, k); v.False || !strings.HasPrefix(v.Register, "yes") || v.Says()[0].What != "register" {
		t.Errorf("what was issued: %+v", v)
	}
	again := issuedOf(t, example(t, "bakery complete.yaml"), k, nil) // the same number, another paper
	if v := verify(again.File, r, k); !v.Unchanged || !v.False || !strings.Contains(v.Register, "another file") {
		t.Errorf("a second paper under a number of the register: %+v", v)
	}
	unseen := issuedOf(t, example(t, "bakery complete.yaml"), k, r)
	if v := verify(unseen.File, r, k); !v.Unchanged || !v.False || !strings.Contains(v.Register, "did not issue it") {
		t.Errorf("a paper that is not in the register: %+v", v)
	}
	if v := verify(unseen.File, nil, k); v.False || v.Register != "" {
		t.Errorf("without a register nothing is denied: %+v", v)
	}
}

// TestAnEndedKeySignsNothingMore: a replaced key is good for what it signed
// before, a revoked one for what the register has, whatever date a file bears.
func TestAnEndedKeySignsNothingMore(t *testing.T) {
	k, p := aKey(t), example(t, "terrace complete.yaml")
	before := issuedOf(t, p, k, nil)
	lines := before.Line
	grow := func(line []byte) seal.Register {
		t.Helper()
		lines = append(lines, line...)
		r, err := seal.ReadRegister(lines, nil)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	r := grow(nil)
	issued, err := time.Parse(time.RFC3339, before.Statement.Issued)
	if err != nil {
		t.Fatal(err)
	}
	fresh, err := k.Rotate(issued.Add(-time.Hour), steady(7))
	if err != nil {
		t.Fatal(err)
	}
	late := seal.Verify([]document.File{{Name: "it.pdf", Content: before.File}}, fresh, nil, nil)[0]
	if !late.Unchanged || !late.False || !strings.Contains(late.Ended, "issued later") {
		t.Errorf("issued after its key was replaced: %+v", late)
	}
	if fresh, err = k.Rotate(issued.Add(time.Hour), steady(7)); err != nil {
		t.Fatal(err)
	}
	if v := seal.Verify([]document.File{{Name: "it.pdf", Content: before.File}}, fresh, r, nil)[0]; v.False || !strings.HasPrefix(v.Ended, "yes") {
		t.Errorf("issued before its key was replaced: %+v", v)
	}
	backdated := issuedOf(t, example(t, "bakery complete.yaml"), k, r)
	if r.Allows(k) != nil {
		t.Error("a key in use may not sign")
	}
	r = grow(r.End(seal.KeyReplaced, k.Public, "by another", issued.Add(time.Hour), fresh))
	r = grow(r.End(seal.KeyRevoked, k.Public, "lost with the laptop", issued.Add(2*time.Hour), fresh))
	if err := r.Allows(k); err == nil || !strings.Contains(err.Error(), "lost with the laptop") {
		t.Errorf("a revoked key may sign: %v", err)
	}
	if _, err := IssueCertificate(p.m, p.fs, p.es, issued, k, r, seal.Order{}); err == nil {
		t.Error("a certificate is issued with a revoked key")
	}
	if v := seal.Verify([]document.File{{Name: "it.pdf", Content: backdated.File}}, fresh, r, nil)[0]; !v.Unchanged || !v.False || !strings.Contains(v.Ended, "revoked") {
		t.Errorf("signed with a revoked key, with an early date: %+v", v)
	}
	if v := seal.Verify([]document.File{{Name: "it.pdf", Content: before.File}}, fresh, r, nil)[0]; v.False {
		t.Errorf("what the register has stands when its key is revoked: %+v", v)
	}
	if sheet := text(fresh.Sheet(r)); !strings.Contains(sheet, "Revoked key") || !strings.Contains(sheet, "lost with the laptop") {
		t.Errorf("the key sheet names no revoked key: %s", sheet)
	}
	if got := r.Of("", "", ""); len(got) != 0 {
		t.Errorf("a line that ends a key is taken for a paper: %v", got)
	}
}
