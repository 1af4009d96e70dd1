package standard

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"chargewright/finding"
)

// Confidence is how far a row of a table was checked. The zero value is the
// weakest, so that a row nobody vouched for never looks better than it is.
type Confidence uint8

const (
	// FromMemory: not seen again in any source; check it before it decides anything.
	FromMemory Confidence = iota
	// Practice: what the trade does, with no published source.
	Practice
	// Judgement: a working figure of the project's own.
	Judgement
	// Secondary: read in a publication that reports the source, not in the source.
	Secondary
	// ComputedCheck: not seen in print, but reproduced by an independent calculation.
	ComputedCheck
	// Confirmed: matched to a published copy or a published worked example.
	Confirmed
)

// words are what the tables' confidence column may say.
var words = [...]string{
	FromMemory:    "from memory",
	Practice:      "common practice",
	Judgement:     "judgement",
	Secondary:     "secondary",
	ComputedCheck: "computed check",
	Confirmed:     "confirmed",
}

// doubts are what a reader is told about a row that is not confirmed.
var doubts = [...]string{
	FromMemory:    "from memory",
	Practice:      "common practice, no source",
	Judgement:     "engineering judgement, no published source",
	Secondary:     "from a secondary source",
	ComputedCheck: "computed, not seen in print",
	Confirmed:     "",
}

// String returns the word used in the tables.
func (c Confidence) String() string {
	if int(c) < len(words) {
		return words[c]
	}
	return words[FromMemory]
}

func parseConfidence(s string) (Confidence, error) {
	for c, w := range words {
		if s == w {
			return Confidence(c), nil
		}
	}
	return 0, fmt.Errorf("confidence is %q: it is one of %q", s, words)
}

// row is what every row of every table says about itself.
type row struct {
	source, clause, edition, place, basis string
	confidence                            Confidence
	issues                                []*issue // editions of the rules it was checked against; empty for a product standard
}

// issue is one edition of the rules.
type issue struct {
	edition Edition
	short   string // "A2:2022"
	offered bool   // a job may be designed to it

	published, withdrawn string // days or months, as the tables write them
}

// Citation says where a value stands: the document and edition, the clause or
// table, the place in it, and what is doubtful about it. It is small, it can be
// compared, and its text is made only when it is printed. The zero value is
// "no source".
type Citation struct {
	row  *row
	job  *issue
	note string // how a row was used when the question fell between rows
}

// IsZero reports that there is no source.
func (c Citation) IsZero() bool { return c.row == nil }

// Source returns the document, edition and table: "BS 7671:2018+A2:2022
// Appendix 4 Table 4E4A".
func (c Citation) Source() string {
	if c.row == nil {
		return "no source"
	}
	return c.row.source
}

// Clause returns the clause or table number alone: "433.1.1", "Table 41.3", or
// nothing when the source has none.
func (c Citation) Clause() string {
	if c.row == nil {
		return ""
	}
	return c.row.clause
}

// Place returns the place in the table, and how the row was used if the
// question fell between rows.
func (c Citation) Place() string {
	switch {
	case c.row == nil:
		return c.note
	case c.note == "":
		return c.row.place
	case c.row.place == "":
		return c.note
	}
	return c.row.place + " (" + c.note + ")"
}

// Confidence returns how far the row was checked.
func (c Citation) Confidence() Confidence {
	if c.row == nil {
		return FromMemory
	}
	return c.row.confidence
}

// Basis returns what the row was checked against, if anything is recorded.
func (c Citation) Basis() string {
	if c.row == nil {
		return ""
	}
	return c.row.basis
}

// Doubt returns what is doubtful: nothing when the row is confirmed and was
// checked against the job's edition, else "from A2:2022, not checked against
// A4:2026", "from memory", or both. A product standard has its own editions;
// only rows of the wiring rules are held against the job's.
func (c Citation) Doubt() string {
	if c.row == nil {
		return "no source"
	}
	edition := c.editionDoubt()
	known := doubts[c.row.confidence]
	if edition != "" && known != "" {
		return edition + "; " + known
	}
	return edition + known
}

func (c Citation) editionDoubt() string {
	if c.job == nil || len(c.row.issues) == 0 {
		return ""
	}
	for _, i := range c.row.issues {
		if i == c.job {
			return ""
		}
	}
	return "from " + c.row.issues[len(c.row.issues)-1].short + ", not checked against " + c.job.short
}

// Cites returns source and place, and the doubt, as findings carry them.
func (c Citation) Cites() finding.Source {
	place := c.Source()
	if p := c.Place(); p != "" {
		place += ", " + p
	}
	if c.row == nil {
		return finding.Source{Place: place}
	}
	return finding.Source{Place: place, Doubt: c.Doubt()}
}

// String prints source, place and doubt in one line.
func (c Citation) String() string { return c.Cites().String() }

// with returns the citation with a note on how the row was used.
func (c Citation) with(note string) Citation {
	c.note = note
	return c
}

// Name returns the clause, or the document where it has no clause number.
func (c Citation) Name() string {
	if clause := c.Clause(); clause != "" {
		return clause
	}
	return c.Source()
}

// Cited returns the clause as findings carry it.
func (c Citation) Cited() finding.Clause {
	if c.row == nil {
		return finding.Clause{}
	}
	return finding.Clause{Name: c.Name(), Document: c.row.edition, Wiring: len(c.row.issues) > 0}
}

// Sources returns what citations cite, each once.
func Sources(cites ...Citation) finding.Sources {
	return func() (out []finding.Source) {
		for _, c := range cites {
			if s := c.Cites(); !c.IsZero() && !slices.Contains(out, s) {
				out = append(out, s)
			}
		}
		return out
	}
}

// Doubts returns the doubts of all cs, each source once, as lines for the
// design sheet: "BS 7671:2018+A2:2022 Table 41.3: from A2:2022, not checked
// against A4:2026". Citations without doubt and citations of nothing are left
// out.
func (b *Rulebook) Doubts(cs ...Citation) []string {
	seen := map[string]bool{}
	var lines []string
	for _, c := range cs {
		if c.row == nil || c.Doubt() == "" {
			continue
		}
		if line := c.row.source + ": " + c.Doubt(); !seen[line] {
			seen[line] = true
			lines = append(lines, line)
		}
	}
	sort.Strings(lines)
	return lines
}

// notTabulated is the error for a value the tables do not hold. It is safe to
// show to anyone. Look-ups return it as *NotTabulated.
type notTabulated struct {
	Wanted string   // what was looked up: "rating of 90 °C thermosetting armoured cable, method B, two loaded conductors"
	Known  []string // what is tabulated instead: "1.5 mm²", "2.5 mm²" …
	Why    string   // the reason, where there is more to say
}

func (e *notTabulated) Error() string {
	s := e.Wanted + " is not tabulated"
	if e.Why != "" {
		s += ": " + e.Why
	}
	if len(e.Known) > 0 {
		s += ": tabulated are " + strings.Join(e.Known, ", ")
	}
	return s
}

// names prints keys as a list for an error.
func names[T fmt.Stringer](of []T) []string {
	out := make([]string, len(of))
	for i, v := range of {
		out[i] = v.String()
	}
	return out
}
