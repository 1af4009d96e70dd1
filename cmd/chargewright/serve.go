package main

import (
	"bufio"
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/signal"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"strings"
	"syscall"
	"time"

	"golang.org/x/net/netutil"

	invented "chargewright/examples"
	"chargewright/store"
	"chargewright/web"
	"chargewright/web/door"
)

type serveCmd struct {
	Data      string        `help:"File that holds the journal of every job." default:"chargewright.sqlite"`
	Demo      bool          `help:"Open on the invented example jobs, in memory: nothing is kept."`
	Listen    string        `help:"Address to answer at. Any but this computer's own needs accounts, and https." default:"127.0.0.1:8470"`
	Cert      string        `help:"Certificate file, to answer by https." type:"existingfile"`
	Key       string        `help:"Key file of the certificate." type:"existingfile"`
	Proxied   bool          `help:"A reverse proxy stands before it, answers by https, and says in X-Forwarded-For whom it speaks for."`
	Address   string        `help:"Address at which people reach it, where that is not what they ask this program for: behind a reverse proxy, for passkeys." placeholder:"https://NAME"`
	Templates string        `help:"Table of templates of your own, beside the built-in ones (columns template, path, value, because)." type:"existingfile"`
	CopyTo    string        `help:"Folder into which the journal is copied each day, whole, while it serves." type:"existingdir"`
	AwayFor   time.Duration `help:"How long a device may be used without the server, like 168h; 0 for no end. It then refuses until the server is reached, and keeps what waits." default:"168h"`
	meterNetworks
	pointGate
	Add string `help:"Add an account of this name, or change it, and stop. The password is read from standard input." placeholder:"NAME"`
	keyFolder
	Role string `help:"Role of that account: electrician, supervisor or office." default:"electrician"`
}

// Run serves the pages until it is interrupted.
func (c *serveCmd) Run(out io.Writer) error {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if c.Add != "" {
		return c.addPerson(ctx, out)
	}
	handler, done, err := c.handler(ctx)
	if err != nil {
		return err
	}
	defer done()
	ours, err := c.hosts()
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", c.Listen)
	if err != nil {
		return fmt.Errorf("answer at %s: %w", c.Listen, err)
	}
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(mostMemory)
	}
	listener = netutil.LimitListener(listener, mostConnections)
	h := &http.Server{Handler: web.ForHosts(web.Secure(handler), ours), ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 2 * time.Minute,
		WriteTimeout: 2 * time.Minute, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 64 << 10}
	go func() {
		<-ctx.Done()
		soon, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		defer cancel()
		h.Shutdown(soon)
	}()
	scheme := "http"
	if c.Cert != "" {
		scheme = "https"
	}
	fmt.Fprintf(out, "%s://%s\n", scheme, listener.Addr())
	if c.Demo {
		fmt.Fprintln(out, "invented jobs, in memory: what you enter is gone when this stops")
	} else {
		fmt.Fprintf(out, "journal: %s\n", c.Data)
	}
	if !web.Bundled() {
		fmt.Fprintln(out, "built without the part for the browser: pages work only while this runs (go generate ./web)")
	}
	if c.Cert != "" {
		err = h.ServeTLS(listener, c.Cert, c.Key)
	} else {
		err = h.Serve(listener)
	}
	if errors.Is(err, http.ErrServerClosed) {
		return nil
	}
	return err
}

// logTo is a log in which of an address stands only where it leads: what comes
// before its host or after its path may be a secret.
func logTo(w io.Writer) *slog.Logger {
	return slog.New(slog.NewTextHandler(w, &slog.HandlerOptions{ReplaceAttr: func(_ []string, a slog.Attr) slog.Attr {
		if k := a.Value.Kind(); k == slog.KindString || k == slog.KindAny {
			a.Value = slog.StringValue(afterPath.ReplaceAllString(beforeHost.ReplaceAllString(fmt.Sprint(a.Value.Any()), "$1"), "$1"))
		}
		return a
	}}))
}

// beforeHost and afterPath are what may be a secret in an address.
var (
	beforeHost = regexp.MustCompile(`(://)[^/\s"'<>]*@`)
	afterPath  = regexp.MustCompile(`(://[^\s"'<>?#]*)[?#][^\s"'<>]*`)
)

// The ceiling of a server: connections answered at once, of which each is one
// descriptor beside some fifty of the journal and one for each body that waits;
// more wait at the door. Memory is collected harder as it comes near.
const (
	mostConnections = 2000
	mostMemory      = 1 << 30
)

// handler opens the journal and puts the pages before it, and a door before
// the pages where there are accounts.
func (c *serveCmd) handler(ctx context.Context) (pages http.Handler, done func() error, err error) {
	s := &web.Server{Now: time.Now, Log: logTo(os.Stderr)}
	if s.Templates, err = templates(c.Templates); err != nil {
		return nil, nil, err
	}
	secure := c.Cert != "" || c.Proxied
	s.NamedByCookie(secure)
	if !c.Demo || c.Keys != "" { // invented jobs are not numbered in the firm's own register
		s.Issuer = &desk{keys: c.keyFolder}
	}
	runs, err := newCommissioner(c.pointGate, c.Demo, s.Log)
	if err != nil {
		return nil, nil, err
	}
	runs.meters = c.meterNetworks
	s.Commissioner = runs
	s.Meters = meters{c.meterNetworks}
	defer func() {
		if err != nil {
			runs.Close()
		}
	}()
	done = func() error {
		runs.Close()
		return s.Store.Close()
	}
	if c.Demo {
		if !c.ownComputer() {
			return nil, nil, errors.New("the demo answers on this computer alone")
		}
		s.Store = store.NewMemory()
		return s.Handler(), done, demo(ctx, s)
	}
	journal, err := store.Open(ctx, c.Data)
	if err != nil {
		return nil, nil, err
	}
	s.Store = journal
	go c.daily(ctx, journal, s.Log)
	people, err := journal.People(ctx)
	switch {
	case err != nil:
		err = fmt.Errorf("read the accounts: %w", err)
	case len(people) == 0 && (!c.ownComputer() || c.Proxied):
		err = errors.New("to answer a network there must be accounts: first  chargewright serve --add NAME --role supervisor")
	case c.Address != "" && !door.IsAddress(c.Address):
		err = fmt.Errorf("--address %s: the address of a site is wanted, without a path: https://jobs.example", c.Address)
	case !c.ownComputer() && !secure:
		err = errors.New("to answer a network give --cert and --key, or stand behind a reverse proxy that answers by https and say --proxied")
	}
	if err != nil {
		journal.Close()
		return nil, nil, err
	}
	if len(people) == 0 {
		return web.Queued(s.Handler()), done, nil
	}
	s.SetWho = nil
	s.NamedByAccount()
	s.AwayFor = c.AwayFor
	guard := &door.Door{Server: s, Register: journal, Secure: secure, Proxied: c.Proxied, Address: c.Address, Meters: c.meterNetworks.String()}
	return guard.Handler(web.Queued(s.Handler())), done, nil
}

// daily looks the journal over once a day, and copies it where it is asked for.
func (c *serveCmd) daily(ctx context.Context, journal *store.SQLite, log *slog.Logger) {
	for day := time.NewTicker(24 * time.Hour); ; {
		if c.CopyTo != "" {
			to := filepath.Join(c.CopyTo, time.Now().Format("2006-01-02")+".sqlite")
			if _, err := os.Lstat(to); errors.Is(err, fs.ErrNotExist) {
				if _, err := journal.Copy(ctx, to); err != nil {
					log.Error("the day's copy", "err", err)
				}
			}
		}
		select {
		case <-ctx.Done():
			day.Stop()
			return
		case <-day.C:
		}
		if err := journal.Look(ctx); err != nil {
			log.Error("the day's look at the journal", "err", err)
		}
		if why := journal.OnlyRead(); why != "" {
			log.Error(why)
		}
	}
}

// hosts says by which names the program is reached: this computer's own where
// nobody else can reach it, the address it was told, and what its certificate
// is for. Behind a proxy that was not told of an address the proxy decides.
func (c *serveCmd) hosts() (func(string) bool, error) {
	told := ""
	if c.Address != "" {
		at, err := url.Parse(c.Address)
		if err != nil {
			return nil, fmt.Errorf("--address %s: %w", c.Address, err)
		}
		told = at.Hostname()
	}
	var named *x509.Certificate
	if c.Cert != "" && !c.ownComputer() {
		pair, err := tls.LoadX509KeyPair(c.Cert, c.Key)
		if err != nil {
			return nil, fmt.Errorf("--cert and --key: %w", err)
		}
		if named, err = x509.ParseCertificate(pair.Certificate[0]); err != nil {
			return nil, fmt.Errorf("--cert: %w", err)
		}
	}
	return func(host string) bool {
		ip := net.ParseIP(host)
		switch {
		case told != "" && host == told:
			return true
		case c.Proxied:
			return told == ""
		case ip.IsLoopback() || host == "localhost":
			return true
		case c.ownComputer():
			return false
		}
		return ip != nil || named != nil && named.VerifyHostname(host) == nil // a number is nobody's name
	}, nil
}

// ownComputer reports that only this computer can reach the address.
func (c *serveCmd) ownComputer() bool {
	host, _, err := net.SplitHostPort(c.Listen)
	if err != nil {
		return false
	}
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

func (c *serveCmd) addPerson(ctx context.Context, out io.Writer) error {
	journal, err := store.Open(ctx, c.Data)
	if err != nil {
		return err
	}
	defer journal.Close()
	fmt.Fprintln(os.Stderr, "password, ended with a new line:")
	line, err := bufio.NewReader(os.Stdin).ReadString('\n')
	if err != nil && line == "" {
		return errors.New("no password was given")
	}
	if err := door.PutPerson(ctx, journal, c.Add, c.Role, strings.TrimRight(line, "\r\n"), false); err != nil {
		return err
	}
	fmt.Fprintf(out, "%s: %s\n", c.Add, c.Role)
	return nil
}

// demo brings in the example jobs.
func demo(ctx context.Context, s *web.Server) error {
	names, err := fs.Glob(invented.Files, "*/job.yaml")
	if err != nil {
		return err
	}
	for _, name := range names {
		text, err := invented.Files.ReadFile(name)
		if err != nil {
			return err
		}
		if err := s.Bring(ctx, text); err != nil {
			return fmt.Errorf("example %s: %w", name, err)
		}
	}
	return nil
}
