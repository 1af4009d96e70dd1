package commission

import (
	"chargewright/ocpp"
	"chargewright/trainer"
	"context"
	"crypto/tls"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/coder/websocket"
)

// join asks to join at an address and returns what it is answered.
func join(t *testing.T, address, authorization string) int {
	t.Helper()
	h := http.Header{}
	if authorization != "" {
		h.Set("Authorization", authorization)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	conn, resp, err := websocket.Dial(ctx, address, &websocket.DialOptions{HTTPHeader: h, Subprotocols: []string{"ocpp1.6"}})
	if err == nil {
		t.Cleanup(func() { _ = conn.CloseNow() })
	}
	if resp == nil {
		t.Fatalf("join %s: %v", address, err)
	}
	return resp.StatusCode
}

func basic(user, password string) string {
	r := http.Request{Header: http.Header{}}
	r.SetBasicAuth(user, password)
	return r.Header.Get("Authorization")
}

// TestOneGateManyRuns puts two whole runs behind one address, each with its
// own password, and a stranger before it.
func TestOneGateManyRuns(t *testing.T) {
	var mu sync.Mutex
	var told []ocpp.Message
	g, err := ocpp.OpenGate(ocpp.GateOptions{Told: func(m ocpp.Message) { mu.Lock(); defer mu.Unlock(); told = append(told, m) }})
	if err != nil {
		t.Fatal(err)
	}
	defer g.Close()
	m, rules := bakery()
	intent, err := IntentOf(m, "CP1")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 3*time.Minute)
	var points sync.WaitGroup
	defer func() { cancel(); points.Wait() }()
	names := []string{"left post", "right post"}
	passwords := []string{ocpp.NewPassword(), ocpp.NewPassword()}
	if passwords[0] == passwords[1] || ocpp.CheckPassword(passwords[0]) != nil {
		t.Fatalf("the passwords made are %v", passwords)
	}
	centrals := make([]*ocpp.Central, 2)
	clocks := make([]*ocpp.Clock, 2)
	for i, name := range names {
		clocks[i] = ocpp.NewClock(wednesday, testPace)
		if centrals[i], err = g.Let(clocks[i], ocpp.CentralOptions{Known: []string{"KNOWN"}, Identity: []string{name}, Password: passwords[i]}); err != nil {
			t.Fatal(err)
		}
		defer centrals[i].Close()
	}
	if _, err := g.Let(clocks[0], ocpp.CentralOptions{Identity: []string{"left post"}}); err == nil || !strings.Contains(err.Error(), "left post") {
		t.Errorf("a second run of one name: %v", err)
	}
	if got := join(t, centrals[0].AddressOf("somebody else"), ""); got != http.StatusNotFound {
		t.Errorf("a name nobody expects is answered %d", got)
	}
	if got := join(t, centrals[0].AddressOf("left post"), basic("left post", passwords[1])); got != http.StatusUnauthorized {
		t.Errorf("the password of the other run is answered %d", got)
	}
	results := make([]*Evidence, 2)
	var runs sync.WaitGroup
	for i, name := range names {
		point := trainer.New(clocks[i], trainer.Options{Central: g.Address(), Identity: name, Card: "KNOWN", Delay: 23 * time.Second, Serial: "SERIAL-" + name, Password: passwords[i], Rotation: "STR"})
		points.Go(func() { _ = point.Run(ctx) })
		runs.Go(func() {
			e, err := Run{Central: centrals[i], Identity: name, Intent: intent, Rules: rules, Steps: Steps(), Skip: []string{"delay", "fail-safe", "reboot"}, Known: "KNOWN", Unknown: "NOBODY", Meter: point.Meter}.Do(ctx)
			if err != nil {
				t.Errorf("%s: %v", name, err)
			}
			results[i] = e
		})
	}
	runs.Wait()
	for i, e := range results {
		if e.ExitCode() != 0 || e.Identity.Serial != "SERIAL-"+names[i] || len(e.LeftOut) != 3 || !strings.Contains(e.Secured, "security profile 1") {
			t.Errorf("%s ends with %d: serial %s, left out %v, %s", names[i], e.ExitCode(), e.Identity.Serial, e.LeftOut, e.Secured)
		}
		for _, s := range e.Steps {
			for _, m := range s.Messages {
				if m.Point != names[i] {
					t.Errorf("the evidence of %s holds a message of %s", names[i], m.Point)
				}
			}
		}
	}
	// Both runs and the log have the stranger; the wrong password is the one's.
	for i, want := range []int{2, 1} {
		if got := len(results[i].Refused); got != want {
			t.Errorf("%s turned %d away, want %d: %v", names[i], got, want, results[i].Refused)
		}
	}
	mu.Lock()
	defer mu.Unlock()
	if !slices.ContainsFunc(told, func(m ocpp.Message) bool {
		return m.Point == "somebody else" && strings.Contains(m.Remark, "no charge point of that name is expected here")
	}) {
		t.Errorf("the log does not hear of the stranger: %v", told)
	}
	for _, m := range told {
		if strings.Contains(m.Remark, passwords[0]) || strings.Contains(m.Remark, passwords[1]) {
			t.Error("the log holds a password")
		}
	}
}

// TestALinkThatIsOverIsFree takes the name of a run again once it is closed.
func TestALinkThatIsOverIsFree(t *testing.T) {
	g, err := ocpp.OpenGate(ocpp.GateOptions{})
	if err != nil {
		t.Fatal(err)
	}
	defer g.Close()
	for range 2 {
		c, err := g.Let(ocpp.NewClock(wednesday, 1), ocpp.CentralOptions{Identity: []string{"CP1"}})
		if err != nil {
			t.Fatal(err)
		}
		if got := join(t, c.AddressOf("CP1"), ""); got != http.StatusSwitchingProtocols || !g.Expected("CP1") {
			t.Errorf("an expected point is answered %d", got)
		}
		c.Close()
		if got := join(t, g.Address()+"CP1", ""); got != http.StatusNotFound || g.Expected("CP1") {
			t.Errorf("after its run the point is answered %d", got)
		}
	}
}

// TestPasswordOfTheLink takes a key as a point of either kind sends it.
func TestPasswordOfTheLink(t *testing.T) {
	for _, tt := range []struct {
		source, password, sent string
		want                   int
	}{
		{"OCPP-J 1.6 section 6, its example of a header (from memory): the bytes of the key", "0001020304050607FFFFFFFFFFFFFFFFFFFFFFFF", "Basic QUwxMDAwOgABAgMEBQYH////////////////", 101},
		{"the digits of the key as they are (common practice, no source)", "0001020304050607FFFFFFFFFFFFFFFFFFFFFFFF", basic("AL1000", "0001020304050607FFFFFFFFFFFFFFFFFFFFFFFF"), 101},
		{"OCPP 2.0.1 Part 2 BasicAuthPassword: a text", "correct-horse-battery", basic("AL1000", "correct-horse-battery"), 101},
		{"another key", "0001020304050607FFFFFFFFFFFFFFFFFFFFFFFF", basic("AL1000", "0001020304050607FFFFFFFFFFFFFFFFFFFFFFFE"), 401},
		{"another user", "correct-horse-battery", basic("AL1001", "correct-horse-battery"), 401},
		{"none", "correct-horse-battery", "", 401},
	} {
		c := opened(t, ocpp.CentralOptions{Password: tt.password, Identity: []string{"AL1000"}})
		if got := join(t, c.AddressOf("AL1000"), tt.sent); got != tt.want {
			t.Errorf("%s: answered %d, want %d", tt.source, got, tt.want)
		}
	}
	for password, good := range map[string]bool{"fifteen-letters": false, "sixteen--letters": true, strings.Repeat("x", 40): true, strings.Repeat("x", 41): false, "with spaces in it all": false, "": false} {
		if err := ocpp.CheckPassword(password); (err == nil) != good {
			t.Errorf("CheckPassword(%q) = %v", password, err)
		} else if err != nil && password != "" && strings.Contains(err.Error(), password) {
			t.Errorf("the refusal tells the password: %v", err)
		}
	}
}

// TestCertificateOfTheLink refuses what a point would refuse.
func TestCertificateOfTheLink(t *testing.T) {
	now := time.Now()
	c, text, err := ocpp.Certificate(now, time.Hour, "127.0.0.1")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		listen string
		until  time.Time
		want   string
	}{
		{"127.0.0.1:9000", now.Add(time.Minute), ""},
		{"192.0.2.10:9000", now.Add(time.Minute), "not made out to 192.0.2.10"},
		{"127.0.0.1:9000", now.Add(2 * time.Hour), "runs out"},
		{"9000", now, "address and port"},
	} {
		if err := ocpp.Usable(c, tt.listen, tt.until); (err == nil) != (tt.want == "") || err != nil && !strings.Contains(err.Error(), tt.want) {
			t.Errorf("Usable at %s = %v, want %q", tt.listen, err, tt.want)
		}
	}
	g, err := ocpp.OpenGate(ocpp.GateOptions{TLS: &tls.Config{Certificates: []tls.Certificate{c}}})
	if err != nil {
		t.Fatal(err)
	}
	defer g.Close()
	if string(g.Trust()) != string(text) || !strings.HasPrefix(g.Address(), "wss://127.0.0.1:") {
		t.Errorf("the gate at %s hands out another certificate to trust", g.Address())
	}
}
