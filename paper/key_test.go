package paper

import (
	"bytes"
	"encoding/hex"
	"strings"
	"testing"
	"time"
)

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
	if again, ordered := r.Ordered(Order{}); ordered {
		t.Errorf("an order without a name was %v", again)
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
