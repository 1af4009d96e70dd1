package job

import (
	"chargewright/works"
)

// Finding the parts of a job by name, and what feeds what.

func find[T any](of []T, is func(*T) bool) (*T, bool) {
	for i := range of {
		if is(&of[i]) {
			return &of[i], true
		}
	}
	return nil, false
}

// Limiter returns the limiter of that name.
func (j *Job) Limiter(name string) (*works.Limiter, bool) {
	return find(j.Limiters, func(l *works.Limiter) bool { return l.Name == name })
}

// Electrode returns the electrode of that name.
func (j *Job) Electrode(name string) (*works.Electrode, bool) {
	return find(j.Electrodes, func(e *works.Electrode) bool { return e.Name == name })
}

// FedBy returns the circuit that ends at the board, point or load of that
// name; false when none does, as for a board at the origin.
func (j *Job) FedBy(name string) (*works.Circuit, bool) {
	if name == "" {
		return nil, false
	}
	return find(j.Circuits, func(c *works.Circuit) bool { return c.To == name })
}
