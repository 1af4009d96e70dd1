package door

// Counting what comes too often.

import (
	"sync"
	"time"
)

// counter counts happenings under names, each within a span of time.
type counter struct {
	mu   sync.Mutex
	seen map[string]*span
}

type span struct {
	ends  time.Time
	times int
}

// mostNames is how many are counted at once: then those whose time is over are
// forgotten, and any other where that is not enough.
const mostNames = 10_000

// add counts one more, and returns how many there were within the time.
func (c *counter) add(name string, within time.Duration, now time.Time) int {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.seen == nil {
		c.seen = map[string]*span{}
	}
	if len(c.seen) >= mostNames {
		for n, s := range c.seen {
			if now.After(s.ends) {
				delete(c.seen, n)
			}
		}
		for n := range c.seen {
			if len(c.seen) < mostNames {
				break
			}
			delete(c.seen, n)
		}
	}
	s := c.seen[name]
	if s == nil || now.After(s.ends) {
		s = &span{ends: now.Add(within)}
		c.seen[name] = s
	}
	s.times++
	return s.times
}

// times returns how many there were, and counts none.
func (c *counter) times(name string, now time.Time) int {
	c.mu.Lock()
	defer c.mu.Unlock()
	if s := c.seen[name]; s != nil && !now.After(s.ends) {
		return s.times
	}
	return 0
}
