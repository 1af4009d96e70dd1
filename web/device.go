package web

// The pages on a device, out of reach of the server now and then.

import (
	"context"
	"log/slog"
	"net/http"
	"time"

	"chargewright/store"
)

// Device is the pages before a device's own journal, and what sends it on.
type Device struct {
	Server *Server
	Sender *Sender
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
		return journal.Remember(context.Background(), whoWord, name)
	}
	s.Away = func() int {
		acts, err := journal.Waiting(context.Background())
		if err != nil {
			log.Error("what waits", "err", err)
		}
		return len(acts)
	}
	s.Held = journal.HeldPhotos
	return &Device{s, &Sender{Device: journal, Server: server, Client: http.DefaultClient, Room: room}}
}

// room is what a device holds of photos: some thirty as a phone takes them.
const room = 96 << 20
