package ocpp

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/coder/websocket"
)

// Central is a central system for commissioning: it takes the links of charge
// points, answers them, and keeps every message. It bills nobody and controls
// nothing by itself.
type Central struct {
	Clock   *Clock
	options CentralOptions
	gate    *Gate
	own     bool // the gate is this one's alone
	life    context.Context
	end     context.CancelFunc
	links   sync.WaitGroup

	mu       sync.Mutex
	stations map[string]*Station
	refused  []Message // who was turned away at the door, the newest
}

// CentralOptions are what a central system is opened with.
type CentralOptions struct {
	Listen   string      // of a gate of its own; see GateOptions
	TLS      *tls.Config // of a gate of its own
	Known    []string    // cards that are allowed
	Password string      // of basic authentication; none is asked for if empty
	Identity []string    // points that are taken; every one if empty
	File     io.Writer   // journal file; nil for none
}

// Limits of the central system.
const (
	mostStations = 1000
	mostRefusals = 1000
)

// Open opens a central system with a gate of its own.
func Open(clock *Clock, o CentralOptions) (*Central, error) {
	g, err := OpenGate(GateOptions{Listen: o.Listen, TLS: o.TLS})
	if err != nil {
		return nil, err
	}
	c, err := g.Let(clock, o)
	if err != nil {
		g.Close()
		return nil, err
	}
	c.own = true
	return c, nil
}

func newCentral(g *Gate, clock *Clock, o CentralOptions) *Central {
	c := &Central{Clock: clock, options: o, gate: g, stations: map[string]*Station{}}
	c.life, c.end = context.WithCancel(context.Background())
	return c
}

// Address returns what is to be entered in a charge point; it adds its own
// identity at the end, or has it entered there.
func (c *Central) Address() string { return c.gate.Address() }

// AddressOf returns the whole address of one point.
func (c *Central) AddressOf(identity string) string { return c.Address() + url.PathEscape(identity) }

// Close ends every link and takes no other.
func (c *Central) Close() {
	c.gate.leave(c)
	c.mu.Lock() // no link is taken from here on
	c.end()
	c.mu.Unlock()
	if c.own {
		c.gate.Close()
	}
	c.links.Wait()
}

// Station returns the record of a point, made the first time it is asked for.
func (c *Central) Station(identity string) *Station {
	c.mu.Lock()
	defer c.mu.Unlock()
	s := c.stations[identity]
	if s == nil {
		s = newStation(identity, c.Clock, newJournal(identity, c.Clock, c.options.File))
		c.stations[identity] = s
	}
	return s
}

// Stations returns the points that have joined, by identity.
func (c *Central) Stations() []*Station {
	c.mu.Lock()
	defer c.mu.Unlock()
	var out []*Station
	for _, s := range c.stations {
		if s.Version() != "" {
			out = append(out, s)
		}
	}
	slices.SortFunc(out, func(a, b *Station) int { return strings.Compare(a.Identity, b.Identity) })
	return out
}

// Refused returns who was turned away at the door, and why.
func (c *Central) Refused() []Message {
	c.mu.Lock()
	defer c.mu.Unlock()
	return slices.Clone(c.refused)
}

// turnAway notes whom this run turned away.
func (c *Central) turnAway(identity, why string) { c.gate.tell(c.noteRefusal(identity, why)) }

func (c *Central) noteRefusal(identity, why string) Message {
	m := Message{At: c.Clock.Now().UTC(), Point: identity, From: fromLink, Remark: "refused: " + why}
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.refused) >= mostRefusals {
		c.refused = slices.Delete(c.refused, 0, mostRefusals/2)
	}
	c.refused = append(c.refused, m)
	return m
}

// take takes the link of a point that is expected.
func (c *Central) take(w http.ResponseWriter, r *http.Request, identity string) {
	c.mu.Lock()
	if c.life.Err() != nil { // it was closed meanwhile
		c.mu.Unlock()
		http.Error(w, "the run is over", http.StatusServiceUnavailable)
		return
	}
	c.links.Add(1)
	full := c.stations[identity] == nil && len(c.stations) >= mostStations
	c.mu.Unlock()
	defer c.links.Done()
	deny := func(code int, why string) {
		c.turnAway(identity, why)
		http.Error(w, why, code)
	}
	if r.Header.Get("Origin") != "" { // set by browsers alone (RFC 6454, 7.3)
		deny(http.StatusForbidden, "a page in a browser asked in its name; a charge point is no browser page")
		return
	}
	if c.options.Password != "" {
		user, password, given := r.BasicAuth()
		if !given || user != identity || !opens(password, c.options.Password) {
			w.Header().Set("WWW-Authenticate", `Basic realm="OCPP"`)
			deny(http.StatusUnauthorized, "user (the point's own name) or password of the link is wrong or missing")
			return
		}
	}
	if full {
		deny(http.StatusServiceUnavailable, fmt.Sprintf("%d charge points are here already", mostStations))
		return
	}
	s := c.Station(identity)
	s.mu.Lock()
	cut := s.cut
	s.mu.Unlock()
	if cut {
		deny(http.StatusServiceUnavailable, strings.TrimPrefix(CutOnPurpose, "refused: "))
		return
	}
	conn, err := websocket.Accept(w, r, &websocket.AcceptOptions{Subprotocols: subprotocols, InsecureSkipVerify: true}) // a charge point is no browser page
	if err != nil {
		c.turnAway(identity, "it did not ask for a web socket: "+err.Error())
		return
	}
	version, known := versionOf(conn.Subprotocol())
	if !known { // OCPP-J 1.6 section 3: finish the handshake without the header, then close
		c.turnAway(identity, fmt.Sprintf("it offered %q; ocpp1.6, ocpp2.0.1 and ocpp2.1 are spoken here", r.Header.Get("Sec-WebSocket-Protocol")))
		_ = conn.Close(websocket.StatusProtocolError, "no version of OCPP in common")
		return
	}
	c.hold(conn, s, version, r.RemoteAddr)
}

// Times after which a silent link is asked whether it is there, and how long
// it has to answer.
const (
	pingAfter    = 30 * time.Second
	pingPatience = 10 * time.Second
)

// hold keeps a link until it ends.
func (c *Central) hold(conn *websocket.Conn, s *Station, v Version, from string) {
	defer conn.CloseNow()
	ctx, cancel := context.WithCancel(c.life)
	defer cancel()
	l := NewLink(conn, c.Clock, "c", func(outward bool, raw []byte, remark string) {
		who := FromPoint
		if outward {
			who = FromCentral
		}
		s.Journal.note(who, raw, remark)
	}, func(f Frame) Answer { return c.answer(s, v, f) })
	older, welcome := s.join(l, v)
	if !welcome {
		return
	}
	s.Journal.note(fromLink, nil, "the link was made from "+from+" with "+v.Subprotocol())
	if older != nil {
		s.Journal.note(fromLink, nil, "an older link of the same name was closed: it may have been half open")
		_ = older.conn.CloseNow()
	}
	go func() { // a link whose other end has gone is found out and closed
		t := time.NewTicker(pingAfter)
		defer t.Stop()
		for {
			select {
			case <-t.C:
				pctx, done := context.WithTimeout(ctx, pingPatience)
				if conn.Ping(pctx) != nil {
					_ = conn.CloseNow()
				}
				done()
			case <-ctx.Done():
				return
			}
		}
	}()
	why, lost := whyEnded(l.Run(ctx))
	s.leave(l, why, lost)
}

// whyEnded says in plain words why a link ended, and whether it was lost.
func whyEnded(err error) (why string, lost bool) {
	switch code := websocket.CloseStatus(err); {
	case code == websocket.StatusNormalClosure:
		return "closed by the point (1000, normal)", false
	case code == websocket.StatusGoingAway:
		return "closed by the point (1001, going away)", false
	case code >= 0:
		return fmt.Sprintf("closed by the point (%d)", code), false
	case errors.Is(err, context.Canceled):
		return "closed here", false
	}
	return "broken off without a goodbye", true
}

// answer answers one question of a point.
func (c *Central) answer(s *Station, v Version, f Frame) Answer {
	payload, told, err := dialects[v].hear(s, f)
	if auth, ok := payload.(decision); ok {
		payload, told = auth(c.allows)
	}
	switch e := err.(type) {
	case nil:
		return Answer{f.Reply(payload), func() { s.tell(told...) }}
	case *unknownAction:
		s.Journal.note(fromLink, nil, "refused: "+e.Error())
		return Answer{f.Refuse(NotImplemented, e.Error()), func() { s.tell(Event{What: Others, Detail: f.Action}) }}
	case *formError:
		s.Journal.note(fromLink, nil, "refused: "+e.Error())
		code := formatFault
		if v == V16 {
			code = formationFault
		}
		return Answer{f.Refuse(code, e.Error()), nil}
	}
	return Answer{f.Refuse(internalFault, "the central system could not answer"), nil}
}

// decision is an answer that hangs on which cards are allowed.
type decision func(allowed func(token string) bool) (reply any, told []Event)

// allows reports whether a card is known here. Letters count alike, large or
// small (OCPP 1.6 section 7: CiString).
func (c *Central) allows(token string) bool {
	return slices.ContainsFunc(c.options.Known, func(k string) bool { return strings.EqualFold(k, token) })
}
