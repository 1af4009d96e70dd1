// Package trainer pretends a charge point to practise on: a true OCPP client over
// a true socket, with a vehicle plugged in and a meter. It speaks 1.6J and 2.0.1
// and shows faults to order. It touches no live part and proves nothing about
// any real point.
//
// Its parts: the point, its bench of vehicle and meter, the limits it holds, its
// two voices, the faults to order.
package trainer

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"chargewright/ocpp"
	"chargewright/quantity"
)

// Options say what point is pretended.
type Options struct {
	Central  string // address, without the identity
	Identity string
	Version  ocpp.Version
	Phases   int              // 1 or 3
	Rotation string           // how its L1 to L3 stand on the supply, like STR
	Current  quantity.Amperes // rated current
	Vehicle  quantity.Amperes // most the vehicle takes, each phase
	Voltage  quantity.Volts   // line to neutral
	Serial   string
	Card     string                           // card presented at the point after a restart; none if empty
	Delay    time.Duration                    // the randomised delay it draws
	FailSafe quantity.Maybe[quantity.Amperes] // what it falls to by itself without a link; it charges on if not known
	Password string
	TLS      *tls.Config
	Faults   []Misfit
	Say      func(string) // told what it does; may be nil
}

// Point is a charge point that is not there: a true OCPP client over a true
// socket, with a vehicle plugged in and a meter. It is for tests and training.
type Point struct {
	o      Options
	clock  *ocpp.Clock
	voice  voice
	said   atomic.Value // last
	faults atomic.Pointer[[]Misfit]

	mu       sync.Mutex
	set      map[string]string
	limits   profiles
	bench    bench
	session  *session
	plugged  bool
	status   string
	cards    []string // the stored list
	listNo   int
	online   *ocpp.Link
	outbox   []letter
	wake     chan struct{}
	reboot   bool // to be done by the life loop
	dropped  bool
	suffered time.Time // since when the newest faults show
	lost     time.Time // when the link was lost; zero while it is there
	cardAt   time.Time // when the card is presented by hand
	sampled  time.Time
	number   int // of the next session, and of messages
	restarts int
}

// letter is one message to be sent; those of a session wait for the link.
type letter struct {
	action  string
	payload any
	keep    bool
	answer  func(ocpp.Frame)
}

// session is one charge.
type session struct {
	id      string
	token   string
	began   time.Time
	from    quantity.WattHours // register at its begin
	waits   time.Time          // randomised delay until then
	allowed bool
	sequel  int // number of the next event (2.0.1)
}

// voice is how a version says what the point tells, and takes what it is asked.
type voice interface {
	boot(p *Point)
	tellStatus(p *Point)
	authorise(p *Point, token string, then func(allowed bool))
	begin(p *Point)
	sample(p *Point, at time.Time)
	finish(p *Point, reason string)
	answer(p *Point, f ocpp.Frame) ocpp.Answer
}

// New returns a point that is ready to Run.
func New(clock *ocpp.Clock, o Options) *Point {
	if o.Version == "" {
		o.Version = ocpp.V16
	}
	if o.Phases != 3 {
		o.Phases = 1
	}
	if o.Rotation == "" {
		o.Rotation = "RST"
	}
	if o.Current == 0 {
		o.Current = 32
	}
	if o.Vehicle == 0 {
		o.Vehicle = o.Current
	}
	if o.Voltage == 0 {
		o.Voltage = 230
	}
	if o.Serial == "" {
		o.Serial = "PRETEND-1"
	}
	p := &Point{o: o, clock: clock, plugged: true, status: "Preparing", wake: make(chan struct{}, 1), bench: newBench(clock.Now())}
	p.faults.Store(&o.Faults)
	if p.has(OtherSerial) {
		p.o.Serial = "OTHER-" + p.o.Serial
	}
	if p.has(WrongClock) {
		p.clock = ocpp.NewClock(clock.Now().Add(-71*time.Minute), clock.Pace())
	}
	p.voice = says16{}
	if o.Version != ocpp.V16 {
		p.voice = says201{o.Version}
		p.status = "Occupied"
	}
	p.set = p.factorySettings()
	p.status = p.statusNow(clock.Now())
	return p
}

// Times of the pretended point.
const (
	tick         = 250 * time.Millisecond
	reconnects   = 5 * time.Second
	restartTakes = 10 * time.Second
)

// Run lives as the point until ctx is done: joins, introduces itself, charges,
// joins again when the link is lost.
func (p *Point) Run(ctx context.Context) error {
	var last error
	for first := true; ctx.Err() == nil; first = false {
		if p.has(Vanishes) {
			<-ctx.Done()
			return nil
		}
		if err := p.connect(ctx, first || p.takeRestart()); err != nil {
			last = err
			if first && errors.Is(err, errTurnedAway) {
				return err
			}
		}
		p.wait(ctx, reconnects)
	}
	if ctx.Err() != nil {
		return nil
	}
	return last
}

func (p *Point) takeRestart() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	r := p.reboot
	p.reboot = false
	return r
}

// wait lets time go by with the link down: the vehicle charges on.
func (p *Point) wait(ctx context.Context, d time.Duration) {
	end := p.clock.Now().Add(d)
	for ctx.Err() == nil && p.clock.Now().Before(end) {
		_ = p.clock.Sleep(ctx, tick)
		p.live()
	}
}

// errTurnedAway says that the central system did not take the link.
var errTurnedAway = errors.New("the central system did not take the link")

// connect holds one link until it ends.
func (p *Point) connect(ctx context.Context, boots bool) error {
	conn, resp, err := p.dial(ctx)
	if err != nil {
		p.say("no link: " + err.Error())
		if resp != nil && resp.StatusCode != http.StatusServiceUnavailable {
			return fmt.Errorf("%w: %s", errTurnedAway, resp.Status)
		}
		return fmt.Errorf("join the central system: %w", err)
	}
	defer conn.CloseNow()
	if conn.Subprotocol() != p.o.Version.Subprotocol() {
		return fmt.Errorf("%w: it does not speak OCPP %s", errTurnedAway, p.o.Version)
	}
	ctx, stop := context.WithCancel(ctx)
	l := ocpp.NewLink(conn, p.clock, "p", func(bool, []byte, string) {}, func(f ocpp.Frame) ocpp.Answer {
		p.mu.Lock()
		defer p.mu.Unlock()
		switch {
		case p.has(Silent):
			return ocpp.Answer{}
		case p.has(Vanishes):
			p.online.Close()
			return ocpp.Answer{}
		case p.has(Refuses):
			return request{p, f}.refuse()
		}
		return p.voice.answer(p, f)
	})
	p.mu.Lock()
	p.online, p.lost = l, time.Time{}
	kept := keepers(p.outbox)
	p.outbox = nil
	if boots {
		p.voice.boot(p)
	}
	p.voice.tellStatus(p)
	p.outbox = append(p.outbox, kept...)
	p.mu.Unlock()
	p.say("the link is made")
	var both sync.WaitGroup
	defer both.Wait()
	defer stop()
	both.Add(2)
	go func() {
		defer both.Done()
		p.post(ctx, l)
	}()
	go func() {
		defer both.Done()
		t := time.NewTicker(p.clock.Scaled(tick))
		defer t.Stop()
		for {
			select {
			case <-t.C:
				if p.live() {
					_ = conn.CloseNow()
				}
			case <-ctx.Done():
				return
			}
		}
	}()
	err = l.Run(ctx)
	p.mu.Lock()
	p.online, p.lost = nil, p.now()
	restarting := p.reboot
	p.mu.Unlock()
	p.say("the link is lost")
	if restarting {
		_ = p.clock.Sleep(ctx, restartTakes)
	}
	return err
}

// keepers are the letters that outlive a lost link.
func keepers(outbox []letter) []letter {
	var out []letter
	for _, l := range outbox {
		if l.keep {
			out = append(out, l)
		}
	}
	return out
}

// post sends what is in the outbox, in order, one at a time.
func (p *Point) post(ctx context.Context, l *ocpp.Link) {
	for {
		p.mu.Lock()
		var next letter
		waiting := len(p.outbox) > 0
		if waiting {
			next = p.outbox[0]
		}
		p.mu.Unlock()
		if !waiting {
			select {
			case <-p.wake:
				continue
			case <-l.Done:
				return
			case <-ctx.Done():
				return
			}
		}
		qctx, cancel := p.clock.Within(ctx, 30*time.Second)
		f, err := l.Ask(qctx, next.action, p.written(next.payload))
		cancel()
		var refused *ocpp.Refusal
		if err != nil && !errors.As(err, &refused) {
			select {
			case <-l.Done:
				return // it stays in the outbox
			default:
			}
		}
		p.mu.Lock()
		p.outbox = p.outbox[1:]
		if err == nil && next.answer != nil {
			next.answer(f)
		}
		p.mu.Unlock()
	}
}

// mostLetters bounds the outbox.
const mostLetters = 2000

// send puts a letter into the outbox. Without a link only what belongs to a
// session is kept. The caller holds the lock.
func (p *Point) send(l letter) {
	if p.online == nil && !l.keep || len(p.outbox) >= mostLetters || p.has(Silent) {
		return
	}
	p.outbox = append(p.outbox, l)
	select {
	case p.wake <- struct{}{}:
	default:
	}
}

// say tells what the point does, the same thing once.
func (p *Point) say(what string) {
	if p.o.Say != nil && p.said.Swap(what) != what {
		p.o.Say(what)
	}
}

// now is the point's own time.
func (p *Point) now() time.Time { return p.clock.Now() }

// takeTime sets the clock as the central system has it.
func (p *Point) takeTime(text string) {
	if t := ocpp.ReadTime(text); !t.IsZero() && !p.has(WrongClock) {
		p.clock.Set(t)
	}
}

// interval reads a setting in seconds.
func (p *Point) interval(name string) time.Duration { return p.inSeconds(p.set[name]) }

func (p *Point) inSeconds(value string) time.Duration {
	n, err := strconv.Atoi(value)
	if err != nil || n < 0 {
		return 0
	}
	return time.Duration(min(n, 86400)) * time.Second
}
