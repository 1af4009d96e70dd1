package hear

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"unicode/utf16"
	"unicode/utf8"
)

// logLine is one line of a recorded log, or the lines of one message.
type logLine struct {
	number int
	text   []byte // valid until the next line
	at     moment
	frame  *frame
	cut    bool // it looks like a message and ends in its middle
	broken bool // it looks like a message and is none
}

// frame is one OCPP message of a log. Its payload is valid until the next line.
type frame struct {
	kind    int // 2 a question, 3 its answer, 4 a refusal
	id      string
	action  string
	payload part
	code    string
	text    string
	spoken  bool // written as an action and its payload, without a frame
}

// Bounds of a log. A log itself may be of any length.
const (
	longestLine    = 1 << 20
	longestMessage = 256 << 10
	mostInOne      = 4000    // lines of one message that is written over several
	mostUnpacked   = 8 << 30 // of a packed log
)

// source goes through a log line by line, whatever it is written in.
type source struct {
	in     *bufio.Reader
	number int
	long   int // lines that were longer than is read
	bound  []string
}

// open finds out how a log is packed and written.
func open(r io.Reader) (*source, error) {
	in := bufio.NewReaderSize(r, 64<<10)
	s := &source{in: in}
	if head, _ := in.Peek(2); len(head) == 2 && head[0] == 0x1f && head[1] == 0x8b {
		unpacked, err := gzip.NewReader(in)
		if err != nil {
			return nil, fmt.Errorf("the packed log cannot be unpacked: %w", err)
		}
		in = bufio.NewReaderSize(&bounded{unpacked, mostUnpacked, s}, 64<<10)
		s.in = in
	}
	head, _ := in.Peek(4)
	switch {
	case bytes.HasPrefix(head, []byte{0xef, 0xbb, 0xbf}):
		_, _ = in.Discard(3)
	case bytes.HasPrefix(head, []byte{0xff, 0xfe}):
		s.in = bufio.NewReaderSize(&wide{in: in, low: true}, 64<<10)
	case bytes.HasPrefix(head, []byte{0xfe, 0xff}):
		s.in = bufio.NewReaderSize(&wide{in: in}, 64<<10)
	case len(head) == 4 && head[1] == 0 && head[3] == 0 && head[0] != 0:
		s.in = bufio.NewReaderSize(&wide{in: in, low: true}, 64<<10)
	case len(head) == 4 && head[0] == 0 && head[2] == 0 && head[1] != 0:
		s.in = bufio.NewReaderSize(&wide{in: in}, 64<<10)
	}
	return s, nil
}

// bounded ends a packed log that unpacks without end.
type bounded struct {
	in   io.Reader
	left int64
	s    *source
}

func (b *bounded) Read(p []byte) (int, error) {
	if b.left <= 0 {
		b.s.bound = append(b.s.bound, fmt.Sprintf("the packed log is longer than %d GiB: what comes after was not heard", mostUnpacked>>30))
		return 0, io.EOF
	}
	n, err := b.in.Read(p[:min(int64(len(p)), b.left)])
	b.left -= int64(n)
	if err != nil && !errors.Is(err, io.EOF) {
		b.s.bound = append(b.s.bound, "the packed log is cut off: what was packed after was not heard")
		err = io.EOF
	}
	return n, err
}

// wide turns UTF-16 into UTF-8.
type wide struct {
	in   *bufio.Reader
	low  bool // the low byte stands first
	high uint16
	out  []byte
}

func (w *wide) Read(p []byte) (int, error) {
	for len(w.out) < utf8.UTFMax*256 {
		var two [2]byte
		if _, err := io.ReadFull(w.in, two[:]); err != nil {
			break
		}
		unit := uint16(two[0])<<8 | uint16(two[1])
		if w.low {
			unit = uint16(two[1])<<8 | uint16(two[0])
		}
		switch r := rune(unit); {
		case unit == 0xfeff:
		case w.high != 0:
			w.out = utf8.AppendRune(w.out, utf16.DecodeRune(rune(w.high), r))
			w.high = 0
		case utf16.IsSurrogate(r):
			w.high = unit
		default:
			w.out = utf8.AppendRune(w.out, r)
		}
	}
	if len(w.out) == 0 {
		return 0, io.EOF
	}
	n := copy(p, w.out)
	w.out = w.out[:copy(w.out, w.out[n:])]
	return n, nil
}

// line returns the next line; nil at the end. Of a line that is too long the
// beginning is kept, and the rest is counted as cut.
func (s *source) line() ([]byte, error) {
	var whole []byte
	tooLong := false
	for {
		piece, err := s.in.ReadSlice('\n')
		switch {
		case err == nil && whole == nil:
			s.number++
			return piece, nil
		case len(whole)+len(piece) <= longestLine:
			whole = append(whole, piece...)
		default:
			tooLong = true
		}
		if errors.Is(err, bufio.ErrBufferFull) {
			continue
		}
		if tooLong {
			s.long++
		}
		if err != nil && !errors.Is(err, io.EOF) {
			return nil, fmt.Errorf("read the log: %w", err)
		}
		if len(whole) == 0 && err != nil {
			return nil, nil
		}
		s.number++
		return whole, nil
	}
}

// lines puts the lines of a log together into messages and tells each.
type lines struct {
	source *source
	clock  clock
	tree   tree
	outer  tree // of a line that is an object with a message in it
	frame  frame
	held   []byte // of a message that goes on over several lines
	heldAt logLine
	heldIn int
	buffer []byte
}

// read goes through a whole log.
func (l *lines) read(tell func(logLine)) error {
	for {
		text, err := l.source.line()
		if err != nil {
			return err
		}
		if text == nil {
			break
		}
		text = bytes.TrimSpace(text)
		if l.held != nil && l.goesOn(text, tell) {
			continue
		}
		if len(text) > 0 {
			l.one(text, tell)
		}
	}
	if l.held != nil {
		l.dropHeld(tell)
	}
	return nil
}

// goesOn adds a line to the message that goes on, and reports whether it belongs
// to it.
func (l *lines) goesOn(text []byte, tell func(logLine)) bool {
	if len(text) == 0 {
		return true
	}
	if at, _ := frameStart(text); at >= 0 || begins(text) || len(l.held)+len(text) > longestMessage || l.heldIn >= mostInOne {
		l.dropHeld(tell)
		return false
	}
	l.held = append(append(l.held, '\n'), text...)
	l.heldIn++
	if at, _ := frameStart(l.held); at != 0 {
		if l.heldIn > 3 || !couldStart(l.held) { // it was a list of something else
			l.held = nil
			return false
		}
		return true
	}
	switch n := l.tree.read(l.held); {
	case n >= 0:
		line := l.heldAt
		line.text = l.held
		l.held = nil
		l.emit(line, tell)
	case n == broken:
		l.dropHeld(tell)
		return false
	}
	return true
}

// couldStart reports whether a text may be the beginning of a message that is
// written over several lines.
func couldStart(text []byte) bool {
	text = bytes.TrimSpace(bytes.TrimPrefix(text, []byte("[")))
	if len(text) == 0 {
		return true
	}
	if text[0] < '2' || text[0] > '4' {
		return false
	}
	text = bytes.TrimSpace(text[1:])
	return len(text) == 0 || text[0] == ',' && (len(bytes.TrimSpace(text[1:])) == 0 || bytes.TrimSpace(text[1:])[0] == '"')
}

// begins reports whether a line begins with a time: it is a line of its own.
func begins(text []byte) bool {
	return len(text) > 8 && (text[0] >= '0' && text[0] <= '9' || text[0] == '[' && text[1] >= '0' && text[1] <= '9') && stampIn(text[:min(len(text), 24)]) >= 0
}

// dropHeld tells a message that never came to its end.
func (l *lines) dropHeld(tell func(logLine)) {
	line := l.heldAt
	line.text, line.cut = l.held, true
	at, _ := frameStart(l.held)
	l.held = nil
	if at >= 0 {
		tell(line)
	}
}

// one tells one line.
func (l *lines) one(text []byte, tell func(logLine)) {
	line := logLine{number: l.source.number, text: text}
	if text[0] == '{' && l.object(line, tell) {
		return
	}
	line.at = l.clock.read(text)
	l.within(line, tell)
}

// object tells a line that is a JSON object with a message in it, and reports
// whether it was one.
func (l *lines) object(line logLine, tell func(logLine)) bool {
	n := l.outer.read(line.text)
	if n < 0 || len(bytes.TrimSpace(line.text[n:])) > 0 {
		return false
	}
	var message []byte
	var other []byte
	for member := range l.outer.root().each {
		key := member.node().key
		name := string(bytes.ToLower(line.text[key.from:key.to]))
		switch name {
		case "at", "time", "timestamp", "ts", "@timestamp", "date", "datetime", "when", "created", "createdat", "logtime":
			if line.at.known() {
				continue
			}
			if n, is := member.number(); is && member.node().kind == '0' {
				line.at = epoch(n)
			} else {
				line.at = l.clock.read(member.raw())
			}
			continue
		}
		switch kind := member.node().kind; {
		case kind == '[':
			if at, _ := frameStart(member.raw()); at == 0 {
				message = member.raw()
			}
		case kind == '"':
			raw := member.raw()
			if member.node().escapedValue {
				raw = []byte(member.word())
			}
			if at, _ := frameStart(raw); at >= 0 {
				message = raw[at:]
			} else if len(raw) > len(other) && name != "point" && name != "from" {
				other = raw
			}
		}
	}
	switch {
	case message != nil:
		line.text = message
		l.within(line, tell)
	case other != nil:
		line.text = other
		l.within(line, tell)
	default:
		line.text = line.text[:min(len(line.text), 300)]
		tell(line)
	}
	return true
}

// within tells the message within a line, or the line.
func (l *lines) within(line logLine, tell func(logLine)) {
	at, quoting := frameStart(line.text)
	if at < 0 {
		if open := bytes.LastIndexByte(line.text, '['); open >= 0 && couldStart(line.text[open:]) {
			l.hold(line, line.text[open:])
		} else if l.spoken(line, tell) {
			return
		}
		tell(line)
		return
	}
	raw := line.text[at:]
	switch quoting {
	case escaped:
		l.buffer = append(l.buffer[:0], bytes.ReplaceAll(raw, []byte(`\"`), []byte(`"`))...)
		raw = bytes.ReplaceAll(l.buffer, []byte(`\\"`), []byte(`\"`))
	case doubled:
		raw = bytes.ReplaceAll(raw, []byte(`""`), []byte(`"`))
	}
	switch n := l.tree.read(raw); {
	case n >= 0:
		l.emit(line, tell)
	case n == incomplete && quoting == plainly:
		l.hold(line, raw)
	default:
		line.broken = true
		tell(line)
	}
}

func (l *lines) hold(line logLine, text []byte) {
	l.held = append(l.held[:0:0], text...)
	l.heldAt, l.heldIn = line, 1
}

// emit tells the message whose tree was read.
func (l *lines) emit(line logLine, tell func(logLine)) {
	var parts [5]part
	n := 0
	for p := range l.tree.root().each {
		if n < len(parts) {
			parts[n] = p
		}
		n++
	}
	kind, _ := parts[0].number()
	l.frame = frame{kind: int(kind), id: parts[1].word()}
	f := &l.frame
	switch {
	case f.id == "" || n < 3:
		line.broken = true
	case f.kind == 2 && n >= 4 && parts[3].object():
		f.action, f.payload = parts[2].word(), parts[3]
	case f.kind == 3 && parts[2].object():
		f.payload = parts[2]
	case f.kind == 4:
		f.code, f.text = parts[2].word(), parts[3].word()
	default:
		line.broken = true
	}
	if !line.broken {
		line.frame = f
	}
	tell(line)
}

// actions are the messages of the protocol that logs name without a frame.
var actions = [][]byte{[]byte("BootNotification"), []byte("StatusNotification"), []byte("StartTransaction"), []byte("StopTransaction"), []byte("MeterValues"),
	[]byte("Authorize"), []byte("Heartbeat"), []byte("TransactionEvent"), []byte("SetChargingProfile"), []byte("RemoteStartTransaction"),
	[]byte("RemoteStopTransaction"), []byte("ChangeConfiguration"), []byte("RequestStartTransaction"), []byte("RequestStopTransaction")}

// spoken tells a line that names an action and its payload, like
// "StatusNotification.req {…}", and reports whether it was one.
func (l *lines) spoken(line logLine, tell func(logLine)) bool {
	open := bytes.IndexByte(line.text, '{')
	if open < 0 {
		return false
	}
	head := line.text[:open]
	for _, action := range actions {
		at := bytes.Index(head, action)
		if at < 0 || len(head)-at-len(action) > 40 || at > 0 && letter(head[at-1]) {
			continue
		}
		if l.tree.read(line.text[open:]) < 0 || !l.tree.root().object() {
			return false
		}
		rest := bytes.ToLower(head[at+len(action):])
		l.frame = frame{kind: 2, id: string(action), action: string(action), payload: l.tree.root(), spoken: true}
		if bytes.Contains(rest, []byte("conf")) || bytes.Contains(rest, []byte("resp")) || bytes.Contains(rest, []byte("answer")) {
			l.frame.kind = 3
		}
		line.frame = &l.frame
		tell(line)
		return true
	}
	return false
}

func letter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }

// How the quotes of a message are written.
const (
	plainly = iota
	escaped // inside another string: \"
	doubled // inside a cell of a table: ""
)

// frameStart finds where a message begins in a line.
func frameStart(text []byte) (at, quoting int) {
	for at = 0; ; at++ {
		next := bytes.IndexByte(text[at:], '[')
		if next < 0 {
			return -1, plainly
		}
		at += next
		rest := skip(text[at+1:])
		if len(rest) == 0 || rest[0] < '2' || rest[0] > '4' {
			continue
		}
		if rest = skip(rest[1:]); len(rest) == 0 || rest[0] != ',' {
			continue
		}
		switch rest = skip(rest[1:]); {
		case bytes.HasPrefix(rest, []byte(`\"`)):
			return at, escaped
		case bytes.HasPrefix(rest, []byte(`""`)) && !bytes.HasPrefix(rest, []byte(`"",`)):
			return at, doubled
		case len(rest) > 0 && rest[0] == '"':
			return at, plainly
		}
	}
}

func skip(text []byte) []byte {
	for len(text) > 0 && (text[0] == ' ' || text[0] == '\t' || text[0] == '\n' || text[0] == '\r') {
		text = text[1:]
	}
	return text
}
