// Package hear reads a recorded OCPP log and tells in plain words what happened
// and what to try next, in the order of the log; and what of it went as it
// should. The rules are data (tables/hear.csv), each with the row of the standard
// it rests on. A log may come from anywhere, in any layout and of any length: it
// is heard as it is read, and what is no message is passed over.
//
// Its parts: the reader of logs and of the times in them, the signs looked for,
// the report.
package hear

import (
	"bytes"
	_ "embed"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"

	"chargewright/ocpp"
	"chargewright/quantity"
	"chargewright/sheet"
)

//go:embed tables/hear.csv
var hearRules string

//go:embed tables/meanings.csv
var meanings string

// Heard is one thing a log says.
type Heard struct {
	Rule     string   `json:"rule"`
	Line     int      `json:"line"` // where it shows first
	Times    int      `json:"times"`
	Fault    bool     `json:"fault"` // else it is merely seen
	Happened string   `json:"happened"`
	Detail   string   `json:"detail,omitempty"`
	Codes    []string `json:"codes,omitempty"`   // of faults that the point names
	Because  string   `json:"because,omitempty"` // what in the log it comes from
	Try      string   `json:"try"`
	Clause   string   `json:"clause"`
	Row      string   `json:"row,omitempty"` // of the OCPP table
	Doubt    string   `json:"confidence"`
}

// hearRule is one rule of the table.
type hearRule struct {
	ID         string `col:"id,key"`
	Sign       string `col:"sign"`
	Words      string `col:"words"`
	Pattern    string `col:"pattern"`
	Kind       string `col:"kind"`
	Happened   string `col:"happened,must"`
	Try        string `col:"try,must"`
	Clause     string `col:"clause,must"`
	Row        string `col:"row"`
	Confidence string `col:"confidence"`
	pattern    *regexp.Regexp
	words      [][]byte
}

// aLine is the sign of a rule that looks at lines which hold no message.
const aLine = "line"

// readHearRules reads the rules, every fault at once.
func readHearRules(name, text string) ([]hearRule, error) {
	return sheet.Rows(name, text, func(rule *hearRule, row sheet.Row) {
		if rule.Kind != "fault" && rule.Kind != "seen" {
			row.Fault("kind", rule.Kind, "fault or seen is wanted")
		}
		if rule.Sign != aLine {
			return
		}
		var err error
		if rule.pattern, err = regexp.Compile(rule.Pattern); err != nil || rule.Pattern == "" || rule.Words == "" {
			row.Fault("pattern", rule.Pattern, fmt.Sprintf("a pattern, and words one of which stands in every line it matches, are wanted: %v", err))
		}
		for word := range strings.SplitSeq(rule.Words, "|") {
			rule.words = append(rule.words, []byte(word))
		}
	})
}

// tables are the rules and words, read once.
var tables = sync.OnceValues(func() (t struct {
	rules []hearRule
	means map[string]string
}, err error) {
	if t.rules, err = readHearRules("hear.csv", hearRules); err != nil {
		return t, err
	}
	t.means = map[string]string{}
	_, err = sheet.Rows("meanings.csv", meanings, func(w *struct {
		Word  string `col:"word,key"`
		Means string `col:"means,must"`
	}, _ sheet.Row) {
		t.means[w.Word] = w.Means
	})
	return t, err
})

// Report is what was heard in a log.
type Report struct {
	Lines    int      `json:"lines"`
	Messages int      `json:"messages"`
	Heard    []Heard  `json:"heard"`
	Well     []string `json:"well"`             // what went as it should
	Bounds   []string `json:"bounds,omitempty"` // of what was read, where one was met
}

// Faults are how many of what was heard are faults.
func (r Report) Faults() int {
	n := 0
	for _, h := range r.Heard {
		if h.Fault {
			n++
		}
	}
	return n
}

// Hear reads a recorded OCPP log, or a log that a point exports, and says in
// plain words what happened and what to try, in the order of the log.
func Hear(text []byte) (Report, error) { return Listen(bytes.NewReader(text)) }

// Listen hears a log as it is read, packed or not. What it remembers does not
// grow with the log.
func Listen(log io.Reader) (Report, error) {
	t, err := tables()
	if err != nil {
		return Report{}, err
	}
	from, err := open(log)
	if err != nil {
		return Report{}, err
	}
	teller := newTeller(t.means)
	lines := lines{source: from}
	plain := listener{rules: t.rules, found: map[string]*notice{}}
	err = lines.read(func(l logLine) {
		teller.hear(l)
		if l.frame == nil && !l.broken && !l.cut {
			plain.hear(l)
		}
	})
	if err != nil {
		return Report{}, err
	}
	teller.end()
	r := Report{Lines: from.number, Messages: teller.messages, Heard: []Heard{}, Well: teller.well(), Bounds: from.bound}
	if from.long > 0 {
		r.Bounds = append(r.Bounds, fmt.Sprintf("of %d lines that are longer than %d KiB only the beginning was heard", from.long, longestLine>>10))
	}
	if teller.forgot {
		r.Bounds = append(r.Bounds, fmt.Sprintf("more than %d questions waited for an answer at once: what became of them was not heard", mostOpen))
	}
	for _, rule := range t.rules {
		n := teller.found[rule.Sign]
		if rule.Sign == aLine {
			n = plain.found[rule.ID]
		}
		if n == nil {
			continue
		}
		r.Heard = append(r.Heard, Heard{Rule: rule.ID, Line: n.line, Times: n.times, Fault: rule.Kind == "fault", Happened: rule.Happened, Detail: n.detail,
			Codes:   n.codes,
			Because: n.because, Try: rule.Try, Clause: rule.Clause, Row: rule.Row, Doubt: rule.Confidence})
	}
	slices.SortStableFunc(r.Heard, func(a, b Heard) int { return a.Line - b.Line })
	return r, nil
}

// listener looks at lines that hold no message. Of the rules that match a line
// the first in the table counts: it names the cause, the rest what follows.
type listener struct {
	rules []hearRule
	found map[string]*notice
	small []byte
}

func (p *listener) hear(l logLine) {
	const most = 2000 // letters of a line that are looked at
	text := l.text[:min(len(l.text), most)]
	p.small = p.small[:0]
	for _, c := range text {
		if c >= 'A' && c <= 'Z' {
			c += 'a' - 'A'
		}
		p.small = append(p.small, c)
	}
	for i := range p.rules {
		rule := &p.rules[i]
		if !slices.ContainsFunc(rule.words, func(w []byte) bool { return bytes.Contains(p.small, w) }) || !rule.pattern.Match(text) {
			continue
		}
		n := p.found[rule.ID]
		if n == nil {
			n = &notice{line: l.number, detail: string(ocpp.WithoutSecrets([]byte(short(string(text)))))}
			p.found[rule.ID] = n
		}
		n.times++
		return
	}
}

// well says what went as it should: a log in which nothing stands out has said
// something too.
func (t *teller) well() []string {
	out := []string{}
	say := func(n int, one, many string, args ...any) {
		switch {
		case n == 1:
			out = append(out, one)
		case n > 1:
			out = append(out, fmt.Sprintf(many, append([]any{n}, args...)...))
		}
	}
	if t.version != "" && t.messages > 0 {
		out = append(out, "the two ends speak OCPP "+string(t.version))
	}
	say(t.tallies.accepted, "the point introduced itself and was accepted", "the point introduced itself and was accepted %d times")
	if t.tallies.beats > 1 && t.found["silent"] == nil {
		out = append(out, fmt.Sprintf("%d heartbeats were answered", t.tallies.beats))
	}
	if t.answers > 1 && t.found["no answer"] == nil && t.found["one side"] == nil {
		text := "every question was answered"
		if t.slowest > 0 && t.found["slow answer"] == nil {
			text += fmt.Sprintf(", the slowest after %v", quantity.Seconds(t.slowest.Round(10*time.Millisecond).Seconds()))
		}
		out = append(out, text)
	}
	say(t.tallies.sessions, "a session began, charged and ended", "%d sessions began, charged and ended")
	if t.tallies.energy > 0 {
		out = append(out, fmt.Sprintf("they charged %v", quantity.WattHours(t.tallies.energy)))
	}
	if t.tallies.samples > 1 && !t.any("falls", "energy falls", "negative", "register stands", "zero meter", "power disagrees") {
		out = append(out, fmt.Sprintf("%d meter values do not contradict each other", t.tallies.samples))
	}
	say(t.tallies.obeyed, "a limit was followed", "%d limits were followed")
	if t.clock.all > 1 && t.found["clock off"] == nil {
		out = append(out, "its clock agrees with the log's")
	}
	return out
}

func (t *teller) any(signs ...string) bool {
	return slices.ContainsFunc(signs, func(s string) bool { return t.found[s] != nil })
}

// short cuts a quoted line.
func short(text string) string {
	const most = 160
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + " …"
	}
	return text
}
