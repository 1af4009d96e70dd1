package door

// Passwords, kept so that who reads the file does not learn them: argon2id
// (RFC 9106), at the second of the settings it recommends.

import (
	"chargewright/web"
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"net/http"
	"strings"

	"github.com/trustelem/zxcvbn"
	"golang.org/x/crypto/argon2"
)

const (
	leastPassword = 12
	mostPassword  = 1000
	mostJudged    = 60
	leastScore    = 3 // of 0 to 4: some 100 million guesses (Wheeler, zxcvbn, USENIX Security 2016)
	passes        = 3
	memory        = 64 * 1024 // KiB
	lanes         = 4
	saltBytes     = 16
	keyBytes      = 32
)

// weak says why a password is not taken: too short, or soon guessed by who knows
// which are common, how words are spelled with figures, and whose it is.
func weak(password, whose string) error {
	letters := []rune(password)
	if len(letters) < leastPassword || len(letters) > mostPassword {
		return web.Refuse(http.StatusUnprocessableEntity,
			"A password of at least %d letters, and at most %d, is wanted: four or five words are easy to remember.", leastPassword, mostPassword)
	}
	begins := string(letters[:min(len(letters), mostJudged)]) // judging takes longer the more there is
	if zxcvbn.PasswordStrength(begins, append(strings.Fields(whose), whose, "chargewright")).Score < leastScore {
		return web.Refuse(http.StatusUnprocessableEntity, "That password is soon guessed: it is common, repeats itself, or says whose it is. "+
			"Four or five words that have nothing to do with each other are hard to guess.")
	}
	return nil
}

// working bounds how many passwords are tried at once, each in 64 MiB.
var working = make(chan struct{}, 2)

func derive(password string, salt []byte) []byte {
	working <- struct{}{}
	defer func() { <-working }()
	return argon2.IDKey([]byte(password), salt, passes, memory, lanes, keyBytes)
}

// kept returns a password as it is written down.
func kept(password string) string {
	salt := make([]byte, saltBytes)
	rand.Read(salt) // never fails
	b64 := base64.RawStdEncoding.EncodeToString
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, memory, passes, lanes, b64(salt), b64(derive(password, salt)))
}

// noPassword is written down for nobody and matches nothing.
const noPassword = "$argon2id$v=19$m=65536,t=3,p=4$AAAAAAAAAAAAAAAAAAAAAA$"

// matches reports whether a password is the one written down.
func matches(written, password string) bool {
	parts := strings.Split(written, "$")
	if len(parts) != 6 {
		return false
	}
	salt, err := base64.RawStdEncoding.DecodeString(parts[4])
	if err != nil {
		return false
	}
	want, err := base64.RawStdEncoding.DecodeString(parts[5])
	return subtle.ConstantTimeCompare(derive(password, salt), want) == 1 && err == nil
}
