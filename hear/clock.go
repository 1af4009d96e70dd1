package hear

import (
	"bytes"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// moment is a time in front of a log line, and how much of it is there.
type moment struct {
	time.Time
	zoned    bool // it names its zone
	yearless bool // it names no year
	dateless bool // it names no day
}

func (m moment) known() bool { return !m.IsZero() }

// clock reads the times of a log. Once it has seen how they are written it looks
// no further.
type clock struct {
	seen  int // times in the usual layout
	other int // in another
	day   time.Time
	last  time.Time
}

// within a line a time stands near its front.
const frontOf = 64

// stampIn returns where a time in the usual layout begins; -1 for none.
func stampIn(text []byte) int {
	for at := 0; at+19 <= len(text); at++ {
		if t := text[at:]; digits(t[:4]) && (t[4] == '-' || t[4] == '/' || t[4] == '.') && digits(t[5:7]) && t[7] == t[4] && digits(t[8:10]) &&
			(t[10] == 'T' || t[10] == ' ' || t[10] == '_') && digits(t[11:13]) && (t[13] == ':' || t[13] == '-') && digits(t[14:16]) && t[16] == t[13] &&
			digits(t[17:19]) {
			return at
		}
	}
	return -1
}

func digits(text []byte) bool {
	for _, c := range text {
		if c < '0' || c > '9' {
			return false
		}
	}
	return true
}

func number(text []byte) int {
	n := 0
	for _, c := range text {
		n = 10*n + int(c-'0')
	}
	return n
}

// read reads the time in front of a line. What begins a message is no longer the
// front.
func (c *clock) read(text []byte) moment {
	front := text[:min(len(text), frontOf)]
	if at := bytes.IndexByte(front, '{'); at >= 0 {
		front = front[:at]
	}
	if at := stampIn(front); at >= 0 {
		c.seen++
		return usual(text[at:])
	}
	if c.seen > 100 && c.other == 0 {
		return moment{}
	}
	m := c.unusual(front)
	if m.known() {
		c.other++
	}
	return m
}

// usual reads a time like 2026-11-25T10:00:00.123Z.
func usual(t []byte) moment {
	year, month, day := number(t[:4]), number(t[5:7]), number(t[8:10])
	hour, minute, second := number(t[11:13]), number(t[14:16]), number(t[17:19])
	if month < 1 || month > 12 || day < 1 || day > 31 || hour > 24 || minute > 59 || second > 60 || year < 1970 {
		return moment{}
	}
	nano, rest := 0, t[19:]
	if len(rest) > 1 && (rest[0] == '.' || rest[0] == ',' || rest[0] == '-' && len(rest) > 4 && digits(rest[1:5])) {
		size := 1
		for unit := 100_000_000; size < len(rest) && rest[size] >= '0' && rest[size] <= '9'; size, unit = size+1, unit/10 {
			nano += int(rest[size]-'0') * unit
		}
		rest = rest[size:]
	}
	m := moment{Time: time.Date(year, time.Month(month), day, hour, minute, second, nano, time.UTC)}
	rest = bytes.TrimPrefix(rest, []byte(" "))
	switch {
	case len(rest) > 0 && rest[0] == 'Z' || bytes.HasPrefix(rest, []byte("UTC")):
		m.zoned = true
	case len(rest) >= 5 && (rest[0] == '+' || rest[0] == '-') && digits(rest[1:3]):
		minutes := rest[3:]
		if minutes[0] == ':' {
			minutes = minutes[1:]
		}
		if len(minutes) >= 2 && digits(minutes[:2]) {
			off := time.Duration(number(rest[1:3]))*time.Hour + time.Duration(number(minutes[:2]))*time.Minute
			if rest[0] == '-' {
				off = -off
			}
			m.Time, m.zoned = m.Add(-off), true
		}
	}
	return m
}

// Times as other loggers and other languages write them.
var (
	dayFirst  = regexp.MustCompile(`\b(\d{1,2})[./-](\d{1,2})[./-](\d{4})[ T,]+(\d{1,2}):(\d\d):(\d\d)(?:[.,]\d+)?\s?([AaPp]\.?[Mm])?`)
	monthName = regexp.MustCompile(`\b(\d{1,2})\.?[ /-](\p{L}{3,9})\.?[ /-](\d{4})[ :,T]+(\d{1,2}):(\d\d):(\d\d)(?:[.,]\d+)?(?:\s([+-]\d{4}))?`)
	system    = regexp.MustCompile(`^(?:<\d+>)?(?:\d+ )?(\p{L}{3,4})\.?\s+(\d{1,2})\s(\d\d):(\d\d):(\d\d)`)
	eastern   = regexp.MustCompile(`(\d{4})年(\d{1,2})月(\d{1,2})日\s*(\d{1,2}):(\d\d):(\d\d)`)
	counted   = regexp.MustCompile(`^\W?(1[4-9]\d{8})(?:[.,]?(\d{3}))?(?:\D|$)`)
	timeOnly  = regexp.MustCompile(`^\W?(\d\d):(\d\d):(\d\d)(?:[.,]\d+)?(?:\W|$)`)
)

// months by the first letters of their names in the languages of western Europe.
var months = map[string]time.Month{"jan": 1, "feb": 2, "fév": 2, "mar": 3, "mär": 3, "mrt": 3, "apr": 4, "avr": 4, "abr": 4, "may": 5, "mai": 5, "mei": 5,
	"mag": 5, "jun": 6, "jui": 6, "giu": 6, "jul": 7, "lug": 7, "aug": 8, "aoû": 8, "ago": 8, "sep": 9, "set": 9, "oct": 10, "okt": 10, "ott": 10, "out": 10,
	"nov": 11, "dec": 12, "dez": 12, "déc": 12, "dic": 12}

func monthOf(name string) time.Month {
	name = strings.ToLower(name)
	if strings.HasPrefix(name, "juil") {
		return 7
	}
	letters := []rune(name)
	return months[string(letters[:min(3, len(letters))])]
}

func atoi(text string) int { n, _ := strconv.Atoi(text); return n }

// unusual reads a time in any other layout.
func (c *clock) unusual(front []byte) moment {
	date := func(year int, month time.Month, day int, hour, minute, second string) time.Time {
		if month < 1 || month > 12 || day < 1 || day > 31 || atoi(hour) > 24 {
			return time.Time{}
		}
		return time.Date(year, month, day, atoi(hour), atoi(minute), atoi(second), 0, time.UTC)
	}
	text := string(front)
	if p := dayFirst.FindStringSubmatch(text); p != nil {
		day, month, hour := atoi(p[1]), atoi(p[2]), atoi(p[4])
		if month > 12 || p[7] != "" { // the month first, as in America
			day, month = month, day
		}
		switch {
		case p[7] != "" && p[7][0]|0x20 == 'p' && hour < 12:
			hour += 12
		case p[7] != "" && p[7][0]|0x20 == 'a' && hour == 12:
			hour = 0
		}
		return moment{Time: date(atoi(p[3]), time.Month(month), day, strconv.Itoa(hour), p[5], p[6])}
	}
	if p := monthName.FindStringSubmatch(text); p != nil {
		if month := monthOf(p[2]); month > 0 {
			m := moment{Time: date(atoi(p[3]), month, atoi(p[1]), p[4], p[5], p[6])}
			if zone, err := time.Parse("-0700", p[7]); err == nil {
				_, off := zone.Zone()
				m.Time, m.zoned = m.Add(-time.Duration(off)*time.Second), true
			}
			return m
		}
	}
	if p := system.FindStringSubmatch(text); p != nil {
		if month := monthOf(p[1]); month > 0 {
			const leap = 2000 // a year that has every day
			return moment{Time: date(leap, month, atoi(p[2]), p[3], p[4], p[5]), yearless: true}
		}
	}
	if p := eastern.FindStringSubmatch(text); p != nil {
		return moment{Time: date(atoi(p[1]), time.Month(atoi(p[2])), atoi(p[3]), p[4], p[5], p[6])}
	}
	if p := counted.FindStringSubmatch(text); p != nil {
		return moment{Time: time.Unix(int64(atoi(p[1])), 0).UTC(), zoned: true}
	}
	if p := timeOnly.FindStringSubmatch(text); p != nil && atoi(p[1]) < 24 {
		if c.day.IsZero() {
			c.day = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
		}
		t := c.day.Add(time.Duration(atoi(p[1]))*time.Hour + time.Duration(atoi(p[2]))*time.Minute + time.Duration(atoi(p[3]))*time.Second)
		if t.Before(c.last.Add(-12 * time.Hour)) { // midnight has gone by
			c.day, t = c.day.AddDate(0, 0, 1), t.AddDate(0, 0, 1)
		}
		c.last = t
		return moment{Time: t, dateless: true}
	}
	return moment{}
}

// epoch reads a time that is counted in seconds or thousandths since 1970.
func epoch(n float64) moment {
	if n > 1e11 {
		n /= 1000
	}
	if n < 1e9 || n > 4e9 {
		return moment{}
	}
	return moment{Time: time.Unix(int64(n), 0).UTC(), zoned: true}
}
