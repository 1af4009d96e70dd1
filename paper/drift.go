package paper

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"chargewright/finding"
	"chargewright/model"
)

// sortByDay puts what has a day first, in order; the rest keeps its order.
func sortByDay(list []expires) {
	slices.SortStableFunc(list, func(a, b expires) int {
		switch {
		case a.Known && b.Known:
			return a.day.Compare(b.day)
		case a.Known:
			return -1
		case b.Known:
			return 1
		}
		return 0
	})
}

// clockChanges returns the next days the clocks go back and forward in the
// United Kingdom: the last Sundays of October and March (Summer Time Order
// 2002), after a day.
func clockChanges(after time.Time) (october, march time.Time) {
	next := func(month time.Month) time.Time {
		for year := after.Year(); ; year++ {
			end := time.Date(year, month+1, 0, 0, 0, 0, 0, time.UTC)
			if sunday := end.AddDate(0, 0, -int(end.Weekday())); sunday.After(after) {
				return sunday
			}
		}
	}
	return next(time.October), next(time.March)
}

// driftSheet says what runs out or drifts, and when.
func driftSheet(m *model.Model, made time.Time) *Document {
	d := newDocument(m, made, "What runs out, and what drifts", "Days to remember, and what changes without anyone touching it. The days stand in dates.ics as well, for a calendar.")
	dated := Table{Columns: []Column{{Head: "By", Share: 34}, {Head: "What", Share: 56}, {Head: "Why", Share: 80}}}
	other := Table{Columns: []Column{{Head: "When", Share: 48}, {Head: "What", Share: 46}, {Head: "Why", Share: 76}}}
	for _, e := range driftList(m, made) {
		row := Row{Cells: []Cell{{Text: capital(e.whenText()), Bold: e.Known}, {Text: e.What}, {Text: capital(e.Why)}}}
		if e.Known {
			dated.Rows = append(dated.Rows, row)
		} else {
			other.Rows = append(other.Rows, row)
		}
	}
	d.Sections = []Section{{Heading: "By a day", Blocks: []Block{dated}}, {Heading: "Without a day", Blocks: []Block{other}}}
	if len(dated.Rows) == 0 {
		d.Sections[0].Blocks = []Block{Paragraph{"No day is entered yet."}}
	}
	return d
}

// Calendar returns the dated things as an iCalendar file (RFC 5545), the
// inspection with an alarm a month before.
func Calendar(m *model.Model, made time.Time) []byte {
	var b strings.Builder
	line := func(text string) {
		for len(text) > 75 { // RFC 5545 3.1: 75 octets, no letter cut
			cut := 75
			for cut > 0 && text[cut]&0xc0 == 0x80 {
				cut--
			}
			b.WriteString(text[:cut] + "\r\n")
			text = " " + text[cut:]
		}
		b.WriteString(text + "\r\n")
	}
	for _, l := range []string{"BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Chargewright//Papers//EN", "CALSCALE:GREGORIAN"} {
		line(l)
	}
	for i, e := range driftList(m, made) {
		if !e.Known {
			continue
		}
		line("BEGIN:VEVENT")
		line(fmt.Sprintf("UID:%s-%d@chargewright.invalid", sum([]byte(m.Job.Name + "\n" + m.Job.Site.Address + "\n" + e.What + e.When))[:32], i+1))
		line("DTSTAMP:" + made.UTC().Format("20060102T150405Z"))
		line("DTSTART;VALUE=DATE:" + e.day.Format("20060102"))
		line("DTEND;VALUE=DATE:" + e.day.AddDate(0, 0, 1).Format("20060102"))
		line("SUMMARY:" + calendarText(e.What+": "+m.Job.Name))
		line("LOCATION:" + calendarText(m.Job.Site.Address))
		line("DESCRIPTION:" + calendarText(e.Why))
		if strings.HasPrefix(e.What, "Press the test button") {
			line("RRULE:FREQ=MONTHLY;INTERVAL=6;COUNT=10")
		}
		if e.What == "Periodic inspection" {
			for _, l := range []string{"BEGIN:VALARM", "ACTION:DISPLAY", "DESCRIPTION:Inspection is due in a month", "TRIGGER:-P30D", "END:VALARM"} {
				line(l)
			}
		}
		line("END:VEVENT")
	}
	line("END:VCALENDAR")
	return []byte(b.String())
}

// calendarText escapes a text (RFC 5545 3.3.11).
func calendarText(s string) string {
	return strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\r", "", "\n", `\n`).Replace(s)
}

// openSheet is the statement of what is assumed and what is not known.
func openSheet(m *model.Model, fs []finding.Finding, made time.Time) *Document {
	d := newDocument(m, made, "Assumed, and not known", "What the papers of this job rest on without proof, and what nobody has found out yet. Whoever signs should have read it.")
	d.Sections = []Section{{Heading: "Assumed", Blocks: assumed(m)}}
	if open := openTable(fs); len(open.Rows) > 0 {
		d.Sections = append(d.Sections, Section{Heading: "Not known, or to judge on site", Blocks: []Block{open}})
	} else {
		d.Sections = append(d.Sections, Section{Heading: "Not known", Blocks: []Block{Paragraph{"No requirement that was checked is open. What was not checked stands in the README of the program: it checks no ring circuits, no generation and nothing an inspector must see."}}})
	}
	src := &sources{}
	for _, f := range fs {
		src.cite(f.Source.String())
	}
	doubtful := &sources{}
	for _, s := range src.list {
		if _, doubt := doubtOf(s); doubt != "" {
			doubtful.cite(s)
		}
	}
	if len(doubtful.list) > 0 {
		d.Sections = append(d.Sections, Section{Heading: "Figures whose source is in doubt", Blocks: []Block{sourceTable(doubtful)}})
	}
	d.Sections = append(d.Sections, Section{Heading: "Seen and noted", Blocks: []Block{Lines{"Read by", "Date"}}})
	return d
}
