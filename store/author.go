package store

// Who speaks in an act, and when. Who signed in is who speaks: an act that
// names somebody else is theirs only where a device of theirs signed it, and an
// entry bears another's name only where it carries over, word for word, what
// that person said. All else is said by who brought it.

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"slices"
	"strings"
	"time"

	"chargewright/job"
	"chargewright/works"
)

// said is SHA-256 of what an act says: all but where it stands in a journal,
// when it arrived there, who brought it, and the signature itself. A photo counts by the SHA-256
// of its content.
func (a Act) said() []byte {
	a.Place, a.Arrived, a.Brought, a.Sign = 0, "", "", ""
	if a.Photo != nil {
		p := *a.Photo
		sum := sha256.Sum256(p.Content)
		p.Bytes, p.Content = 0, sum[:]
		a.Photo = &p
	}
	h := sha256.New()
	json.NewEncoder(h).Encode(a) // texts and figures alone: it cannot fail
	return h.Sum(nil)
}

// Signed returns the act signed by a device's key (Ed25519, RFC 8032).
func (a Act) Signed(key ed25519.PrivateKey) Act {
	a.Key = hex.EncodeToString(key.Public().(ed25519.PublicKey))
	a.Sign = hex.EncodeToString(ed25519.Sign(key, a.said()))
	return a
}

// SignedRight reports that the act is as it was signed by the key it names.
func (a Act) SignedRight() bool {
	key, err := hex.DecodeString(a.Key)
	sign, err2 := hex.DecodeString(a.Sign)
	return err == nil && err2 == nil && len(key) == ed25519.PublicKeySize && ed25519.Verify(key, a.said(), sign)
}

// IsKey reports that a text is the public half of a device's key.
func IsKey(text string) bool {
	key, err := hex.DecodeString(text)
	return err == nil && len(key) == ed25519.PublicKeySize && text == strings.ToLower(text)
}

// mostName is how long a name may be.
const mostName = 80

// Naming is how an entry is signed that one person brought in another's name:
// in no reader's eye is it the other's own.
func Naming(by, other string) string {
	if r := []rune(other); len(r) > mostName {
		other = string(r[:mostName])
	}
	return by + " (naming " + other + ")"
}

// SpokenBy returns an act as its author may say it: who is the one that answers
// for it, and before is what the job held. The act's own name gives way, and so
// does each entry's, unless the entry only carries over what another said.
func (a Act) SpokenBy(who string, before *job.Record) Act {
	entries := slices.Clone(a.Entries)
	for i, e := range entries {
		if e.Who != who && e.Who != "" && !a.carries(e, before) {
			entries[i].Who = Naming(who, e.Who)
		}
	}
	if a.Who != who && a.Who != "" {
		a.Device = "named " + a.Who + ", who did not sign it"
	}
	a.Who, a.Entries = who, entries
	return a.Stamped()
}

// carries reports that an entry says again what somebody else said: the same
// value, by the same person at the same time, that counts now and that this act
// either puts at another name or follows with another name of its instrument.
func (a Act) carries(e job.Entry, before *job.Record) bool {
	list, rest := renamed(e.Path)
	if list == "" {
		return false
	}
	same := func(old job.Entry) bool { return old.Value == e.Value && old.Who == e.Who && old.When == e.When }
	if now := before.Now(e.Path); same(now) && slices.Contains(strings.Fields(e.Follows), now.ID) {
		return true
	}
	return slices.ContainsFunc(a.Entries, func(out job.Entry) bool { // taken out elsewhere, put here
		from, there := renamed(out.Path)
		if out.Value != "" || from != list || there != rest {
			return false
		}
		old := before.Now(out.Path)
		return same(old) && old.Instrument == e.Instrument && slices.Contains(strings.Fields(out.Follows), old.ID)
	})
}

// renamed parts a path at the name of the item it lies in: the list, and what
// stands under the item.
func renamed(path string) (list, rest string) {
	all := works.NamesOf(path)
	for i := len(all); i > 0; i-- { // lists within lists: the outermost has the name
		at := works.Under("", all[0])
		for _, name := range all[1:i] {
			at = works.Under(at, name)
		}
		if f := job.FieldAt(at); f != nil && f.List() && len(all) > i {
			list, rest = at, strings.Join(all[i+1:], "/")
		}
	}
	if list == "" {
		return path, ""
	}
	return list, rest
}

// mostAhead is how far a device's clock may run ahead of this one. A time that
// was written by hand says no zone, and may be of any.
const (
	mostAhead = 5 * time.Minute
	anyZone   = 14 * time.Hour
)

// Ahead returns by how much an act says it was made after it arrived; nothing
// where clocks differ by no more than clocks do.
func (a Act) Ahead() time.Duration {
	most := ahead(a.When, a.Arrived)
	for _, e := range a.Entries {
		most = max(most, ahead(e.When, a.Arrived))
	}
	return most
}

func ahead(when, arrived string) time.Duration {
	came, err := time.Parse(time.RFC3339, arrived)
	made, zoned, ok := job.ReadWhen(when)
	if err != nil || !ok {
		return 0
	}
	may := mostAhead
	if !zoned {
		may += anyZone
	}
	if by := made.Sub(came); by > may {
		return by
	}
	return 0
}

// inTimeOf returns entries so that none is ordered by a clock that ran ahead:
// nothing was made after it arrived, so then the time of arrival is said.
func (a Act) inTimeOf(entries []job.Entry) []job.Entry {
	if a.Arrived == "" {
		return entries
	}
	copied := false
	for i, e := range entries {
		if ahead(e.When, a.Arrived) == 0 {
			continue
		}
		if !copied {
			entries, copied = slices.Clone(entries), true
		}
		entries[i].When = a.Arrived
	}
	return entries
}
