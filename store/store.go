// Package store keeps the journal of every job.
//
// A job is the fold of its journal and of nothing else. The journal is a list
// of acts, each of them what one person did in one go: entries that belong
// together, made on one device. Acts are only added. An act bears an ID made
// where it was done, so that sending it twice keeps it once.
//
// Two devices may add to one job apart from each other. Put together, in any
// order and any number of times, their journals give the same job; what they
// disagree on is kept twice and shown to a person (see package job).
//
// There are three doors to a journal: SQLite for a computer, memory for tests
// and for show, the browser's own database for a phone without a server.
package store

import (
	"context"
	"errors"
	"fmt"
	"strconv"

	"chargewright/job"
	"chargewright/works"
)

// Act is what one person did in one go.
type Act struct {
	Place   int64       `json:"place,omitempty"` // in the journal it was read from, counted from 1; 0 before it is kept
	ID      string      `json:"id"`              // made on the device it was done on
	Job     string      `json:"job"`
	What    string      `json:"what"` // in words: "reading Zs at CP1"
	Who     string      `json:"who,omitempty"`
	When    string      `json:"when"` // RFC 3339, UTC
	Device  string      `json:"device,omitempty"`
	Undoes  string      `json:"undoes,omitempty"`  // ID of the act it takes back
	Arrived string      `json:"arrived,omitempty"` // when the journal of all got it, by that computer's clock
	Brought string      `json:"brought,omitempty"` // who sent it, where that is not who made it
	Key     string      `json:"key,omitempty"`     // by which the device signed it
	Sign    string      `json:"sign,omitempty"`
	Entries []job.Entry `json:"entries,omitempty"`
	Photo   *Photo      `json:"photo,omitempty"`
}

// Photo is a picture of one element of a job.
type Photo struct {
	Element string `json:"element"`         // what it is of, as a person says it: "cut-out", "circuit van point"
	Type    string `json:"type"`            // image/jpeg or image/png
	Bytes   int    `json:"bytes,omitempty"` // how large its content is, where that is left out
	Content []byte `json:"content,omitempty"`
}

// photosList is the list of a job in which its photos stand, by name.
const photosList = "photos"

// PhotoName returns the name under which the photo that an act brought stands
// in the job; nothing where it brought none. One that came without an entry
// goes by the act.
func (a Act) PhotoName() string {
	if a.Photo == nil {
		return ""
	}
	for _, e := range a.Entries {
		if names := works.NamesOf(e.Path); names[0] == photosList && len(names) > 1 {
			return names[1]
		}
	}
	return a.ID + Ending(a.Photo.Type)
}

// Ending returns how the name of a photo of that type ends.
func Ending(typ string) string {
	if typ == "image/png" {
		return ".png"
	}
	return ".jpg"
}

// says returns the entries of an act. A photo that came without any stands in
// its job all the same.
func (a Act) says() []job.Entry {
	if a.Photo == nil || len(a.Entries) > 0 {
		return a.inTimeOf(a.Entries)
	}
	item := works.Under(photosList, a.PhotoName())
	a.Entries = []job.Entry{{Path: item, Value: "1"}, {Path: item + "/of", Value: a.Photo.Element}, {Path: item + "/taken", Value: a.When}}
	if a.Who != "" {
		a.Entries = append(a.Entries, job.Entry{Path: item + "/by", Value: a.Who})
	}
	return a.inTimeOf(a.Stamped().Entries)
}

// Stamped returns the act with who made it, when, and an ID of its own on each
// of its entries.
func (a Act) Stamped() Act {
	entries := make([]job.Entry, len(a.Entries))
	for i, e := range a.Entries {
		if e.ID == "" {
			e.ID = a.ID + "-" + strconv.Itoa(i+1)
		}
		if e.Who == "" {
			e.Who = a.Who
		}
		if e.When == "" {
			e.When = a.When
		}
		entries[i] = e
	}
	a.Entries = entries
	return a
}

// Job is a job as the list of jobs needs it.
type Job struct {
	ID   string
	Last int64 // place of its newest act
	Acts int
}

// Store is a door to the journal.
type Store interface {
	// Jobs returns the jobs, the one added to last first.
	Jobs(ctx context.Context) ([]Job, error)
	// Acts returns the acts of a job after a place, in order, with the
	// contents of photos left out.
	Acts(ctx context.Context, job string, after int64) ([]Act, error)
	// Keep adds acts in order, all or none, and returns how many were new. An
	// act whose ID is kept already is left as it is.
	Keep(ctx context.Context, acts ...Act) (int, error)
	// Photo returns the photo that an act brought.
	Photo(ctx context.Context, act string) (Photo, error)
	Close() error
}

// ErrNotFound says that the journal does not hold what was asked for.
var ErrNotFound = errors.New("the journal does not hold it")

// ErrNoRoom says that the device has no room for what was to be kept.
var ErrNoRoom = errors.New("the device has no room left")

// ErrOnlyRead says that the journal can be read and not added to: its disk
// cannot be written, or its file is damaged.
var ErrOnlyRead = errors.New("the journal can be read, not added to")

// ErrDamaged says that the journal's file is not as it was written.
var ErrDamaged = errors.New("the journal's file is damaged")

// Record returns the entries of acts, to be read together as a job.
func Record(acts []Act) *job.Record {
	var entries []job.Entry
	for _, a := range acts {
		entries = append(entries, a.says()...)
	}
	return job.NewRecord(entries...)
}

// check refuses an act that no device of ours makes.
func (a Act) check() error {
	switch {
	case !isID(a.ID):
		return fmt.Errorf("act %.60q: an ID of letters, figures and hyphens is wanted", a.ID)
	case !isID(a.Job):
		return fmt.Errorf("act %s: job %.60q: an ID of letters, figures and hyphens is wanted", a.ID, a.Job)
	case a.When == "":
		return fmt.Errorf("act %s does not say when it was done", a.ID)
	case len(a.Entries) == 0 && a.Photo == nil:
		return fmt.Errorf("act %s says nothing", a.ID)
	case a.Photo != nil && (a.Photo.Element == "" || len(a.Photo.Content) == 0):
		return fmt.Errorf("act %s brings a photo of nothing", a.ID)
	case a.Photo != nil && a.Photo.Type != "image/jpeg" && a.Photo.Type != "image/png":
		return fmt.Errorf("act %s brings a photo that is neither JPEG nor PNG", a.ID)
	}
	for _, e := range a.Entries {
		if e.ID == "" || e.Path == "" {
			return fmt.Errorf("act %s has an entry without ID or path", a.ID)
		}
	}
	return a.within()
}

func isID(s string) bool {
	if s == "" || len(s) > 64 {
		return false
	}
	for _, r := range s {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-':
		default:
			return false
		}
	}
	return true
}

// Check refuses acts that no device of ours makes.
func Check(acts []Act) error {
	var errs []error
	for _, a := range acts {
		errs = append(errs, a.check())
	}
	return errors.Join(errs...)
}
