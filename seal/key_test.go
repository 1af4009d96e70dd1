package seal

import (
	"bytes"
	"encoding/hex"
	"math/rand/v2"
	"testing"
	"time"
)

// always is randomness that is the same every time.
func always(seed byte) *rand.ChaCha8 { return rand.NewChaCha8([32]byte{seed}) }

func lockedKey(t testing.TB) *Key {
	t.Helper()
	k, err := NewKey("Sparks and Daughter (invented)", time.Date(2026, 11, 25, 14, 5, 0, 0, time.UTC), always(1))
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestKeyIsLocked(t *testing.T) {
	k := lockedKey(t)
	if _, err := k.Lock([]byte("too short"), always(2)); err == nil {
		t.Error("a short passphrase is taken")
	}
	file, err := k.Lock([]byte("four plain words here"), always(2))
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
}

// FuzzPublicKey: a key file of any bytes is read or refused.
func FuzzPublicKey(f *testing.F) {
	locked, err := lockedKey(f).Lock([]byte("four plain words here"), always(2))
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

// FuzzReadRegister: what is accepted was signed, line by line, and is written
// back letter for letter.
func FuzzReadRegister(f *testing.F) {
	k := lockedKey(f)
	f.Add([]byte{})
	f.Add([]byte("{}\n"))
	f.Add(Register(nil).Add(Statement{Kind: "electrical installation certificate", Number: "2026-0001", Issue: 1, Issued: "2026-11-25T14:05:00Z", Job: "Invented terrace"}, Order{}, []byte("a file"), k))
	f.Fuzz(func(t *testing.T, text []byte) {
		r, err := ReadRegister(text, k)
		if err != nil {
			return
		}
		var back []byte
		for _, e := range r {
			if e.Key != k.Public || !signatureHolds(e.Key, e.says(), e.Signature) {
				t.Fatal("a line without the firm's signature is accepted")
			}
			back = append(append(back, e.line()...), '\n')
		}
		if len(r) > 0 && !bytes.Contains(text, []byte("\n\n")) && !bytes.Equal(bytes.Trim(text, "\n"), bytes.Trim(back, "\n")) {
			t.Fatalf("read %q, wrote %q", text, back)
		}
	})
}

// TestARegisterIsTheFirmsAlone: who can write the file adds a line of their own,
// signed well, by a key of their own; or by one of the firm's that was ended.
func TestARegisterIsTheFirmsAlone(t *testing.T) {
	at := time.Date(2026, 11, 25, 14, 5, 0, 0, time.UTC)
	k := lockedKey(t)
	line := func(r Register, by *Key) []byte {
		return r.Add(Statement{Kind: "electrical installation certificate", Number: "2026-0001", Issue: 1, Issued: "2026-11-25T14:05:00Z"}, Order{}, []byte("a file"), by)
	}
	text := line(nil, k)
	r, err := ReadRegister(text, k)
	if err != nil {
		t.Fatal(err)
	}
	stranger, err := NewKey(k.Firm, at, always(9))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := ReadRegister(append(bytes.Clone(text), line(r, stranger)...), k); err == nil {
		t.Error("a stranger's line is read as the firm's")
	}
	heir, err := stranger.Rotate(at, always(10))
	if err != nil {
		t.Fatal(err)
	}
	claims := *k // the firm's key beside links that lead to another
	claims.Former = heir.Former
	if _, err := ReadRegister(line(nil, stranger), &claims); err == nil {
		t.Error("a link that does not lead to the firm's key is believed")
	}
	next, err := k.Rotate(at.AddDate(1, 0, 0), always(11))
	if err != nil {
		t.Fatal(err)
	}
	text = append(text, r.End(KeyReplaced, k.Public, "by another", at.AddDate(1, 0, 0), next)...)
	r, err = ReadRegister(text, next)
	if err != nil || len(r) != 2 {
		t.Fatalf("a former key's line before its end is refused: %v", err)
	}
	if _, err := ReadRegister(append(bytes.Clone(text), line(r, next)...), next); err != nil {
		t.Errorf("the new key's line is refused: %v", err)
	}
	if _, err := ReadRegister(append(bytes.Clone(text), line(r, k)...), next); err == nil {
		t.Error("a line signed by a key after its end is read")
	}
}
