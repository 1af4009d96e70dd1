package job

// The record: a job as a set of entries, which two people can each add to and
// later put together without loss.

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"maps"
	"slices"
	"strconv"
	"strings"
	"sync"

	"chargewright/trade"
)

// Entry is one fact put into a job. It is never changed, only followed by
// another.
//
// Path is the field's place: "circuits/van point/legs/yard wall/length". Items
// of a list go by their name; readings and notes, which have none, by a mark
// made from what they say. A slash in a name is written ~1 and a tilde ~0
// (RFC 6901). An entry at an item itself, "circuits/van point", holds its place
// in the list, and is empty once the item is taken out.
//
// Value is as written, unit included: "25 m". A fact with how it is known is
// one entry: "0.18 Ω (measured)", "25 m (assumed, drawing not to hand)"; see
// Assumption. An empty value says that the fact is no longer known.
type Entry struct {
	ID         string `json:"id"` // the same for the same entry, wherever it is read
	Path       string `json:"path"`
	Value      string `json:"value"`
	Who        string `json:"who,omitempty"`
	When       string `json:"when,omitempty"`
	Instrument string `json:"instrument,omitempty"`
	Follows    string `json:"follows,omitempty"` // IDs of the entries it takes the place of, a space between
}

// id returns the ID of an entry that was given none.
func (e Entry) id() string {
	h := sha256.New()
	for _, s := range []string{e.Path, e.Value, e.Who, e.When, e.Instrument, e.Follows} {
		h.Write([]byte(strconv.Itoa(len(s))))
		h.Write([]byte{':'})
		h.Write([]byte(s))
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}

// Record is a set of entries. The zero value is empty. A Record never changes;
// Merge makes a new one. What it says is read once, in one place: the job, the
// pages and what differs all come from the same reading; see fold.
type Record struct {
	entries map[Entry]struct{}
	once    sync.Once
	read    *fold
}

// NewRecord returns a record of the entries. An entry without an ID gets one
// made from what it says.
func NewRecord(entries ...Entry) *Record {
	r := &Record{entries: make(map[Entry]struct{}, len(entries))}
	for _, e := range entries {
		if e.ID == "" {
			e.ID = e.id()
		}
		r.entries[e] = struct{}{}
	}
	return r
}

// Merge returns the entries of both records. It is the same in either order,
// and merging what is merged already changes nothing. Where two people entered
// different values both are kept; see Conflicts.
func Merge(a, b *Record) *Record {
	out := &Record{entries: maps.Clone(a.entries)}
	if out.entries == nil {
		out.entries = map[Entry]struct{}{}
	}
	maps.Copy(out.entries, b.entries)
	return out
}

// Entries returns the entries, by path and then in the order they were made.
func (r *Record) Entries() []Entry {
	return slices.SortedFunc(maps.Keys(r.entries), compareEntries)
}

func compareEntries(a, b Entry) int {
	if by := cmp.Compare(a.Path, b.Path); by != 0 { // most entries part here: their times need no reading
		return by
	}
	return cmp.Or(
		compareWhen(a.When, b.When),
		cmp.Compare(a.ID, b.ID),
		cmp.Compare(a.Value, b.Value),
		cmp.Compare(a.Who, b.Who),
		cmp.Compare(a.When, b.When),
		cmp.Compare(a.Instrument, b.Instrument),
		cmp.Compare(a.Follows, b.Follows),
	)
}

// compareWhen orders by time; what has no time comes first.
func compareWhen(a, b string) int {
	if a == b {
		return 0
	}
	ta, oka := parseWhen(a)
	tb, okb := parseWhen(b)
	switch {
	case oka && okb:
		return ta.Compare(tb)
	case oka:
		return 1
	case okb:
		return -1
	}
	return 0
}

// Conflict is a fact on which entries differ that do not follow one another:
// neither of those who made them saw the other. A person settles it with an
// entry that follows them all.
//
// Where an item was taken out by someone who did not see a fact that stands
// under it, the Conflict is about that fact, and the entry that took the item
// out is among the entries.
type Conflict struct {
	Path    string
	Entries []Entry // the one that counts meanwhile last
}

// meaning returns what a value says, however it is spelled.
func meaning(f *Field, value string) string {
	value = strings.TrimSpace(value)
	if f == nil { // an item: in the list, or taken out
		return strconv.FormatBool(value == "")
	}
	c, _, ok := f.scalar()
	if !ok || !f.Single() {
		return value
	}
	text, known, reason, split := value, "", "", false
	switch {
	case f.Stated():
		if text, known, reason, split = splitStated(value); !split {
			text = value
		}
	case f.assumable:
		if text, reason, split = splitAssumed(value); split {
			known = string(trade.Assumed)
		}
	}
	v := c.fresh()
	if _, err := c.read(v, text); err == nil {
		if written := c.write(v); written != "" {
			text = written
		}
	}
	return statedText(text, known, reason)
}
