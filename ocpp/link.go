package ocpp

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"github.com/coder/websocket"
)

// Link is one web socket with OCPP on it, at either end.
//
// Frames leave in the order they were given, one writer at a time. A question
// is answered by the reading side itself, and what follows from the answer is
// begun only once the answer has been written: a limit sent on account of
// StartTransaction can never overtake its reply. One question is outstanding
// each way at a time (OCPP-J 1.6 section 4.1.1).
type Link struct {
	conn   *websocket.Conn
	clock  *Clock
	note   func(outward bool, raw []byte, remark string)
	answer func(Frame) Answer

	asking  chan struct{} // holds one token: the right to ask
	writing sync.Mutex
	pending struct {
		sync.Mutex
		id string
		to chan Frame
	}
	next   atomic.Int64
	prefix string
	Done   chan struct{}
}

// Answer is what a question is answered with, and what is done once the answer
// is on its way. Without a frame it is not answered.
type Answer struct {
	Frame Frame
	After func()
}

// Reply answers f with a payload.
func (f Frame) Reply(payload any) Frame {
	return Frame{Kind: Result, ID: f.ID, Payload: payloadOf(payload)}
}

// Refuse answers f with a Fault.
func (f Frame) Refuse(code, text string) Frame {
	return Frame{Kind: Fault, ID: f.ID, Code: code, Text: text}
}

func NewLink(conn *websocket.Conn, clock *Clock, prefix string, note func(bool, []byte, string), answers func(Frame) Answer) *Link {
	conn.SetReadLimit(MostBytes)
	l := &Link{conn: conn, clock: clock, note: note, answer: answers, asking: make(chan struct{}, 1), prefix: prefix, Done: make(chan struct{})}
	l.asking <- struct{}{}
	return l
}

// What came of a question that was not answered.
var (
	ErrLinkLost    = errors.New("the link was lost")            // the link ended while it was open
	ErrUnanswered  = errors.New("was not answered in time")     // the other end said nothing to it
	ErrUnsupported = errors.New("the point does not have this") // a Refusal that says so
)

// A frame that cannot be written within this time has nobody to read it.
const writePatience = 10 * time.Second

// A link on which this many frames in a row make no sense is closed.
const mostNonsense = 200

// Run reads until the link ends and says why it did.
func (l *Link) Run(ctx context.Context) error {
	defer close(l.Done)
	nonsense := 0
	for {
		kind, raw, err := l.conn.Read(ctx)
		if err != nil {
			return err
		}
		if kind != websocket.MessageText {
			err = &frameError{Why: "it came as binary data where text is wanted"}
		}
		var f Frame
		if err == nil {
			f, err = ReadFrame(raw)
		}
		if err != nil {
			nonsense++
			l.note(false, raw, "refused: "+err.Error())
			if fe := (*frameError)(nil); errors.As(err, &fe) && fe.ID != "" {
				if err := l.write(ctx, Frame{Kind: Fault, ID: fe.ID, Code: formationFault, Text: fe.Why}); err != nil {
					return err
				}
			}
			if nonsense >= mostNonsense {
				_ = l.conn.Close(websocket.StatusProtocolError, "too many frames that are no OCPP")
				return fmt.Errorf("closed after %d frames in a row that are no OCPP", nonsense)
			}
			continue
		}
		nonsense = 0
		if f.Kind != Call {
			l.deliver(f, raw)
			continue
		}
		l.note(false, raw, "")
		a := l.answer(f)
		if a.Frame.Kind == 0 {
			continue
		}
		if err := l.write(ctx, a.Frame); err != nil {
			return err
		}
		if a.After != nil {
			a.After()
		}
	}
}

// deliver hands an answer to the question that waits for it. An answer to no
// open question is refused and noted.
func (l *Link) deliver(f Frame, raw []byte) {
	l.pending.Lock()
	to := l.pending.to
	if to == nil || l.pending.id != f.ID {
		l.pending.Unlock()
		l.note(false, raw, "refused: an answer to no open question")
		return
	}
	l.pending.to = nil
	l.pending.Unlock()
	l.note(false, raw, "")
	to <- f
}

// Close ends the link without a goodbye.
func (l *Link) Close() { _ = l.conn.CloseNow() }

func (l *Link) write(ctx context.Context, f Frame) error {
	raw := f.Bytes()
	l.writing.Lock()
	defer l.writing.Unlock()
	ctx, cancel := context.WithTimeout(ctx, writePatience)
	defer cancel()
	l.note(true, raw, "")
	return l.conn.Write(ctx, websocket.MessageText, raw)
}

// Ask sends a question and returns its answer; a Fault comes back as *Refusal.
func (l *Link) Ask(ctx context.Context, action string, payload any) (Frame, error) {
	select {
	case <-l.asking:
	case <-l.Done:
		return Frame{}, ErrLinkLost
	case <-ctx.Done():
		return Frame{}, ctx.Err()
	}
	defer func() { l.asking <- struct{}{} }()
	id := fmt.Sprintf("%s%d", l.prefix, l.next.Add(1))
	to := make(chan Frame, 1)
	l.pending.Lock()
	l.pending.id, l.pending.to = id, to
	l.pending.Unlock()
	defer func() {
		l.pending.Lock()
		l.pending.to = nil
		l.pending.Unlock()
	}()
	if err := l.write(ctx, Frame{Kind: Call, ID: id, Action: action, Payload: payloadOf(payload)}); err != nil {
		return Frame{}, fmt.Errorf("%w while %s was sent", ErrLinkLost, action)
	}
	select {
	case f := <-to:
		if f.Kind == Fault {
			return f, &Refusal{action, f.Code, f.Text}
		}
		return f, nil
	case <-l.Done:
		return Frame{}, ErrLinkLost
	case <-ctx.Done():
		l.note(true, nil, action+" ("+id+") was not answered in time")
		return Frame{}, fmt.Errorf("%s %w", action, ErrUnanswered)
	}
}
