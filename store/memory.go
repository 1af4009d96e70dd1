package store

// The journal in memory: for tests, and for show.

import (
	"cmp"
	"context"
	"slices"
	"sync"
)

// Memory is a journal that is gone when the program ends.
type Memory struct {
	mu     sync.RWMutex
	acts   []Act
	byID   map[string]int
	listed map[string]*Listed
}

// NewMemory returns an empty journal.
func NewMemory() *Memory { return &Memory{byID: map[string]int{}, listed: map[string]*Listed{}} }

// Jobs returns the jobs, the one added to last first.
func (m *Memory) Jobs(context.Context) ([]Job, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	return jobsOf(m.acts), nil
}

func jobsOf(acts []Act) []Job {
	byID := map[string]*Job{}
	for _, a := range acts {
		j := byID[a.Job]
		if j == nil {
			j = &Job{ID: a.Job}
			byID[a.Job] = j
		}
		j.Acts++
		j.Last = max(j.Last, a.Place)
	}
	out := make([]Job, 0, len(byID))
	for _, j := range byID {
		out = append(out, *j)
	}
	slices.SortFunc(out, func(a, b Job) int { return cmp.Compare(b.Last, a.Last) })
	return out
}

// Acts returns the acts of a job after a place.
func (m *Memory) Acts(_ context.Context, job string, after int64) ([]Act, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	var out []Act
	for _, a := range m.acts {
		if a.Job == job && a.Place > after {
			out = append(out, a.withoutContent())
		}
	}
	return out, nil
}

func (a Act) withoutContent() Act {
	if a.Photo != nil {
		p := *a.Photo
		p.Bytes, p.Content = max(p.Bytes, len(p.Content)), nil
		a.Photo = &p
	}
	return a
}

// Keep adds acts.
func (m *Memory) Keep(_ context.Context, acts ...Act) (int, error) {
	if err := Check(acts); err != nil {
		return 0, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	kept := 0
	for _, a := range acts {
		if _, there := m.byID[a.ID]; there {
			continue
		}
		kept++
		a.Place = int64(len(m.acts) + 1)
		m.byID[a.ID] = len(m.acts)
		m.acts = append(m.acts, a)
		l := m.listed[a.Job]
		if l == nil {
			l = &Listed{Job: a.Job, Rank: NotNoted}
			m.listed[a.Job] = l
		}
		l.Last = a.Place
		l.said(a)
	}
	return kept, nil
}

// Photo returns the photo that an act brought.
func (m *Memory) Photo(_ context.Context, act string) (Photo, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	if i, ok := m.byID[act]; ok && m.acts[i].Photo != nil {
		return *m.acts[i].Photo, nil
	}
	return Photo{}, ErrNotFound
}

// Close forgets nothing: the journal goes with the program.
func (m *Memory) Close() error { return nil }
