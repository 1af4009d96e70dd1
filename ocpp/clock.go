package ocpp

import (
	"context"
	"sync"
	"time"
)

// Clock is the time of a run. At a pace of 1 it is the time of day; at a
// greater one a training run with a pretended point goes by faster, and every
// wait and every meter with it.
type Clock struct {
	mu    sync.Mutex
	began time.Time // the clock's time when it was last set
	real  time.Time // the time of day then
	pace  float64
}

// NewClock returns a clock that shows start now. A pace that is not above zero
// is 1.
func NewClock(start time.Time, pace float64) *Clock {
	if !(pace > 0) {
		pace = 1
	}
	return &Clock{began: start, real: time.Now(), pace: pace}
}

// Pace returns how many seconds go by in one.
func (c *Clock) Pace() float64 { return c.pace }

// Now returns the clock's time.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.began.Add(time.Duration(float64(time.Since(c.real)) * c.pace))
}

// Set puts the clock to t.
func (c *Clock) Set(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.began, c.real = t, time.Now()
}

// Scaled is how long d lasts in the time of day.
func (c *Clock) Scaled(d time.Duration) time.Duration { return time.Duration(float64(d) / c.pace) }

// Sleep waits for d, or until ctx is done.
func (c *Clock) Sleep(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(c.Scaled(d))
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// leastPatience is how long a message may take however fast the clock runs:
// the wires and the machine do not run faster with it.
const leastPatience = 2 * time.Second

// patience is how long a wait of d lasts in the time of day.
func (c *Clock) patience(d time.Duration) time.Duration {
	return max(c.Scaled(d), min(d, leastPatience))
}

// Within returns ctx with d as its end.
func (c *Clock) Within(ctx context.Context, d time.Duration) (context.Context, context.CancelFunc) {
	return context.WithTimeout(ctx, c.patience(d))
}
