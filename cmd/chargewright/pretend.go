package main

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"time"

	"chargewright/ocpp"
	"chargewright/quantity"
	"chargewright/trainer"
)

type pretendCmd struct {
	Connect  string        `required:"" help:"Address of the central system, like ws://127.0.0.1:9000/."`
	Identity string        `default:"CP1" help:"Name the point uses on the link."`
	OCPP     string        `name:"ocpp" default:"1.6" enum:"1.6,2.0.1,2.1" help:"1.6, 2.0.1 or 2.1."`
	Phases   int           `default:"1" enum:"1,3" help:"1 or 3."`
	Current  string        `default:"32 A" help:"Rated current."`
	Vehicle  string        `help:"Most the vehicle takes, each phase; the rated current if left out."`
	Serial   string        `default:"PRETEND-1" help:"Serial number it says it has."`
	Card     string        `default:"KNOWN-CARD" help:"Card that is presented at the point after a restart."`
	Delay    time.Duration `default:"23s" help:"Randomised delay it draws."`
	Password string        `name:"password-from" type:"existingfile" help:"File that holds the password of the link."`
	Trust    string        `type:"existingfile" help:"Certificate of the central system."`
	Fault    []string      `help:"Faults to order; they are listed below."`
	Pace     float64       `default:"1" help:"How fast time goes by; the same as the central system's."`
	For      time.Duration `default:"30m" help:"It ends by itself after this time."`
	Quiet    bool          `help:"Do not say what it does."`
}

// Help lists the faults that can be ordered.
func (c *pretendCmd) Help() string {
	return "Faults to order:\n\n" + strings.Join(trainer.MisfitWords(), "\n\n")
}

// Run lives as a charge point that is not there, for tests and training.
func (c *pretendCmd) Run(io.Writer) error {
	current, err := quantity.ParseAmperes(c.Current)
	if err != nil {
		return fmt.Errorf("--current: %w", err)
	}
	o := trainer.Options{Central: strings.TrimSuffix(c.Connect, "/"+c.Identity), Identity: c.Identity, Version: ocpp.Version(c.OCPP), Phases: c.Phases,
		Current: current, Serial: c.Serial, Card: c.Card, Delay: c.Delay}
	if c.Vehicle != "" {
		if o.Vehicle, err = quantity.ParseAmperes(c.Vehicle); err != nil {
			return fmt.Errorf("--vehicle: %w", err)
		}
	}
	if c.Password != "" {
		text, err := os.ReadFile(c.Password)
		if err != nil {
			return fmt.Errorf("cannot read the password of the link: %w", err)
		}
		o.Password = strings.TrimSpace(string(text))
	}
	if c.Trust != "" {
		text, err := os.ReadFile(c.Trust)
		if err != nil {
			return fmt.Errorf("cannot read the certificate: %w", err)
		}
		pool := x509.NewCertPool()
		if !pool.AppendCertsFromPEM(text) {
			return fmt.Errorf("%s holds no certificate", c.Trust)
		}
		o.TLS = &tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS12}
	}
	if !c.Quiet {
		o.Say = func(what string) { fmt.Fprintln(os.Stderr, c.Identity+":", what) }
	}
	point, err := pretended(ocpp.NewClock(time.Now(), c.Pace), o, c.Fault)
	if err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	ctx, cancel := context.WithTimeout(ctx, c.For)
	defer cancel()
	return point.Run(ctx)
}

// pretended returns a pretended point with its faults.
func pretended(clock *ocpp.Clock, o trainer.Options, faults []string) (*trainer.Point, error) {
	for _, f := range faults {
		fault, err := trainer.ReadMisfit(f)
		if err != nil {
			return nil, err
		}
		o.Faults = append(o.Faults, fault)
	}
	return trainer.New(clock, o), nil
}

// trusting returns what a point needs to trust a central system's certificate
// of the day; nil for a plain link.
func trusting(server *tls.Config) *tls.Config {
	if server == nil {
		return nil
	}
	pool := x509.NewCertPool()
	if leaf, err := x509.ParseCertificate(server.Certificates[0].Certificate[0]); err == nil {
		pool.AddCert(leaf)
	}
	return &tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS12}
}
