package ocpp

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"fmt"
	"log"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"
)

// Gate is one address that charge points join at. Several runs may stand
// behind it at once: each link goes to the one that expects the name at the
// end of its address, and a name that none expects is turned away.
//
//	source  OCPP-J 1.6 section 3.1.1: the last part of the path is the identity
type Gate struct {
	options  GateOptions
	listener net.Listener
	server   *http.Server

	mu     sync.Mutex
	behind []*Central
}

// GateOptions are what a gate is opened with.
type GateOptions struct {
	Listen string        // address and port; loopback and any free port if empty
	TLS    *tls.Config   // nil for plain links
	Told   func(Message) // told of everyone who is turned away; may be nil
}

// OpenGate starts to listen.
func OpenGate(o GateOptions) (*Gate, error) {
	if o.Listen == "" {
		o.Listen = "127.0.0.1:0"
	}
	listener, err := net.Listen("tcp", o.Listen)
	if err != nil {
		return nil, fmt.Errorf("listen for charge points: %w", err)
	}
	g := &Gate{options: o, listener: listener}
	if o.TLS != nil {
		listener = tls.NewListener(listener, o.TLS)
	}
	// What the web server says of links that never came about, such as a failed
	// TLS handshake, goes with the refusals.
	g.server = &http.Server{Handler: g, ReadHeaderTimeout: 10 * time.Second, MaxHeaderBytes: 16 << 10, ErrorLog: log.New(gateBook{g}, "", 0)}
	go func() { _ = g.server.Serve(listener) }()
	return g, nil
}

// Address returns what is to be entered in a charge point; it adds its own
// identity at the end, or has it entered there.
func (g *Gate) Address() string {
	scheme := "ws"
	if g.options.TLS != nil {
		scheme = "wss"
	}
	at := g.listener.Addr().String()
	// A certificate is made out to the name that was given, not to its number.
	if host, _, err := net.SplitHostPort(g.options.Listen); err == nil && host != "" {
		if _, port, err := net.SplitHostPort(at); err == nil {
			at = net.JoinHostPort(host, port)
		}
	}
	return scheme + "://" + at + "/"
}

// Close stops listening. What stands behind the gate is closed by who put it
// there.
func (g *Gate) Close() { _ = g.server.Close() }

// Let puts a central system behind the gate. It is refused where another one
// there expects the same name.
func (g *Gate) Let(clock *Clock, o CentralOptions) (*Central, error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	for _, name := range o.Identity {
		if g.expecting(name) != nil {
			return nil, fmt.Errorf("a run of another point that is called %q on the link is under way: give this one another name, or wait until that run is over", name)
		}
	}
	c := newCentral(g, clock, o)
	g.behind = append(g.behind, c)
	return c, nil
}

// Expected reports whether a point of that name is expected.
func (g *Gate) Expected(identity string) bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.expecting(identity) != nil
}

func (g *Gate) expecting(identity string) *Central {
	for _, c := range g.behind {
		if len(c.options.Identity) == 0 || slices.Contains(c.options.Identity, identity) {
			return c
		}
	}
	return nil
}

// leave takes a central system away.
func (g *Gate) leave(c *Central) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.behind = slices.DeleteFunc(g.behind, func(other *Central) bool { return other == c })
}

// longestIdentity is the longest name a point has on its link.
//
//	source  OCPP 2.0.1 Part 4: up to 48 letters; 1.6 sets no limit
const longestIdentity = 48

// CheckIdentity refuses a name that no point can have on its link.
func CheckIdentity(identity string) error {
	if identity == "" || len(identity) > longestIdentity || strings.ContainsAny(identity, "/:") ||
		strings.ContainsFunc(identity, func(r rune) bool { return r < ' ' || r == 0x7f }) {
		return fmt.Errorf("the name on the link is %.60q: 1 to %d letters are wanted, with no slash or colon", identity, longestIdentity)
	}
	return nil
}

// ServeHTTP hands a link to the one who expects it.
func (g *Gate) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	path := r.URL.EscapedPath()
	identity, err := url.PathUnescape(path[strings.LastIndexByte(path, '/')+1:])
	if err != nil || CheckIdentity(identity) != nil {
		g.deny(w, "", "the address must end in the name of the charge point, of up to 48 letters")
		return
	}
	g.mu.Lock()
	c := g.expecting(identity)
	g.mu.Unlock()
	if c == nil {
		g.deny(w, identity, "no charge point of that name is expected here")
		return
	}
	c.take(w, r, identity)
}

func (g *Gate) deny(w http.ResponseWriter, identity, why string) {
	g.turnAway(identity, why)
	http.Error(w, why, http.StatusNotFound)
}

// turnAway notes a refusal with every run there is: whose point it was is not
// known.
func (g *Gate) turnAway(identity, why string) {
	g.mu.Lock()
	behind := slices.Clone(g.behind)
	g.mu.Unlock()
	for _, c := range behind {
		c.noteRefusal(identity, why)
	}
	g.tell(Message{At: time.Now().UTC(), Point: identity, From: fromLink, Remark: "refused: " + why})
}

func (g *Gate) tell(m Message) {
	if g.options.Told != nil {
		g.options.Told(m)
	}
}

type gateBook struct{ g *Gate }

func (b gateBook) Write(line []byte) (int, error) {
	b.g.turnAway("", strings.TrimSpace(string(line)))
	return len(line), nil
}

// Trust returns, as text, the certificate that a point must trust to join over
// TLS; nothing for a plain link.
func (g *Gate) Trust() []byte {
	if g.options.TLS == nil {
		return nil
	}
	var out []byte
	for _, der := range g.options.TLS.Certificates[0].Certificate {
		out = append(out, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})...)
	}
	return out
}

// Usable refuses a certificate that a point told to join at an address would
// refuse, or that runs out before a run can be over.
func Usable(c tls.Certificate, listen string, until time.Time) error {
	leaf, err := x509.ParseCertificate(c.Certificate[0])
	if err != nil {
		return fmt.Errorf("the certificate of the link cannot be read: %w", err)
	}
	host, _, err := net.SplitHostPort(listen)
	if err != nil {
		return fmt.Errorf("%q: address and port are wanted, like 127.0.0.1:9000", listen)
	}
	if err := leaf.VerifyHostname(host); err != nil {
		return fmt.Errorf("the certificate of the link is not made out to %s, where points are told to join: %w", host, err)
	}
	if until.After(leaf.NotAfter) {
		return fmt.Errorf("the certificate of the link runs out at %s", leaf.NotAfter.UTC().Format("2006-01-02 15:04 UTC"))
	}
	return nil
}
