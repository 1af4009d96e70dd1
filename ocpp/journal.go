package ocpp

import (
	"encoding/json"
	"io"
	"slices"
	"sync"
	"time"
)

// Message is one thing that happened on a link: a frame as it travelled, or a
// remark about the link itself.
type Message struct {
	At     time.Time `json:"at"`
	Point  string    `json:"point"`
	From   string    `json:"from"`             // point, central or link
	Raw    string    `json:"raw,omitempty"`    // the frame, secrets withheld
	Remark string    `json:"remark,omitempty"` // why it was refused, or what the link did
	Lost   bool      `json:"lost,omitempty"`   // the link broke off without a goodbye
}

// Who a message is from, and the remark on a point that was turned away as part
// of its run.
const (
	FromPoint    = "point"
	FromCentral  = "central"
	fromLink     = "link"
	CutOnPurpose = "refused: the link is cut on purpose for a moment"
)

// What a journal keeps in memory of one point. More than that has been written
// to the journal file, if there is one, and is counted.
const (
	mostMessages = 20_000
	mostKept     = 4 << 20
)

// messageJournal keeps the messages of one point, the newest in memory.
type messageJournal struct {
	mu    sync.Mutex
	point string
	clock *Clock
	file  io.Writer // everything, a JSON object a line; nil for none
	kept  []Message
	size  int
	first int // number of the first message still in memory
}

func newJournal(point string, clock *Clock, file io.Writer) *messageJournal {
	return &messageJournal{point: point, clock: clock, file: file}
}

// note keeps a message.
func (j *messageJournal) note(from string, raw []byte, remark string) {
	j.put(Message{From: from, Raw: string(WithoutSecrets(raw)), Remark: remark})
}

func (j *messageJournal) put(m Message) {
	m.At, m.Point = j.clock.Now().UTC(), j.point
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.file != nil {
		if line, err := json.Marshal(m); err == nil {
			if _, err := j.file.Write(append(line, '\n')); err != nil {
				j.file = nil // the disk is full: memory still has the newest
				m.Remark += " (the journal file could not be written to: " + err.Error() + ")"
			}
		}
	}
	j.kept = append(j.kept, m)
	j.size += len(m.Raw) + len(m.Remark)
	drop := 0
	if len(j.kept) > mostMessages || j.size > mostKept { // in lumps, so that a flood costs little
		for len(j.kept)-drop > mostMessages*3/4 || j.size > mostKept*3/4 && drop < len(j.kept)-1 {
			j.size -= len(j.kept[drop].Raw) + len(j.kept[drop].Remark)
			drop++
		}
	}
	if drop > 0 {
		j.first += drop
		j.kept = append(j.kept[:0:0], j.kept[drop:]...)
	}
}

// Messages returns the messages that are still in memory.
func (j *messageJournal) Messages() []Message {
	j.mu.Lock()
	defer j.mu.Unlock()
	return slices.Clone(j.kept)
}

// Mark returns the number of the next message.
func (j *messageJournal) Mark() int {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.first + len(j.kept)
}

// What is kept with a step: its first and last messages.
const (
	stepFirst = 120
	stepLast  = 80
)

// Since returns the messages from a mark on, at most those that a step keeps,
// and how many were left out.
func (j *messageJournal) Since(mark int) (messages []Message, leftOut int) {
	j.mu.Lock()
	defer j.mu.Unlock()
	from := max(0, mark-j.first)
	leftOut = max(0, j.first-mark)
	all := j.kept[min(from, len(j.kept)):]
	if len(all) > stepFirst+stepLast {
		leftOut += len(all) - stepFirst - stepLast
		return append(append([]Message(nil), all[:stepFirst]...), all[len(all)-stepLast:]...), leftOut
	}
	return append([]Message(nil), all...), leftOut
}
