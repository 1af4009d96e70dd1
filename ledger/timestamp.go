package ledger

import "bytes"

// stamp is a time as it was written.
type stamp struct {
	wall     civil
	offset   int64 // seconds east of UTC, where hasZone
	hasZone  bool
	fine     int8 // 1 when seconds were written, 60 when not
	eitherIs bool // day and month could be told apart only by convention
}

// readStamp reads a date and time: 2026-11-25T14:05:30Z, 2026-11-25 14:05,
// 25.11.2026 14:05 or 25/11/2026 14:05, with or without seconds and offset.
func readStamp(b []byte, monthFirst bool) (s stamp, ok bool) {
	p := stampReader{b: b}
	first, width := p.digits(4)
	if width == 0 {
		return s, false
	}
	mark := p.next()
	second, w2 := p.digits(2)
	if w2 == 0 || p.next() != mark {
		return s, false
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
		s.eitherIs = mark == '/' && first <= 12 && second <= 12 && first != second
	default:
		return s, false
	}
	if m < 1 || m > 12 || d < 1 || d > daysIn(y, m) || y < 1900 || y > 2200 {
		return s, false
	}
	if c := p.next(); c != ' ' && c != 'T' && c != 't' {
		return s, false
	}
	h, wh := p.digits(2)
	if wh == 0 || p.next() != ':' {
		return s, false
	}
	mi, wm := p.digits(2)
	if wm != 2 || h > 23 || mi > 59 {
		return s, false
	}
	sec := 0
	s.fine = 60
	if p.peek() == ':' {
		p.next()
		var ws int
		if sec, ws = p.digits(2); ws != 2 || sec > 59 {
			return s, false
		}
		s.fine = 1
		if c := p.peek(); c == '.' || c == ',' {
			p.next()
			if _, wf := p.digits(12); wf == 0 {
				return s, false
			}
		}
	}
	s.wall = civil(daysTo(y, m, d)*86400 + int64(h*3600+mi*60+sec))
	if p.peek() == ' ' {
		p.next()
	}
	switch c := p.peek(); c {
	case 0:
	case 'Z', 'z':
		p.next()
		s.hasZone = true
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
		s.hasZone, s.offset = true, int64(oh*3600+om*60)
		if c == '-' {
			s.offset = -s.offset
		}
	default:
		return s, false
	}
	return s, p.i == len(b)
}

type stampReader struct {
	b []byte
	i int
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

// readDate reads a date alone: 2026-11-25 or 25/11/2026.
func readDate(b []byte, monthFirst bool) (day int64, ok bool) {
	s, ok := readStamp(append(bytes.Clone(bytes.TrimSpace(b)), " 00:00"...), monthFirst)
	return s.wall.day(), ok
}

// readMinute reads a time of day: 23:30; 24:00 is the end of the day.
func readMinute(b []byte) (minute int, ok bool) {
	p := stampReader{b: bytes.TrimSpace(b)}
	h, wh := p.digits(2)
	if wh == 0 || p.next() != ':' {
		return 0, false
	}
	m, wm := p.digits(2)
	return h*60 + m, wm == 2 && m < 60 && h*60+m <= 1440 && p.i == len(p.b)
}
