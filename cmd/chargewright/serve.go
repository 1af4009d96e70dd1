package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"syscall"
	"time"

	invented "chargewright/examples"
	"chargewright/store"
	"chargewright/web"
)

type serveCmd struct {
	Data   string `help:"File that holds the journal of every job." default:"chargewright.sqlite"`
	Demo   bool   `help:"Open on the invented example jobs, in memory: nothing is kept."`
	Listen string `help:"Address to answer at." default:"127.0.0.1:8470"`
	Cert   string `help:"Certificate file, to answer by https."`
	Key    string `help:"Key file of the certificate."`
}

// Run serves the pages until it is interrupted.
func (c *serveCmd) Run(out io.Writer) error {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	s, done, err := c.server(ctx)
	if err != nil {
		return err
	}
	defer done()
	listener, err := net.Listen("tcp", c.Listen)
	if err != nil {
		return fmt.Errorf("answer at %s: %w", c.Listen, err)
	}
	h := &http.Server{Handler: web.Secure(s.Handler()), ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 2 * time.Minute,
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

// server opens the journal and puts the pages before it.
func (c *serveCmd) server(ctx context.Context) (*web.Server, func() error, error) {
	s := &web.Server{Now: time.Now, Log: slog.New(slog.NewTextHandler(os.Stderr, nil))}
	s.NamedByCookie(c.Cert != "")
	if c.Demo {
		s.Store = store.NewMemory()
		return s, s.Store.Close, demo(ctx, s)
	}
	journal, err := store.Open(ctx, c.Data)
	if err != nil {
		return nil, nil, err
	}
	s.Store = journal
	return s, journal.Close, nil
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
