package ocpp

import (
	"context"
	"sync"
	"time"
)

// Station is one point as the central system sees it: what it told, in order,
// and the link it can be asked on.
type Station struct {
	Identity string
	Journal  *messageJournal
	clock    *Clock

	mu       sync.Mutex
	version  Version
	current  *Link
	cut      bool    // the link was ended on purpose and is not taken up again yet
	events   []Event // the newest; a long watch is bounded
	first    int     // number of the first event still held
	changed  chan struct{}
	nextTx   int
	tx       string // the running session
	accepted bool   // it has booted and was accepted
	outlet   int    // that is being looked at
	soiled   map[string]int
}

// What is held of what a point told.
const mostEvents = 5000

func newStation(identity string, clock *Clock, journal *messageJournal) *Station {
	return &Station{Identity: identity, clock: clock, Journal: journal, changed: make(chan struct{}), outlet: 1, soiled: map[string]int{}}
}

// tell adds events and wakes whoever waits for one.
func (s *Station) tell(events ...Event) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.clock.Now()
	for _, e := range events {
		e.At = now
		switch e.What {
		case Started:
			s.tx = e.Transaction
		case Stopped:
			if e.Transaction == s.tx {
				s.tx = ""
			}
		case Booted:
			s.accepted = true
		}
		s.events = append(s.events, e)
	}
	if over := len(s.events) - mostEvents; over > mostEvents/2 { // in lumps, so that a flood costs little
		s.events = append(s.events[:0:0], s.events[over:]...)
		s.first += over
	}
	close(s.changed)
	s.changed = make(chan struct{})
}

// Mark returns the number of the next event.
func (s *Station) Mark() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.first + len(s.events)
}

// Since returns the events from a mark on that are still held.
func (s *Station) Since(mark int) []Event {
	s.mu.Lock()
	defer s.mu.Unlock()
	from := min(max(0, mark-s.first), len(s.events))
	return append([]Event(nil), s.events[from:]...)
}

// Wait waits until cond holds for what was told since mark, at most for d, and
// returns those events and whether it held.
func (s *Station) Wait(ctx context.Context, mark int, d time.Duration, cond func([]Event) bool) ([]Event, bool) {
	lasts := s.clock.patience(d)
	deadline := time.Now().Add(lasts)
	timer := time.NewTimer(lasts)
	defer timer.Stop()
	for {
		s.mu.Lock()
		changed := s.changed
		s.mu.Unlock()
		events := s.Since(mark)
		if cond(events) {
			return events, true
		}
		if !time.Now().Before(deadline) {
			return events, false
		}
		select {
		case <-changed:
		case <-timer.C:
		case <-ctx.Done():
			return s.Since(mark), false
		}
	}
}

// Until waits for one event that is as wanted.
func (s *Station) Until(ctx context.Context, mark int, d time.Duration, is func(Event) bool) (Event, bool) {
	var found Event
	_, ok := s.Wait(ctx, mark, d, func(events []Event) bool {
		for _, e := range events {
			if is(e) {
				found = e
				return true
			}
		}
		return false
	})
	return found, ok
}

// Link returns the live link, nil if there is none.
func (s *Station) Link() *Link {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.current
}

// Version returns the version the point speaks; empty before it has joined.
func (s *Station) Version() Version {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.version
}

// Speaks returns the dialect of the point.
func (s *Station) Speaks() Dialect { return dialects[s.Version()] }

// Outlet returns the outlet that is being looked at; the first unless Look was
// called.
func (s *Station) Outlet() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.outlet
}

// Look turns to another outlet of the point.
func (s *Station) Look(outlet int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.outlet = outlet
}

// Transaction returns the running session, empty if there is none.
func (s *Station) Transaction() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.tx
}

// newTransaction returns the number of the next session.
func (s *Station) newTransaction() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.nextTx++
	return s.nextTx
}

// join makes l the point's link. An older one, half open perhaps, is replaced.
func (s *Station) join(l *Link, v Version) (older *Link, welcome bool) {
	s.mu.Lock()
	if s.cut {
		s.mu.Unlock()
		return nil, false
	}
	older, s.current, s.version = s.current, l, v
	s.mu.Unlock()
	s.tell(Event{What: Joined, Detail: string(v)})
	return older, true
}

// leave ends l, unless another has replaced it.
func (s *Station) leave(l *Link, why string, lost bool) {
	s.mu.Lock()
	if s.current != l {
		s.mu.Unlock()
		return
	}
	asked := s.cut
	s.current = nil
	s.mu.Unlock()
	s.Journal.put(Message{From: fromLink, Remark: "the link ended: " + why, Lost: lost})
	s.tell(Event{What: Left, Asked: asked, Detail: why})
}

// CutOff ends the link and takes up no other until mend is called.
func (s *Station) CutOff() {
	s.mu.Lock()
	s.cut = true
	l := s.current
	s.mu.Unlock()
	s.Journal.note(fromLink, nil, "the link is cut on purpose")
	if l != nil {
		_ = l.conn.CloseNow()
	}
}

// Mend takes up the point's link again.
func (s *Station) Mend() {
	s.mu.Lock()
	s.cut = false
	s.mu.Unlock()
	s.Journal.note(fromLink, nil, "the link may be taken up again")
}
