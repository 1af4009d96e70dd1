package store

// The list of jobs, a page at a time.

import (
	"context"
	"slices"
	"strings"
)

// Listed is what the list of jobs shows of one.
type Listed struct {
	Job                          string
	Last                         int64 // place of its newest act
	At, Who, What                string
	Name, Address, Client, Stage string
	Invented                     bool
	Waits                        string // for what it waits, in words
	Rank                         int    // the smaller the more urgent
	Noted                        int64  // place of the newest act when that was said
}

// NotNoted is the rank of a job of which nobody has said for what it waits.
const NotNoted = 9

// Wanted is which jobs of the list are asked for.
type Wanted struct {
	Words  string // that stand in name, address, client, or what it waits for
	Stage  string
	Who    string // who added to it last
	Rank   int    // for what it waits; below 0 for any
	Before int64  // place; only jobs added to before it, the last of the page before
	Most   int
}

// A Lister keeps what the list shows, so that a page of it costs the same
// however many jobs there are.
type Lister interface {
	// List returns a page of the list, the job added to last first.
	List(context.Context, Wanted) ([]Listed, error)
	// Opened keeps what is found of a job that was opened.
	Opened(context.Context, Listed) error
	// Count says how many jobs there are, and how many wait for what, by rank.
	Count(context.Context) (map[int]int, error)
}

// takes reports that a job is among those that are asked for.
func (w Wanted) takes(l Listed) bool {
	text := strings.ToLower(strings.Join([]string{l.Name, l.Address, l.Client, l.Waits}, " "))
	for word := range strings.FieldsSeq(strings.ToLower(w.Words)) {
		if !strings.Contains(text, word) {
			return false
		}
	}
	return (w.Stage == "" || l.Stage == w.Stage) && (w.Who == "" || l.Who == w.Who) && (w.Rank < 0 || l.Rank == w.Rank) && (w.Before == 0 || l.Last < w.Before)
}

// said takes into a row what an act says of what the list shows. Of two that
// differ the later is shown, until somebody opens the job and it is read whole.
func (l *Listed) said(a Act) {
	l.At, l.Who, l.What = a.When, a.Who, a.What
	for _, e := range a.Entries {
		switch e.Path {
		case "job":
			l.Name = e.Value
		case "site/address":
			l.Address = e.Value
		case "site/client":
			l.Client = e.Value
		case "stage":
			l.Stage = e.Value
		case "invented":
			l.Invented = e.Value == "yes"
		}
	}
}

// List returns a page of the list.
func (m *Memory) List(_ context.Context, w Wanted) ([]Listed, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	var out []Listed
	for _, l := range m.listed {
		if w.takes(*l) {
			out = append(out, *l)
		}
	}
	slices.SortFunc(out, func(a, b Listed) int { return int(b.Last - a.Last) })
	return out[:min(len(out), w.Most)], nil
}

// Opened keeps what is found of a job.
func (m *Memory) Opened(_ context.Context, l Listed) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if there := m.listed[l.Job]; there != nil && there.Last == l.Noted {
		*there = l
	}
	return nil
}

// Count says how many jobs wait for what.
func (m *Memory) Count(context.Context) (map[int]int, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	out := map[int]int{}
	for _, l := range m.listed {
		out[l.Rank]++
	}
	return out, nil
}
