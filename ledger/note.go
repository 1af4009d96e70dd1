package ledger

import (
	"cmp"
	"fmt"
	"slices"
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
)

var kindWords = [...]string{Corrected: "corrected", Noticed: "to know", Doubted: "doubtful, not counted", SaidTwice: "said twice, counted once", Faulty: "cannot be read"}

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
			out += fmt.Sprintf(" is %q", shorten(n.Found))
		}
		out += ": "
	}
	return out + n.Text
}

func shorten(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}

// Tally says where the lines of one record went. For a table of sessions,
// Lines = Blank + Head + Counted + Doubted + SaidTwice + Faulty; for messages,
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
	return t.Lines == t.Blank+t.Head+t.Counted+t.Doubted+t.SaidTwice+t.Faulty
}

func (l *Ledger) note(file uint8, line int32, k Kind, field, found, text string) {
	l.Notes = append(l.Notes, Note{File: l.Tallies[file].File, Line: int(line), Kind: k, Field: field, Found: found, Text: text})
}

// doubt keeps a session out of every total and says why. The first doubt is
// the one that is listed.
func (l *Ledger) doubt(s *Session, field, found, text string) {
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
