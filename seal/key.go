package seal

import (
	"bytes"
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"golang.org/x/crypto/argon2"
	"golang.org/x/crypto/chacha20poly1305"

	"chargewright/document"
	"chargewright/drawing"
)

// Key is a firm's signing key. It is Ed25519 (RFC 8032).
type Key struct {
	Firm    string
	Made    time.Time
	Public  string       // in hexadecimal
	Former  []Succession // keys it takes the place of, oldest first
	private ed25519.PrivateKey
}

// Succession is an old key's word that a new one takes its place.
type Succession struct {
	Old       string `json:"old"`
	New       string `json:"new"`
	When      string `json:"when"`
	Signature string `json:"signature"`
}

// says is what the old key signs.
func (s Succession) says() []byte {
	return fmt.Appendf(nil, "chargewright succession 1\nold %s\nnew %s\nwhen %s\n", s.Old, s.New, s.When)
}

// Holds reports whether the old key did sign it.
func (s Succession) Holds() bool { return signatureHolds(s.Old, s.says(), s.Signature) }

// signatureHolds checks a signature whose letters are exactly those we would write.
func signatureHolds(public string, message []byte, signature string) bool {
	key, err := exactHex(public, ed25519.PublicKeySize)
	if err != nil {
		return false
	}
	sig, err := exactHex(signature, ed25519.SignatureSize)
	return err == nil && ed25519.Verify(key, message, sig)
}

// exactHex reads n bytes in small hexadecimal letters: one spelling for one
// number, so that no letter can be changed unseen.
func exactHex(text string, n int) ([]byte, error) {
	b, err := hex.DecodeString(text)
	if err != nil || len(b) != n || hex.EncodeToString(b) != text {
		return nil, fmt.Errorf("%d bytes in small hexadecimal letters are wanted", n)
	}
	return b, nil
}

// NewKey makes a key for a firm from the randomness handed in.
func NewKey(firm string, made time.Time, random io.Reader) (*Key, error) {
	seed := make([]byte, ed25519.SeedSize) // read here, so that a key depends on the bytes alone
	if _, err := io.ReadFull(random, seed); err != nil {
		return nil, fmt.Errorf("make a key: %w", err)
	}
	private := ed25519.NewKeyFromSeed(seed)
	public := private.Public().(ed25519.PublicKey)
	return &Key{Firm: firm, Made: made.UTC().Truncate(time.Second), Public: hex.EncodeToString(public), private: private}, nil
}

// Rotate makes a new key that the old one names as its successor.
func (k *Key) Rotate(made time.Time, random io.Reader) (*Key, error) {
	next, err := NewKey(k.Firm, made, random)
	if err != nil {
		return nil, err
	}
	s := Succession{Old: k.Public, New: next.Public, When: next.Made.Format(time.RFC3339)}
	s.Signature = k.sign(s.says())
	next.Former = append(append([]Succession{}, k.Former...), s)
	return next, nil
}

func (k *Key) sign(message []byte) string {
	return hex.EncodeToString(ed25519.Sign(k.private, message))
}

// Cost of trying one passphrase: argon2id, RFC 9106, second recommended choice.
const (
	tries    = 3
	memory   = 64 * 1024 // KiB
	threads  = 4
	saltSize = 16
)

// shortest is the fewest letters of a passphrase.
const shortest = 12

// keyFile is a key at rest: all open but the private key, which a passphrase
// seals with argon2id and XChaCha20-Poly1305.
type keyFile struct {
	Format string       `json:"format"`
	Firm   string       `json:"firm"`
	Made   string       `json:"made"`
	Public string       `json:"public"`
	Former []Succession `json:"former,omitempty"`
	Salt   string       `json:"salt"`
	Nonce  string       `json:"nonce"`
	Sealed string       `json:"sealed"`
}

const keyFormat = "chargewright key 1"

// bound ties what stands open in the file to what is sealed.
func (f keyFile) bound() []byte {
	b, _ := json.Marshal([]any{f.Format, f.Firm, f.Made, f.Public, f.Former}) // texts only: cannot fail
	return b
}

// Lock writes the key as a file that the passphrase opens.
func (k *Key) Lock(passphrase []byte, random io.Reader) ([]byte, error) {
	if len(passphrase) < shortest {
		return nil, fmt.Errorf("the passphrase has %d letters: %d or more are wanted, such as four words", len(passphrase), shortest)
	}
	salt, nonce := make([]byte, saltSize), make([]byte, chacha20poly1305.NonceSizeX)
	for _, b := range [][]byte{salt, nonce} {
		if _, err := io.ReadFull(random, b); err != nil {
			return nil, fmt.Errorf("lock the key: %w", err)
		}
	}
	f := keyFile{Format: keyFormat, Firm: k.Firm, Made: k.Made.Format(time.RFC3339), Public: k.Public, Former: k.Former, Salt: hex.EncodeToString(salt),
		Nonce: hex.EncodeToString(nonce)}
	box, err := chacha20poly1305.NewX(stretched(passphrase, salt))
	if err != nil {
		return nil, fmt.Errorf("lock the key: %w", err)
	}
	f.Sealed = hex.EncodeToString(box.Seal(nil, nonce, k.private.Seed(), f.bound()))
	out, err := json.MarshalIndent(f, "", "  ")
	return append(out, '\n'), err
}

// stretched makes a passphrase costly to guess.
func stretched(passphrase, salt []byte) []byte {
	return argon2.IDKey(passphrase, salt, tries, memory, threads, chacha20poly1305.KeySize)
}

// readKeyFile reads what stands open in a key file.
func readKeyFile(file []byte) (keyFile, error) {
	var f keyFile
	d := json.NewDecoder(bytes.NewReader(file))
	d.DisallowUnknownFields()
	if err := d.Decode(&f); err != nil || f.Format != keyFormat {
		return f, errors.New("this is no key file of this program")
	}
	if _, err := exactHex(f.Public, ed25519.PublicKeySize); err != nil {
		return f, errors.New("the key file holds no public key")
	}
	return f, nil
}

// key is the open part of a key file.
func (f keyFile) key() *Key {
	made, _ := time.Parse(time.RFC3339, f.Made)
	return &Key{Firm: f.Firm, Made: made, Public: f.Public, Former: f.Former}
}

// PublicKey reads the open part of a key file: no passphrase is needed.
func PublicKey(file []byte) (*Key, error) {
	f, err := readKeyFile(file)
	if err != nil {
		return nil, err
	}
	return f.key(), nil
}

// Unlock opens a key file with its passphrase.
func Unlock(file, passphrase []byte) (*Key, error) {
	f, err := readKeyFile(file)
	if err != nil {
		return nil, err
	}
	salt, err1 := exactHex(f.Salt, saltSize)
	nonce, err2 := exactHex(f.Nonce, chacha20poly1305.NonceSizeX)
	sealed, err3 := hex.DecodeString(f.Sealed)
	if errors.Join(err1, err2, err3) != nil {
		return nil, errors.New("the key file is damaged")
	}
	box, err := chacha20poly1305.NewX(stretched(passphrase, salt))
	if err != nil {
		return nil, fmt.Errorf("open the key: %w", err)
	}
	seed, err := box.Open(nil, nonce, sealed, f.bound())
	if err != nil || len(seed) != ed25519.SeedSize {
		return nil, errors.New("the passphrase does not open the key, or the key file was changed")
	}
	k := f.key()
	k.private = ed25519.NewKeyFromSeed(seed)
	if hex.EncodeToString(k.private.Public().(ed25519.PublicKey)) != k.Public {
		return nil, errors.New("the key file's public key is not that of its private key")
	}
	return k, nil
}

// Sheet is a page to print and hand out: the public key in letters and as a QR
// code, the keys before it, and those of them that were revoked.
func (k *Key) Sheet(r Register) *document.Document {
	d := &document.Document{Title: "Public key of " + k.Firm, Job: "for checking what this firm signs", Made: k.Made, Mark: "key sheet",
		Subject: "Whoever has this sheet from the firm itself can tell whether a certificate was signed with its key."}
	facts := document.Facts{{What: "Firm", Value: k.Firm, Note: "as written in the key"}, {What: "Public key (Ed25519)", Value: Grouped(k.Public)},
		{What: "Made", Value: k.Made.Format("2 January 2006 15:04 MST")}}
	for _, s := range k.Former {
		facts = append(facts, document.Fact{What: "Key before it", Value: Grouped(s.Old), Note: "until " + s.When + ", as that key signed"})
	}
	for _, e := range r {
		if e.Kind == KeyRevoked {
			facts = append(facts, document.Fact{What: "Revoked key", Value: Grouped(e.Ends),
				Note: "since " + e.Issued + ": " + e.Why + ". Trust nothing it signed but what the firm's register has"})
		}
	}
	blocks := []document.Block{facts}
	if code, err := document.QR("key", "The public key as a QR code", "key "+k.Public, 32); err == nil {
		blocks = append(blocks, document.Picture{Scenes: []drawing.Scene{code}})
	}
	d.Sections = []document.Section{{Heading: "The key", Blocks: blocks}, {Heading: "How to use it", Blocks: []document.Block{document.Paragraph{
		Text: "chargewright verify FILE.pdf prints the key a file was signed with. It should be this one, letter for letter, or one of those before it. The " +
			"private key never leaves the firm; if it is lost or seen by others, the firm makes a new one and tells you."}}}}
	return d
}

// Grouped breaks a long number into groups of eight.
func Grouped(hex string) string {
	var out []byte
	for i := range len(hex) {
		if i > 0 && i%8 == 0 {
			out = append(out, ' ')
		}
		out = append(out, hex[i])
	}
	return string(out)
}
