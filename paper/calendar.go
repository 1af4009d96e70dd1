package paper

import (
	"fmt"
	"strings"
	"time"

	"chargewright/model"
	"chargewright/seal"
)

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
		line(fmt.Sprintf("UID:%s-%d@chargewright.invalid", seal.Sum([]byte(m.Job.Name + "\n" + m.Job.Site.Address + "\n" + e.What + e.When))[:32], i+1))
		line("DTSTAMP:" + made.UTC().Format("20060102T150405Z"))
		line("DTSTART;VALUE=DATE:" + e.day.Format("20060102"))
		line("DTEND;VALUE=DATE:" + e.day.AddDate(0, 0, 1).Format("20060102"))
		line("SUMMARY:" + calendarText(e.What+": "+m.Job.Name))
		line("LOCATION:" + calendarText(m.Job.Site.Address))
		line("DESCRIPTION:" + calendarText(e.Why))
		if e.again > 0 {
			line(fmt.Sprintf("RRULE:FREQ=MONTHLY;INTERVAL=%d;COUNT=10", e.again))
		}
		if e.warn {
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
