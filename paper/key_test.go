package paper

import (
	"bytes"
	"strings"
	"testing"

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
		if r, err = seal.ReadRegister(text); err != nil {
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
	if _, err := seal.ReadRegister(append(bytes.Clone(lines[0]), lines[2]...)); err == nil {
		t.Error("a line taken out of the register is not seen")
	}
	for at := 0; at < len(text); at += 3 {
		work := bytes.Clone(text)
		work[at] ^= 1
		if _, err := seal.ReadRegister(work); err == nil {
			t.Fatalf("byte %d of the register changed is not seen", at)
		}
	}
}
