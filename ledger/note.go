package ledger

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"chargewright/sheet"
)

// Kind is what a note says about its line.
type Kind uint8

// Kinds of note.
const (
	Corrected Kind = iota // counted, after a correction that is named
	Noticed               // counted as it stands, with something to know
	Doubted               // listed, never counted
	SaidTwice             // said before; counted once
	Faulty                // cannot be read as a session at all
	SetApart              // a refund, or charged elsewhere: listed, no session of this site
	Estimated             // counted, its stop an estimate
)

var kindWords = [...]string{Corrected: "corrected", Noticed: "to know", Doubted: "doubtful, not counted", SaidTwice: "said twice, counted once",
	Faulty: "cannot be read", SetApart: "refunds and charging elsewhere, not counted", Estimated: "closed as an estimate, counted"}

// String returns the kind in the words used on every screen and paper.
func (k Kind) String() string { return kindWords[k] }

// MarshalText writes the kind as its words.
func (k Kind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// Note is one thing said about one line of a record.
type Note struct {
	File   string `json:"file"`
	Line   int    `json:"line"`
	Kind   Kind   `json:"kind"`
	Field  string `json:"field"`
	Found  string `json:"found"`
	Text   string `json:"text"`             // what was done, or what would be right
	Energy Energy `json:"energy,omitempty"` // said on the line and kept out of every total
}

// String prints the note on one line, file and line first.
func (n Note) String() string {
	out := fmt.Sprintf("%s:%d: ", n.File, n.Line)
	if n.Field != "" {
		out += n.Field
		if n.Found != "" {
			out += fmt.Sprintf(" is %q", sheet.Shorten(n.Found))
		}
		out += ": "
	}
	return out + n.Text
}

// Apart returns the line, with its file where there is more than one, and the
// rest of the note.
func (n Note) Apart(withFile bool) (where, text string) {
	where, text = fmt.Sprint(n.Line), strings.TrimPrefix(n.String(), fmt.Sprintf("%s:%d: ", n.File, n.Line))
	if withFile {
		text = n.File + ": " + text
	}
	return where, text
}

// Tally says where the lines of one record went. For a table of sessions,
// Lines = Blank + Head + Counted + Doubted + SaidTwice + Faulty + Apart; for messages,
// Lines = Blank + Used + Other + Faulty.
type Tally struct {
	File      string `json:"file"`
	Lines     int    `json:"lines"`
	Blank     int    `json:"blank"` // empty lines and remarks
	Head      int    `json:"head"`
	Used      int    `json:"used,omitempty"`  // messages that belong to a session or report a fault
	Other     int    `json:"other,omitempty"` // messages about other things
	Counted   int    `json:"counted"`
	Doubted   int    `json:"doubted"`
	SaidTwice int    `json:"saidTwice"`
	Faulty    int    `json:"faulty"`
	Apart     int    `json:"apart"` // refunds, and sessions elsewhere

	EnergyCounted Energy `json:"energyCounted"`
	EnergyDoubted Energy `json:"energyDoubted"`
	EnergyTwice   Energy `json:"energyTwice"`

	messages bool
}

// Complete reports whether every line of the record is accounted for.
func (t Tally) Complete() bool {
	if t.messages {
		return t.Lines == t.Blank+t.Used+t.Other+t.Faulty
	}
	return t.Lines == t.Blank+t.Head+t.Counted+t.Doubted+t.SaidTwice+t.Faulty+t.Apart
}

// Figures returns where the lines went, to print: lines, counted, doubtful,
// said twice, faulty, and head, remarks and other messages. Energies stand
// beside the counts.
func (t Tally) Figures() [6]string {
	with := func(n int, e Energy) string {
		if n == 0 {
			return "0"
		}
		return fmt.Sprintf("%d (%s)", n, e)
	}
	other := fmt.Sprint(t.Blank + t.Head + t.Other)
	if t.Apart > 0 {
		other += fmt.Sprintf(", and %d refunds or elsewhere", t.Apart)
	}
	return [6]string{fmt.Sprint(t.Lines), with(t.Counted, t.EnergyCounted), with(t.Doubted, t.EnergyDoubted), with(t.SaidTwice, t.EnergyTwice),
		fmt.Sprint(t.Faulty), other}
}

// String prints where the lines went.
func (t Tally) String() string {
	f := t.Figures()
	if t.messages {
		return fmt.Sprintf("%s: %s lines: %d messages of sessions and faults, %s other, %s cannot be read; sessions: %s counted; %s doubtful; %s said twice",
			t.File, f[0], t.Used, f[5], f[4], f[1], f[2], f[3])
	}
	return fmt.Sprintf("%s: %s lines: %s counted; %s doubtful; %s said twice; %s cannot be read; %d head and remarks%s", t.File, f[0], f[1], f[2], f[3], f[4],
		t.Blank+t.Head, strings.TrimPrefix(f[5], fmt.Sprint(t.Blank+t.Head)))
}

func (l *Ledger) note(file uint8, line int32, k Kind, field, found, text string) {
	l.Notes = append(l.Notes, Note{File: l.Tallies[file].File, Line: int(line), Kind: k, Field: field, Found: found, Text: text})
}

// doubt keeps a session out of every total and says why. The first doubt is
// the one that is listed.
func (l *Ledger) doubt(s *session, field, found, text string) {
	if s.State == Doubtful || s.State == Repeated {
		return
	}
	s.State = Doubtful
	l.note(s.File, s.Line, Doubted, field, found, text)
	if s.Energy != none {
		l.Notes[len(l.Notes)-1].Energy = s.Energy
	}
}

// sortNotes puts notes in the order of the records.
func (l *Ledger) sortNotes() {
	order := map[string]int{}
	for i, t := range l.Tallies {
		order[t.File] = i
	}
	slices.SortStableFunc(l.Notes, func(a, b Note) int {
		return cmp.Or(cmp.Compare(order[a.File], order[b.File]), cmp.Compare(a.Line, b.Line))
	})
}

// OfKind returns the notes of one kind.
func (l *Ledger) OfKind(k Kind) []Note {
	var out []Note
	for _, n := range l.Notes {
		if n.Kind == k {
			out = append(out, n)
		}
	}
	return out
}
