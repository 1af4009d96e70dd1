package sheet

import (
	"bytes"
	"math"
	"strconv"
)

// Missing reports whether a cell says nothing.
func Missing(b []byte) bool {
	switch len(b) {
	case 0:
		return true
	case 1:
		return b[0] == '-' || b[0] == '?'
	case 2, 3, 4:
		for _, word := range [...]string{"na", "n/a", "nan", "null", "none"} {
			if len(b) == len(word) && bytes.EqualFold(b, []byte(word)) {
				return true
			}
		}
		return string(b) == "–" || string(b) == "—" || string(b) == "--"
	}
	return false
}

// Yes reads yes or no, as the trade ticks it.
func Yes(text string) (yes, ok bool) {
	switch text {
	case "yes", "Yes", "YES", "y", "Y", "true", "TRUE", "True", "✓", "✔":
		return true, true
	case "no", "No", "NO", "n", "N", "false", "FALSE", "False", "✗", "✘":
		return false, true
	}
	return false, false
}

// Float reads a figure. A comma is the decimal mark where it is the only mark,
// unless it may part thousands in a table whose cells commas part: 1,234 there
// is no figure that two people read alike.
func Float(text []byte, mark byte) (float64, bool) {
	v, err := strconv.ParseFloat(string(text), 64)
	if err != nil {
		text = ungrouped(text)
		at, thousands := decimalMark(text)
		if at >= 0 && text[at] == ',' && mark == ',' && len(text)-at == 4 {
			return 0, false
		}
		if _, _, ok := Number(text, 6); !ok && thousands != 0 {
			return 0, false
		}
		plain := make([]byte, 0, len(text))
		for i, c := range text {
			switch {
			case i == at:
				plain = append(plain, '.')
			case c != thousands || thousands == 0:
				plain = append(plain, c)
			}
		}
		v, err = strconv.ParseFloat(string(plain), 64)
	}
	return v, err == nil && !math.IsNaN(v) && math.Abs(v) < 1e15
}

// ungrouped leaves out spaces and apostrophes that part thousands, and writes a
// printed minus as a typed one.
func ungrouped(text []byte) []byte {
	for _, one := range [...]string{"−", "\u00a0", "\u202f", " ", "'", "’"} {
		if !bytes.Contains(text, []byte(one)) {
			continue
		}
		if one == "−" {
			text = bytes.Replace(text, []byte(one), []byte("-"), 1)
			continue
		}
		parts := bytes.Split(text, []byte(one))
		for i, p := range parts {
			digits := len(p) - len(bytes.TrimLeft(p, "0123456789"))
			if i > 0 && digits != 3 || i < len(parts)-1 && (len(bytes.TrimLeft(p, "-+0123456789")) > 0 || len(bytes.TrimLeft(p, "-+")) > 3 ||
				len(bytes.TrimLeft(p, "-+")) == 0) {
				return text
			}
		}
		text = bytes.Join(parts, nil)
	}
	return text
}

// Number reads a decimal number as a whole count of its places: "12.5" to 2
// places is 1250. A comma may stand for the point, and the other of the two
// may part thousands. It reports how many places were more than it keeps.
func Number(text []byte, places int) (n int64, cut int, ok bool) {
	if len(text) > 0 && text[len(text)/2] > 0x7f || bytes.IndexByte(text, ' ') >= 0 {
		text = ungrouped(text)
	}
	negative := false
	if len(text) > 0 && (text[0] == '-' || text[0] == '+') {
		negative = text[0] == '-'
		text = text[1:]
	}
	mark, other := decimalMark(text)
	digits, behind, round := 0, -1, false
	group := 0 // digits since a mark that parts thousands
	parted := false
	for i, c := range text {
		switch {
		case c >= '0' && c <= '9':
			digits++
			group++
			if behind >= 0 {
				behind++
				if behind > places {
					cut++
					if behind == places+1 {
						round = c >= '5'
					}
					continue
				}
			}
			if n > (1<<62)/10-10 {
				return 0, 0, false
			}
			n = n*10 + int64(c-'0')
		case i == mark && digits > 0:
			if parted && group != 3 {
				return 0, 0, false
			}
			behind = 0
		case c == other && other != 0 && behind < 0 && digits > 0 && (!parted && digits <= 3 || parted && group == 3):
			parted, group = true, 0
		default:
			return 0, 0, false
		}
	}
	if digits == 0 || parted && behind < 0 && group != 3 {
		return 0, 0, false
	}
	for ; behind < places; behind++ {
		if behind < 0 {
			behind = 0
			if places == 0 {
				break
			}
		}
		if n > (1<<62)/10 {
			return 0, 0, false
		}
		n *= 10
	}
	if round {
		n++
	}
	if negative {
		n = -n
	}
	return n, cut, true
}

// decimalMark returns where the decimal mark stands, or -1, and the sign that
// parts thousands. A single comma or point is the decimal mark.
func decimalMark(text []byte) (at int, thousands byte) {
	point, comma, points, commas := -1, -1, 0, 0
	for i, c := range text {
		switch c {
		case '.':
			point = i
			points++
		case ',':
			comma = i
			commas++
		}
	}
	switch {
	case points > 0 && commas > 0 && point > comma && points == 1:
		return point, ','
	case points > 0 && commas > 0 && comma > point && commas == 1:
		return comma, '.'
	case points == 1 && commas == 0:
		return point, 0
	case commas == 1 && points == 0:
		return comma, 0
	case points == 0 && commas > 1:
		return -1, ','
	case commas == 0 && points > 1:
		return -1, '.'
	}
	return -1, 0
}
