package seal

import (
	"bytes"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
)

// TestASlipIsOneKeysWord: a code with any letter changed is no longer the key's
// word, and what is no code is said to be none.
func TestASlipIsOneKeysWord(t *testing.T) {
	k, err := NewKey("Sparks and Daughter (invented)", time.Unix(0, 0), rand.NewChaCha8([32]byte{1}))
	if err != nil {
		t.Fatal(err)
	}
	text := []byte(k.Slip("2026-0007", 2, Sum([]byte("a job"))).Text())
	s, err := ReadSlip(append(bytes.ReplaceAll(text, []byte("\n"), []byte("\r\n")), '\n'))
	if err != nil || !s.Holds() || s.Number != "2026-0007" || s.Issue != 2 || s.Key != k.Public {
		t.Fatalf("ReadSlip = %+v, %v", s, err)
	}
	if _, ours, denied := s.Said(k, nil); !ours || denied {
		t.Errorf("Said: ours %v, denied %v", ours, denied)
	}
	for at := range text {
		for _, flip := range []byte{1, 0x20} {
			work := bytes.Clone(text)
			work[at] ^= flip
			if s, err := ReadSlip(work); err == nil && s.Holds() {
				t.Errorf("letter %d changed to %q is not seen", at, work[at])
			}
		}
	}
	if _, err := ReadSlip([]byte(strings.Replace(string(text), "key ", "lock ", 1))); err == nil {
		t.Error("a code without a key is read")
	}
}
