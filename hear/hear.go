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
var hearRules string

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
	ID         string `col:"id,key"`
	Sign       string `col:"sign"`
	Pattern    string `col:"pattern"`
	Happened   string `col:"happened,must"`
	Try        string `col:"try,must"`
	Clause     string `col:"clause,must"`
	Row        string `col:"row"`
	Confidence string `col:"confidence"`
	pattern    *regexp.Regexp
}

// readHearRules reads the rules, every fault at once.
func readHearRules(name, text string) ([]hearRule, error) {
	return sheet.Rows(name, text, func(rule *hearRule, row sheet.Row) {
		switch _, known := signs[rule.Sign]; {
		case rule.Sign == "line":
			var err error
			if rule.pattern, err = regexp.Compile(rule.Pattern); err != nil || rule.Pattern == "" {
				row.Fault("pattern", rule.Pattern, fmt.Sprintf("it cannot be read: %v", err))
			}
		case !known:
			row.Fault("sign", rule.Sign, "line, or one of "+strings.Join(slices.Sorted(maps.Keys(signs)), ", "))
		}
	})
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
		h := Heard{Rule: rule.ID, Happened: rule.Happened, Try: rule.Try, Clause: rule.Clause, Row: rule.Row, Doubt: rule.Confidence}
		found := told[rule.Sign]
		if rule.Sign == "line" {
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
