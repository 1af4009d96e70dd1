package commission

import (
	"chargewright/hear"
	"chargewright/ocpp"
	"chargewright/trainer"
	"context"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"
)

// opened is a central system for a test, and a plain link to it.
func opened(t testing.TB, o ocpp.CentralOptions) *ocpp.Central {
	t.Helper()
	c, err := ocpp.Open(ocpp.NewClock(wednesday, 1), o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.Close)
	return c
}

// TestTLSWithPassword runs the whole settings part over security profile 2.
func TestTLSWithPassword(t *testing.T) {
	certificate, text, err := ocpp.Certificate(time.Now(), time.Hour, "127.0.0.1")
	if err != nil {
		t.Fatal(err)
	}
	c := opened(t, ocpp.CentralOptions{Password: "sixteen letters.", TLS: &tls.Config{Certificates: []tls.Certificate{certificate}}})
	pool := x509.NewCertPool()
	pool.AppendCertsFromPEM(text)
	ctx, cancel := context.WithTimeout(context.Background(), 15*time.Second)
	defer cancel()
	for name, config := range map[string]*tls.Config{"CP1": {RootCAs: pool}, "CP2": nil} { // CP2 does not trust the certificate
		go func() {
			_ = trainer.New(ocpp.NewClock(wednesday, 20), trainer.Options{Central: c.Address(), Identity: name, Password: "sixteen letters.", TLS: config}).Run(ctx)
		}()
	}
	s := c.Station("CP1")
	if _, ok := s.Until(ctx, 0, 10*time.Second, func(e ocpp.Event) bool { return e.What == ocpp.Booted }); !ok {
		t.Fatal("the point did not join over TLS")
	}
	if c.Station("CP2").Version() != "" {
		t.Error("a point joined that does not trust the certificate")
	}
	if got := c.Secured(); !strings.Contains(got, "profile 2") {
		t.Errorf("Secured() = %q, want security profile 2", got)
	}
}

// TestFiveHundredPoints has 500 pretended points join at once, each introduce
// itself and take a setting.
func TestFiveHundredPoints(t *testing.T) {
	c := opened(t, ocpp.CentralOptions{Known: []string{"KNOWN"}})
	ctx, cancel := context.WithCancel(context.Background())
	var points sync.WaitGroup
	defer points.Wait()
	defer cancel()
	const many = 500
	for n := range many {
		points.Go(func() {
			_ = trainer.New(ocpp.NewClock(wednesday, 1), trainer.Options{Central: c.Address(), Identity: fmt.Sprintf("CP%d", n), Version: []ocpp.Version{ocpp.V16, ocpp.V201}[n%2]}).Run(ctx)
		})
	}
	var asked sync.WaitGroup
	var mu sync.Mutex
	answered := 0
	for n := range many {
		asked.Go(func() {
			s := c.Station(fmt.Sprintf("CP%d", n))
			if _, ok := s.Until(ctx, 0, time.Minute, func(e ocpp.Event) bool { return e.What == ocpp.Booted }); !ok {
				return
			}
			name := s.Version().Name(ocpp.BeatEvery)
			if status, err := s.Speaks().Set(ctx, s, name, "300"); err == nil && status.Accepted() {
				mu.Lock()
				answered++
				mu.Unlock()
			}
		})
	}
	asked.Wait()
	if answered != many {
		t.Errorf("%d of %d points took the setting", answered, many)
	}
	if got := len(c.Stations()); got != many {
		t.Errorf("%d points joined, want %d", got, many)
	}
}

// TestHearsItsOwnJournal takes the journal of a whole run on a sound point:
// all that stands out is what the run did on purpose.
func TestHearsItsOwnJournal(t *testing.T) {
	t.Parallel()
	e := sound()[0]
	var log strings.Builder
	once := map[ocpp.Message]bool{}
	for _, s := range e.Steps {
		for _, m := range s.Messages { // two steps may go by the same messages
			if !once[m] {
				log.WriteString(m.Raw + "\n")
			}
			once[m] = true
		}
	}
	r, err := hear.Hear([]byte(log.String()))
	if err != nil {
		t.Fatal(err)
	}
	onPurpose := map[string]bool{"refused card": true, "no answer": true, "held": true} // what was under way when the link was cut has no answer
	for _, h := range r.Heard {
		if h.Fault && !onPurpose[h.Rule] {
			t.Errorf("heard %s in a sound run: %s (line %d)", h.Rule, h.Detail, h.Line)
		}
	}
	if r.Messages < 100 {
		t.Errorf("%d messages were read, want 100 or more", r.Messages)
	}
}

// BenchmarkExchange is one question of the central system and its answer, over
// a true socket on loopback.
func BenchmarkExchange(b *testing.B) {
	c := opened(b, ocpp.CentralOptions{})
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	go func() {
		_ = trainer.New(ocpp.NewClock(wednesday, 1), trainer.Options{Central: c.Address(), Identity: "CP1"}).Run(ctx)
	}()
	s := c.Station("CP1")
	if _, ok := s.Until(ctx, 0, 10*time.Second, func(e ocpp.Event) bool { return e.What == ocpp.Booted }); !ok {
		b.Fatal("the point did not join")
	}
	for b.Loop() {
		if status, err := s.Speaks().Set(ctx, s, "HeartbeatInterval", "300"); err != nil || !status.Accepted() {
			b.Fatal(status, err)
		}
	}
}
