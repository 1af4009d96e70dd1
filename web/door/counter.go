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

const mostNames = 10_000 // then those whose time is over are forgotten

// allows counts one more and reports whether it is within what is allowed.
func (c *counter) allows(name string, most int, within time.Duration, now time.Time) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.seen == nil {
		c.seen = map[string]*span{}
	}
	if len(c.seen) > mostNames {
		for n, s := range c.seen {
			if now.After(s.ends) {
				delete(c.seen, n)
			}
		}
	}
	s := c.seen[name]
	if s == nil || now.After(s.ends) {
		s = &span{ends: now.Add(within)}
		c.seen[name] = s
	}
	s.times++
	return s.times <= most
}
