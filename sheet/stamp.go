package sheet

import "bytes"

// Stamp is a time as it was written.
type Stamp struct {
	Wall    Civil
	Offset  int64 // seconds east of UTC, where HasZone
	HasZone bool
	Fine    int8 // 1 when seconds were written, 60 when not
	Either  bool // day and month could be told apart only by convention
}

// Instant returns the instant in seconds since 1970, UTC. Where the clocks of
// the zone show the time twice, it is the first.
func (s Stamp) Instant(c *Clock) int64 {
	if s.HasZone {
		return int64(s.Wall) - s.Offset
	}
	at, _, _ := c.Instants(s.Wall)
	return at
}

// ReadStamp reads a date and time: 2026-11-25T14:05:30Z, 2026-11-25 14:05,
// 25.11.2026 14:05, 25/11/2026 2:05 PM, with or without seconds and offset; or
// the seconds or milliseconds since 1970.
func ReadStamp(b []byte, monthFirst bool) (s Stamp, ok bool) {
	p := stampReader{b: b}
	if !p.date(&s, monthFirst) {
		return epoch(b)
	}
	if p.peek() == ',' {
		p.next()
	}
	if c := p.next(); c != ' ' && c != 'T' && c != 't' {
		return s, false
	}
	if !p.time(&s) {
		return s, false
	}
	if p.peek() == ' ' {
		p.next()
	}
	switch c := p.peek(); c {
	case 0:
	case 'Z', 'z':
		p.next()
		s.HasZone = true
	case 'U', 'G':
		if word := string(b[p.i:]); word != "UTC" && word != "GMT" {
			return s, false
		}
		p.i = len(b)
		s.HasZone = true
	case '+', '-':
		p.next()
		oh, wo := p.digits(2)
		om := 0
		if wo == 2 && p.peek() == ':' {
			p.next()
		}
		if wo == 2 && p.peek() != 0 {
			if om, wo = p.digits(2); wo != 2 {
				return s, false
			}
		}
		if wo != 2 || oh > 14 || om > 59 {
			return s, false
		}
		s.HasZone, s.Offset = true, int64(oh*3600+om*60)
		if c == '-' {
			s.Offset = -s.Offset
		}
	default:
		return s, false
	}
	return s, p.i == len(b)
}

// epoch reads seconds since 1970 in ten digits, or milliseconds in thirteen.
func epoch(b []byte) (s Stamp, ok bool) {
	p := stampReader{b: b}
	var n int64
	for _, c := range b {
		if c < '0' || c > '9' {
			return s, false
		}
		n = n*10 + int64(c-'0')
		p.i++
		if p.i > 13 {
			return s, false
		}
	}
	switch p.i {
	case 13:
		n /= 1000
	case 10:
	default:
		return s, false
	}
	return Stamp{Wall: Civil(n), HasZone: true, Fine: 1}, n <= 7_258_118_400 // the year 2200
}

type stampReader struct {
	b []byte
	i int
}

func (p *stampReader) date(s *Stamp, monthFirst bool) bool {
	first, width := p.digits(4)
	if width == 0 {
		return false
	}
	mark := p.next()
	second, w2 := p.digits(2)
	if w2 == 0 || p.next() != mark {
		return false
	}
	third, w3 := p.digits(4)
	var y, m, d int
	switch {
	case width == 4 && (mark == '-' || mark == '/' || mark == '.') && w3 <= 2 && w3 > 0:
		y, m, d = first, second, third
	case width <= 2 && (mark == '.' || mark == '/' || mark == '-') && w3 == 4:
		d, m, y = first, second, third
		if monthFirst {
			d, m = m, d
		}
		s.Either = mark == '/' && first <= 12 && second <= 12 && first != second
	default:
		return false
	}
	if m < 1 || m > 12 || d < 1 || y < 1900 || y > 2200 || d > DaysIn(y, m) {
		return false
	}
	s.Wall = Civil(DaysTo(y, m, d) * 86400)
	return true
}

// time reads a time of day and adds it to the day.
func (p *stampReader) time(s *Stamp) bool {
	h, wh := p.digits(2)
	if wh == 0 || p.next() != ':' {
		return false
	}
	mi, wm := p.digits(2)
	if wm != 2 || h > 23 || mi > 59 {
		return false
	}
	sec := 0
	s.Fine = 60
	if p.peek() == ':' {
		p.next()
		var ws int
		if sec, ws = p.digits(2); ws != 2 || sec > 59 {
			return false
		}
		s.Fine = 1
		if c := p.peek(); c == '.' || c == ',' {
			p.next()
			if _, wf := p.digits(12); wf == 0 {
				return false
			}
		}
	}
	if late, said := p.half(); said {
		if h < 1 || h > 12 {
			return false
		}
		if h %= 12; late {
			h += 12
		}
	}
	s.Wall += Civil(h*3600 + mi*60 + sec)
	return true
}

// half reads AM or PM, with or without a space before it.
func (p *stampReader) half() (late, said bool) {
	rest := bytes.TrimLeft(p.b[p.i:], " ")
	if len(rest) < 2 || rest[0]|0x20 != 'a' && rest[0]|0x20 != 'p' {
		return false, false
	}
	late = rest[0]|0x20 == 'p'
	for _, word := range [...]string{"m", ".m.", ".m"} {
		if len(rest) > len(word) && bytes.EqualFold(rest[1:1+len(word)], []byte(word)) {
			p.i = len(p.b) - len(rest) + 1 + len(word)
			return late, true
		}
	}
	return false, false
}

func (p *stampReader) peek() byte {
	if p.i < len(p.b) {
		return p.b[p.i]
	}
	return 0
}

func (p *stampReader) next() byte {
	c := p.peek()
	if c != 0 {
		p.i++
	}
	return c
}

// digits reads up to most digits.
func (p *stampReader) digits(most int) (n, width int) {
	for p.i < len(p.b) && width < most && p.b[p.i] >= '0' && p.b[p.i] <= '9' {
		if width < 9 {
			n = n*10 + int(p.b[p.i]-'0')
		}
		p.i++
		width++
	}
	return n, width
}

// ReadDate reads a date alone, 2026-11-25 or 25/11/2026, as the number of its
// day.
func ReadDate(b []byte, monthFirst bool) (day int64, ok bool) {
	p, s := stampReader{b: bytes.TrimSpace(b)}, Stamp{}
	ok = p.date(&s, monthFirst) && p.i == len(p.b)
	return s.Wall.Day(), ok
}

// ReadMinute reads a time of day: 23:30; 24:00 is the end of the day.
func ReadMinute(b []byte) (minute int, ok bool) {
	p := stampReader{b: bytes.TrimSpace(b)}
	h, wh := p.digits(2)
	if wh == 0 || p.next() != ':' {
		return 0, false
	}
	m, wm := p.digits(2)
	return h*60 + m, wm == 2 && m < 60 && h*60+m <= 1440 && p.i == len(p.b)
}

// ReadLength reads a length of time in seconds: a number in a unit of so many
// seconds, or hours, minutes and seconds, like 7:36:00.
func ReadLength(b []byte, unit int) (seconds int64, ok bool) {
	const most = 366 * 86400
	if bytes.IndexByte(b, ':') < 0 {
		n, _, ok := Number(b, 6)
		if !ok || unit <= 0 || n < 0 || n > most*1_000_000/int64(unit) {
			return 0, false
		}
		return (n*int64(unit) + 500_000) / 1_000_000, true
	}
	p := stampReader{b: b}
	parts := 0
	for ; parts < 3; parts++ {
		n, width := p.digits(4)
		if width == 0 || parts > 0 && (width != 2 || n > 59) {
			return 0, false
		}
		seconds = seconds*60 + int64(n)
		if p.next() != ':' {
			parts++
			break
		}
	}
	if parts == 2 {
		seconds *= 60
	}
	return seconds, parts >= 2 && p.i >= len(b) && seconds <= most
}
