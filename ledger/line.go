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
