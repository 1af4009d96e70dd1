package ledger

import (
	"bufio"
	"bytes"
	"errors"
	"io"
)

// longestLine is the longest line that is read; a longer one is no session.
const longestLine = 256 << 10

// lines reads a record line by line. The bytes of a line hold until the next.
type lines struct {
	r      *bufio.Reader
	number int32
	long   bool // the line was longer than a session can be
	err    error
}

func newLines(r io.Reader) *lines { return &lines{r: bufio.NewReaderSize(r, longestLine)} }

// next returns the next line without its ending, and false at the end.
func (l *lines) next() ([]byte, bool) {
	line, err := l.r.ReadSlice('\n')
	l.long = errors.Is(err, bufio.ErrBufferFull)
	for errors.Is(err, bufio.ErrBufferFull) {
		_, err = l.r.ReadSlice('\n')
	}
	if err != nil && !errors.Is(err, io.EOF) {
		l.err = err
		return nil, false
	}
	if err != nil && len(line) == 0 {
		return nil, false
	}
	l.number++
	if l.number == 1 {
		line = bytes.TrimPrefix(line, []byte("\xef\xbb\xbf"))
	}
	return bytes.TrimRight(line, "\r\n"), true
}

// split cuts a line at its separators. A field may stand in double quotes,
// doubled within; a quote that is not closed on its line is a fault, so that
// it cannot swallow the sessions below. The fields are parts of the line.
func split(line []byte, mark byte, fields [][]byte) ([][]byte, bool) {
	fields = fields[:0]
	for {
		if len(line) > 0 && line[0] == '"' {
			end, written := 1, 0
			for ; end < len(line); end++ {
				if line[end] == '"' {
					if end+1 >= len(line) || line[end+1] != '"' {
						break
					}
					end++
				}
				line[written] = line[end]
				written++
			}
			if end >= len(line) || end+1 < len(line) && line[end+1] != mark {
				return fields, false
			}
			fields = append(fields, bytes.TrimSpace(line[:written]))
			if end+1 == len(line) {
				return fields, true
			}
			line = line[end+2:]
			continue
		}
		i := bytes.IndexByte(line, mark)
		if i < 0 {
			return append(fields, bytes.TrimSpace(line)), true
		}
		fields = append(fields, bytes.TrimSpace(line[:i]))
		line = line[i+1:]
	}
}

// separator returns the sign that parts the columns of a head.
func separator(head []byte) byte {
	best, most := byte(','), 0
	for _, mark := range []byte(",;\t|") {
		if n := bytes.Count(head, []byte{mark}); n > most {
			best, most = mark, n
		}
	}
	return best
}

// missing reports whether a field says nothing.
func missing(b []byte) bool {
	switch len(b) {
	case 0:
		return true
	case 1:
		return b[0] == '-' || b[0] == '?'
	case 2, 3, 4:
		for _, word := range [...]string{"NA", "n/a", "N/A", "null", "NULL", "none", "–"} {
			if string(b) == word {
				return true
			}
		}
	}
	return false
}
