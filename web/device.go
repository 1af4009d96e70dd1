package web

// The pages on a device, out of reach of the server now and then.

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"log/slog"
	"net/http"
	"time"

	"chargewright/store"
)

// Device is the pages before a device's own journal, and what sends it on.
type Device struct {
	Server  *Server
	Sender  *Sender
	journal store.Device
}

// OnDevice puts the pages before a device's journal. server is the address it
// sends to.
func OnDevice(journal store.Device, server string, log *slog.Logger) *Device {
	s := &Server{Store: journal, Now: time.Now, Log: log}
	s.Who = func(r *http.Request) string {
		who, err := journal.Recall(r.Context(), whoWord)
		if err != nil {
			log.Error("who is at work", "err", err)
		}
		return who
	}
	s.SetWho = func(_ http.ResponseWriter, name string) error {
		switch account, err := journal.Recall(context.Background(), accountWord); {
		case err != nil:
			return err
		case account != "":
			return Refuse(http.StatusForbidden, "Your name comes from your account: sign in when the server can be reached.")
		}
		return journal.Remember(context.Background(), whoWord, name)
	}
	s.Sign = func(ctx context.Context, a store.Act) store.Act {
		key, err := keyOf(ctx, journal, a.Who)
		if err != nil {
			log.Error("the key to sign with", "err", err)
		}
		if key == nil {
			return a // it is said by who sends it
		}
		return a.Signed(key)
	}
	s.Away = func() int {
		acts, err := journal.Waiting(context.Background())
		if err != nil {
			log.Error("what waits", "err", err)
		}
		return len(acts)
	}
	s.Held = journal.HeldPhotos
	d := &Device{s, &Sender{Device: journal, Server: server, Client: http.DefaultClient, Room: room, Now: func() time.Time { return s.Now() }}, journal}
	s.Ends, s.Before = d.until, d.before
	return d
}

// room is what a device holds of photos: some thirty as a phone takes them.
const room = 96 << 20

// keyOf returns the key by which a device signs for a person; nil where it has
// none. Only its public half leaves the device.
func keyOf(ctx context.Context, journal store.Device, who string) (ed25519.PrivateKey, error) {
	if who == "" {
		return nil, nil
	}
	text, err := journal.Recall(ctx, keyWord+who)
	if err != nil || text == "" {
		return nil, err
	}
	seed, err := hex.DecodeString(text)
	if err != nil || len(seed) != ed25519.SeedSize {
		return nil, fmt.Errorf("the key of %s is not as it was kept", who)
	}
	return ed25519.NewKeyFromSeed(seed), nil
}

// madeKey returns the key of a person, and makes one where there is none.
func madeKey(ctx context.Context, journal store.Device, who string) (ed25519.PrivateKey, error) {
	if key, err := keyOf(ctx, journal, who); err != nil || key != nil {
		return key, err
	}
	_, key, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return nil, err
	}
	return key, journal.Remember(ctx, keyWord+who, hex.EncodeToString(key.Seed()))
}
