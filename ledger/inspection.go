package ledger

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"time"

	"chargewright/finding"
	"chargewright/sheet"
)

// inspections is what is due again and again at a site.
type inspections struct{ rows []inspection }

type inspection struct {
	what, about, source string
	last                int64 // day, −always when not known
	months              int
}

// readInspections reads a table: what, about, last done, every months, source,
// confidence.
func readInspections(file string, r io.Reader) (*inspections, error) {
	s, err := sheet.Read(file, r, "what", "about", "last done", "every months", "source", "confidence")
	if err != nil {
		return nil, err
	}
	out := &inspections{}
	for _, row := range s.Rows {
		months, ok := number(row, "every months", 0, "whole months, like 12")
		if !ok {
			continue
		}
		if months == 0 || months > 1200 {
			row.Fault("every months", row.Get("every months"), "whole months, like 12")
			continue
		}
		one := inspection{what: row.Get("what"), about: row.Get("about"), last: -always, months: int(months),
			source: row.Get("source") + " (" + row.Get("confidence") + ")"}
		if text := row.Get("last done"); text != "" {
			if one.last, ok = sheet.ReadDate([]byte(text), false); !ok {
				row.Fault("last done", text, "a date is wanted, like 2026-04-01, or nothing when it is not known")
				continue
			}
		}
		out.rows = append(out.rows, one)
	}
	return out, s.Faults.Err()
}

// Due says what is due and when, as of a day, the most overdue first.
func (in *inspections) Due(today int64) []finding.Finding {
	var out []finding.Finding
	for _, row := range in.rows {
		f := finding.Finding{Clause: finding.Clause{Name: row.source}, Subject: row.about, What: row.what + fmt.Sprintf(", every %d months", row.months),
			Key: "due", Source: finding.From(row.source, "")}
		if row.last == -always {
			f.Why = finding.Say("it is not known when it was last done")
			f.Next = "find the last report, or do it on the next visit"
			out = append(out, f)
			continue
		}
		due := addMonths(row.last, row.months)
		f.Margin = finding.Count(int(due-today), "days")
		f.Why = finding.Say("last done %s, due %s", longDate(row.last), longDate(due))
		f.Verdict = finding.Meets
		if due < today {
			f.Verdict = finding.Fails
			f.Next = "do it on the next visit"
		} else if due-today <= 60 {
			f.Next = "plan it into the next visit"
		}
		out = append(out, f)
	}
	slices.SortStableFunc(out, func(a, b finding.Finding) int { return cmp.Compare(a.Margin.Number, b.Margin.Number) })
	return out
}

// addMonths returns the same day so many months on, or the last of that month.
func addMonths(day int64, months int) int64 {
	y, m, d := sheet.DateOf(day)
	m += months - 1
	y, m = y+m/12, m%12+1
	return sheet.DaysTo(y, m, min(d, sheet.DaysIn(y, m)))
}

// longDate prints a day as a person writes it.
func longDate(day int64) string {
	return time.Unix(day*86400, 0).UTC().Format("2 January 2006")
}
