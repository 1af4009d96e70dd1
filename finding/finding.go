// Package finding is the one type every requirement's outcome is written in:
// which clause, about what, the value found, the limit, the margin between
// them, the verdict, and what to do next.
//
// A verdict is never "safe". It says that a rule is met and by how much, that
// it is not, that an input is missing, or that a person must judge on site.
package finding

import (
	"fmt"
	"sort"
)

// Verdict is the outcome of one requirement. The zero value is NotKnown, so a
// finding nobody filled in passes nothing.
type Verdict uint8

const (
	// NotKnown: an input is missing; the finding's Next says which.
	NotKnown Verdict = iota
	// Meets: the rule is met by the margin stated.
	Meets
	// Fails: the rule is not met.
	Fails
	// JudgeOnSite: the clause asks for a person's judgement.
	JudgeOnSite
)

var words = [...]string{NotKnown: "not known", Meets: "meets", Fails: "fails", JudgeOnSite: "judge on site"}

// String returns the verdict in the words used on every screen and paper.
func (v Verdict) String() string {
	if int(v) < len(words) {
		return words[v]
	}
	return words[NotKnown]
}

// MarshalText writes the verdict as its words.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// UnmarshalText reads the words of String back.
func (v *Verdict) UnmarshalText(text []byte) error {
	for i, w := range words {
		if w == string(text) {
			*v = Verdict(i)
			return nil
		}
	}
	return fmt.Errorf("verdict is %q: it is one of %q", text, words)
}

// Measure prints the numbers of one unit as a person reads them.
type Measure interface {
	Show(float64) string
	Unit() string
}

// Amount is a number with its unit, or nothing. It is how values, limits and
// margins of every dimension share one column. The zero value is nothing.
type Amount struct {
	Number  float64
	Unit    string
	measure Measure
}

// Of returns the amount n in the measure's unit.
func Of(n float64, m Measure) Amount { return Amount{Number: n, Unit: m.Unit(), measure: m} }

// Count returns a whole number of things, such as 2 ways.
func Count(n int, things string) Amount { return Of(float64(n), counted(things)) }

// counted is the measure of whole things.
type counted string

func (c counted) Show(n float64) string { return fmt.Sprintf("%.0f %s", n, string(c)) }
func (c counted) Unit() string          { return string(c) }

// IsZero reports that there is no amount here.
func (a Amount) IsZero() bool { return a.measure == nil }

// String prints the amount, or nothing.
func (a Amount) String() string {
	if a.measure == nil {
		return ""
	}
	return a.measure.Show(a.Number)
}

// Text is words that are put together only when somebody reads them: most
// findings are counted or compared, and never read.
type Text func() string

// Say returns the text that fmt.Sprintf gives.
func Say(format string, args ...any) Text {
	if len(args) == 0 {
		return func() string { return format }
	}
	return func() string { return fmt.Sprintf(format, args...) }
}

// String puts the words together; no text is none.
func (t Text) String() string {
	if t == nil {
		return ""
	}
	return t()
}

// Then returns t followed by more, joined by a semicolon where both say something.
func (t Text) Then(more Text) Text {
	if t == nil {
		return more
	}
	return func() string {
		a, b := t(), more.String()
		if a == "" || b == "" {
			return a + b
		}
		return a + "; " + b
	}
}

// Finding is one requirement checked against one part of one job.
type Finding struct {
	Clause  Clause  // where the requirement stands
	Path    string  // of what was looked at, in the job record: "circuits/van point/legs/buried"; empty for the job as a whole
	Against string  // path of the other thing, where two are held against each other
	Subject string  // what was looked at, in words: "circuit van point, leg 2 (buried)"
	Part    string  // what of that part of the job, where the subject is more than its name: "leg 2 (buried)"
	What    string  // the requirement in a few words: "cable carries the device's rated current"
	Value   Amount  // what the job has; zero when not known
	Limit   Amount  // what the rule asks; zero when the rule has no number
	Margin  Amount  // room left, negative when the rule is not met
	Verdict Verdict //
	Why     Text    // how the value came about, and the reason for the verdict
	Next    string  // what to do now; empty when there is nothing to do
	Lacks   Lacks   // of one that is not known: each input it lacks
	Source  Sources // where limit and data stand, with any doubt about them
	Key     string  // stable name of the requirement, for tests and later rooms
	WaitsOn string  // Key of the finding that must be settled first, if any
	Rests   Paths   // of the assumed facts that carry the verdict; nil where it rests on none
}

// Paths are places in the record, found only when somebody asks.
type Paths func() []string

// IfAsAssumed is what a verdict hangs on that rests on what nobody has seen.
const IfAsAssumed = "if as assumed"

// If is what the verdict hangs on: nothing, or that it is as assumed.
func (f Finding) If() string {
	if f.Rests == nil {
		return ""
	}
	return IfAsAssumed
}

// Words are the verdict's, and what it hangs on.
func (f Finding) Words() string {
	if f.Rests == nil {
		return f.Verdict.String()
	}
	return f.Verdict.String() + ", " + IfAsAssumed
}

// Summary counts findings by verdict, and those of them that rest on what is
// assumed.
type Summary struct{ Meets, Fails, NotKnown, JudgeOnSite, IfAsAssumed int }

// Summarise counts fs by verdict.
func Summarise(fs []Finding) Summary {
	var s Summary
	for _, f := range fs {
		if f.Rests != nil {
			s.IfAsAssumed++
		}
		switch f.Verdict {
		case Meets:
			s.Meets++
		case Fails:
			s.Fails++
		case JudgeOnSite:
			s.JudgeOnSite++
		default:
			s.NotKnown++
		}
	}
	return s
}

// ExitCode is what a command returns for findings: 0 when every requirement is
// met, 1 when one fails, 3 when none fails but something is not known, is left
// to judge on site, or is met only if it is as assumed.
func (s Summary) ExitCode() int {
	switch {
	case s.Fails > 0:
		return 1
	case s.NotKnown > 0 || s.JudgeOnSite > 0 || s.IfAsAssumed > 0:
		return 3
	}
	return 0
}

// urgency orders verdicts as a careful electrician would take them up.
var urgency = [...]int{Fails: 0, NotKnown: 1, JudgeOnSite: 2, Meets: 3}

// String counts in words.
func (s Summary) String() string {
	out := fmt.Sprintf("%d met, %d failed, %d not known, %d to judge on site", s.Meets, s.Fails, s.NotKnown, s.JudgeOnSite)
	if s.IfAsAssumed > 0 {
		out += fmt.Sprintf("; %d of these only %s", s.IfAsAssumed, IfAsAssumed)
	}
	return out
}

// ByUrgency sorts fs in place: what fails, what is not known, what to judge,
// what is met; otherwise the order they were found in is kept.
func ByUrgency(fs []Finding) {
	sort.SliceStable(fs, func(i, j int) bool { return urgency[fs[i].Verdict] < urgency[fs[j].Verdict] })
}
