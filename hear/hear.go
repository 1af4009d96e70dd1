// Package hear reads a recorded OCPP log and says in plain words what happened
// and what to try next, in the order of the log. The rules are data
// (tables/hear.csv), each with the row of the standard it rests on. A log may
// come from anywhere: what is no message is passed over.
//
// Its parts: the reader of logs, the signs looked for, the report.
package hear

import (
	"chargewright/ocpp"
	"chargewright/sheet"
	_ "embed"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
)

//go:embed tables/hear.csv
var hearRules []byte

// Heard is one thing a log says.
type Heard struct {
	Rule     string `json:"rule"`
	Line     int    `json:"line"` // where it shows first
	Times    int    `json:"times"`
	Happened string `json:"happened"`
	Detail   string `json:"detail,omitempty"`
	Try      string `json:"try"`
	Clause   string `json:"clause"`
	Row      string `json:"row,omitempty"` // of the OCPP table
	Doubt    string `json:"confidence"`
}

// hearRule is one rule of the table.
type hearRule struct {
	id, sign, happened, try, clause, row, confidence string
	pattern                                          *regexp.Regexp
}

// readHearRules reads the rules, every fault at once.
func readHearRules(name string, text []byte) ([]hearRule, error) {
	rows, lines, err := sheet.Headed(name, text, []string{"id", "sign", "pattern", "happened", "try", "clause", "row", "confidence"})
	if err != nil {
		return nil, err
	}
	var faults sheet.Faults
	var out []hearRule
	for i, r := range rows {
		rule := hearRule{id: r["id"], sign: r["sign"], happened: r["happened"], try: r["try"], clause: r["clause"], row: r["row"], confidence: r["confidence"]}
		at := fmt.Sprintf("%s:%d: ", name, lines[i])
		switch _, known := signs[rule.sign]; {
		case rule.sign == "line":
			if rule.pattern, err = regexp.Compile(r["pattern"]); err != nil || r["pattern"] == "" {
				faults.Add(at + fmt.Sprintf("the pattern cannot be read: %v", err))
			}
		case !known:
			faults.Add(at + fmt.Sprintf("sign is %q: line, or one of %s", rule.sign, strings.Join(slices.Sorted(maps.Keys(signs)), ", ")))
		}
		if rule.happened == "" || rule.try == "" || rule.clause == "" {
			faults.Add(at + "a rule says what happened, what to try, and the clause")
		}
		out = append(out, rule)
	}
	return out, faults.Err()
}

// Report is what was heard in a log.
type Report struct {
	Lines    int     `json:"lines"`
	Messages int     `json:"messages"`
	Heard    []Heard `json:"heard"`
}

// Hear reads a recorded OCPP log, or a log that a point exports, and says in
// plain words what happened and what to try, in the order of the log.
func Hear(text []byte) (Report, error) {
	rules, err := readHearRules("hear.csv", hearRules)
	if err != nil {
		return Report{}, err
	}
	lines := readLog(text)
	r := Report{Lines: len(lines), Heard: []Heard{}}
	for _, l := range lines {
		if l.frame != nil {
			r.Messages++
		}
	}
	told := tale(lines)
	for _, rule := range rules {
		h := Heard{Rule: rule.id, Happened: rule.happened, Try: rule.try, Clause: rule.clause, Row: rule.row, Doubt: rule.confidence}
		found := told[rule.sign]
		if rule.sign == "line" {
			for _, l := range lines {
				if l.frame == nil && rule.pattern.MatchString(l.text) {
					found = append(found, notice{l.number, string(ocpp.WithoutSecrets([]byte(short(l.text))))})
				}
			}
		}
		if len(found) == 0 {
			continue
		}
		h.Line, h.Times, h.Detail = found[0].line, len(found), found[0].detail
		r.Heard = append(r.Heard, h)
	}
	sortByLine(r.Heard)
	return r, nil
}

// short cuts a quoted line.
func short(text string) string {
	const most = 160
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + " …"
	}
	return text
}
