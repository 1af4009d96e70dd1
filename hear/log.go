package hear

import (
	"bufio"
	"bytes"
	"chargewright/ocpp"
	"encoding/json"
	"regexp"
	"strings"
	"time"
)

// logLine is one line of a recorded log.
type logLine struct {
	number int
	text   string
	at     time.Time // zero where the line tells none
	frame  *ocpp.Frame
	broken bool // it looks like a frame and is none
}

// Bounds of a log.
const (
	mostLogBytes = 64 << 20
	mostLogLine  = ocpp.MostBytes * 2
	mostLogLines = 500_000
)

// stamp matches a time in front of a log line, in the layouts loggers use.
var stamp = regexp.MustCompile(`(\d{4})[-/](\d\d)[-/](\d\d)[T ](\d\d):(\d\d):(\d\d)(?:[.,](\d{1,9}))?\s?(Z|[+-]\d\d:?\d\d)?`)

// frameStart matches where a frame begins in a line.
var frameStart = regexp.MustCompile(`\[\s*[234]\s*,\s*"`)

// readLog reads a log of any layout: a frame a line, with or without a time
// and other words around it, or a journal of our own.
func readLog(text []byte) []logLine {
	if len(text) > mostLogBytes {
		text = text[:mostLogBytes]
	}
	var out []logLine
	lines := bufio.NewScanner(bytes.NewReader(text))
	lines.Buffer(make([]byte, 64<<10), mostLogLine)
	for n := 1; lines.Scan() && n <= mostLogLines; n++ {
		line := strings.TrimSpace(lines.Text())
		if line == "" {
			continue
		}
		l := logLine{number: n, text: line}
		var m ocpp.Message
		if line[0] == '{' && json.Unmarshal([]byte(line), &m) == nil && (m.Raw != "" || m.Remark != "") {
			l.at, l.text = m.At, m.Raw+" "+m.Remark
		}
		if at := stamp.FindStringSubmatch(l.text); at != nil && l.at.IsZero() && strings.Index(l.text, at[0]) < 40 {
			l.at = logTime(at)
		}
		if start := frameStart.FindStringIndex(l.text); start != nil {
			var raw json.RawMessage
			err := json.NewDecoder(strings.NewReader(l.text[start[0]:])).Decode(&raw)
			var f ocpp.Frame
			if err == nil {
				f, err = ocpp.ReadFrame(raw)
			}
			if l.broken = err != nil; !l.broken {
				l.frame = &f
			}
		}
		out = append(out, l)
	}
	return out
}

// logTime puts the parts of a stamp together; without a zone it is taken for UTC.
func logTime(parts []string) time.Time {
	layout, text := "2006-01-02T15:04:05", strings.Join(parts[1:4], "-")+"T"+strings.Join(parts[4:7], ":")
	if zone := parts[8]; zone != "" {
		text += strings.Replace(zone, ":", "", 1)
		layout += "Z0700"
	}
	t, err := time.Parse(layout, text)
	if err != nil {
		return time.Time{}
	}
	return t
}
