package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"net/url"
	"strings"

	"chargewright/meter"
	"chargewright/web"
)

// meterNetworks is where the pages may ask a meter, so that nobody who is
// signed in reaches through this computer what is none of theirs.
type meterNetworks struct {
	Networks []string `name:"meters" help:"Networks in which the pages may read a meter, of the private ones (RFC 1918, RFC 4193) and this computer's own; all of those if none is said." placeholder:"NETWORK"`
}

// every is the private networks there are, and this computer's own.
var every = []string{"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "fc00::/7", "127.0.0.0/8", "::1/128"}

func (n meterNetworks) all() []string {
	if len(n.Networks) == 0 {
		return every
	}
	return n.Networks
}

func (n meterNetworks) String() string { return strings.Join(n.all(), ", ") }

// allows finds the one address that a meter's name stands for, and refuses it
// where it is in no network that was allowed. What it returns is asked, not the
// name, which might stand for another address a moment later.
func (n meterNetworks) allows(ctx context.Context, address string) (string, error) {
	at, err := url.Parse(address)
	if err != nil || at.Hostname() == "" {
		return "", fmt.Errorf("the meter's address is %q: tcp://address:port, or rtuovertcp://address:port, is wanted", address)
	}
	found, err := net.DefaultResolver.LookupNetIP(ctx, "ip", at.Hostname())
	if err != nil || len(found) == 0 {
		return "", fmt.Errorf("nothing on the network is called %q", at.Hostname())
	}
	ip := found[0].Unmap()
	for _, text := range n.all() {
		of, err := netip.ParsePrefix(strings.TrimSpace(text))
		if err != nil {
			return "", fmt.Errorf("--meters %s: a network is wanted, like 192.168.1.0/24", text)
		}
		if of.Contains(ip) && (ip.IsPrivate() || ip.IsLoopback()) {
			return (&url.URL{Scheme: at.Scheme, Host: net.JoinHostPort(ip.String(), at.Port())}).String(), nil
		}
	}
	return "", errors.New("a meter is read only in the networks that the firm allows: " + n.String() + " (--meters)")
}

// meters reads meters for the pages.
type meters struct{ meterNetworks }

func (m meters) reach(ctx context.Context, o web.MeterOrder) (*meter.Meter, error) {
	address, err := m.allows(ctx, o.Address)
	if err != nil {
		return nil, err
	}
	return meter.Reach(address, o.Registers, o.Unit)
}

// Read reads a meter once.
func (m meters) Read(ctx context.Context, o web.MeterOrder) (meter.Reading, error) {
	at, err := m.reach(ctx, o)
	if err != nil {
		return meter.Reading{}, err
	}
	defer at.Close()
	return at.Read(ctx)
}

// Scan asks who answers.
func (m meters) Scan(ctx context.Context, o web.MeterOrder, from, to uint8) ([]string, error) {
	at, err := m.reach(ctx, o)
	if err != nil {
		return nil, err
	}
	defer at.Close()
	var found []string
	_, err = at.Scan(ctx, from, to, func(unit uint8, text string) { found = append(found, fmt.Sprintf("address %d %s", unit, text)) })
	return found, err
}
