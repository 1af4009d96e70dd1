package finding

// Slack is the share of a limit within which two sums of the same numbers
// count as equal: rounding in the last digits is no failure.
const Slack = 1e-9

// AtMost settles a finding whose value may not exceed a limit of its own unit.
func (f Finding) AtMost(value, limit Amount) Finding {
	return f.settle(value, limit, limit.Number-value.Number, value.Number <= limit.Number+Slack*abs(limit.Number))
}

// AtLeast settles a finding whose value may not fall below a limit of its own
// unit.
func (f Finding) AtLeast(value, limit Amount) Finding {
	return f.settle(value, limit, value.Number-limit.Number, value.Number >= limit.Number-Slack*abs(limit.Number))
}

// settle fails what is not plainly met, a value that is no number included.
func (f Finding) settle(value, limit Amount, margin float64, met bool) Finding {
	f.Value, f.Limit, f.Margin = value, limit, Of(margin, limit.measure)
	f.Verdict = Fails
	if met {
		f.Verdict = Meets
	}
	return f
}

func abs(v float64) float64 { return max(v, -v) }

// Missing settles a finding that lacks inputs, each named once.
func (f Finding) Missing(lacks ...Lacks) Finding {
	f.Verdict, f.Lacks = NotKnown, Gather(lacks...)
	f.Why = f.Lacks.why
	if f.Next == "" {
		f.Next = f.Lacks.ask()
	}
	return f
}

func (ls Lacks) ask() string { return "find out and enter: " + ls.String() }

func (ls Lacks) why() string { return NotKnown.String() + ": " + ls.String() }

// Repeats reports that Why says no more than what Next asks for.
func (f Finding) Repeats() bool {
	return len(f.Lacks) > 0 && f.Why.String() == f.Lacks.why() && f.Next == f.Lacks.ask()
}

// Says returns the verdict with the reason for it; what lacks says itself that
// it is not known.
func (f Finding) Says() string {
	why := f.Why.String()
	switch {
	case why == "":
		return f.Words()
	case len(f.Lacks) > 0 && why == f.Lacks.why():
		return why
	}
	return f.Words() + ", " + why
}
