package trainer

import (
	"fmt"
	"slices"
	"strings"
)

// Misfit is a fault that a pretended point shows to order.
type Misfit string

// The faults to order.
const (
	IgnoresLimit    Misfit = "ignores-limit"
	WrongPhase      Misfit = "wrong-phase"
	Slow            Misfit = "slow"
	DropsLink       Misfit = "drops-link"
	WrongEnergy     Misfit = "wrong-energy"
	AcceptsAnyCard  Misfit = "accepts-any-card"
	NoFailSafe      Misfit = "no-fail-safe"
	NeverStops      Misfit = "never-stops"
	WrongClock      Misfit = "wrong-clock"
	ForgetsSettings Misfit = "forgets-settings"
	NoDelay         Misfit = "no-delay"
	NoDefaultHours  Misfit = "no-default-hours"
	NoLimits        Misfit = "no-limits"
	NoMeter         Misfit = "no-meter"
	Silent          Misfit = "silent"
	Refuses         Misfit = "refuses"
	Vanishes        Misfit = "vanishes"
	Unplugged       Misfit = "unplugged"
	NeverStarts     Misfit = "never-starts"
	NegativePower   Misfit = "negative-power"
	StaysDown       Misfit = "stays-down"
	OldList         Misfit = "old-list"
	OtherSerial     Misfit = "other-serial"
	FewSettings     Misfit = "few-settings"
	OnlyWatts       Misfit = "only-watts"
	LongInterval    Misfit = "long-interval"
	Unclean         Misfit = "unclean"
	KeepsNothing    Misfit = "keeps-nothing"
	ForgetsAtBoot   Misfit = "forgets-at-restart"
)

// MisfitWord is a fault, and what it does.
type MisfitWord struct {
	Name Misfit
	Does string
}

// Misfits returns the faults that can be ordered.
func Misfits() []MisfitWord { return slices.Clone(misfits) }

var misfits = []MisfitWord{
	{IgnoresLimit, "accepts a limit and charges on as before"},
	{WrongPhase, "draws from another line than it is set to"},
	{Slow, "follows a limit, but takes 45 s over it"},
	{DropsLink, "breaks its link in the middle of a charge"},
	{WrongEnergy, "counts a quarter too much energy over a session"},
	{AcceptsAnyCard, "starts on a card that was refused"},
	{NoFailSafe, "charges on as before while its link is lost"},
	{NeverStops, "says it stops and does not"},
	{WrongClock, "keeps a clock of its own, an hour and more off"},
	{ForgetsSettings, "says a setting is taken and keeps the old one"},
	{NoDelay, "starts without its randomised delay"},
	{NoDefaultHours, "has no default charging hours"},
	{NoLimits, "has no smart charging: not a fault, not supported"},
	{NoMeter, "has no current sensor: not a fault, not supported"},
	{Silent, "keeps its link and says nothing on it, nor answers"},
	{Refuses, "refuses whatever it is asked"},
	{Vanishes, "breaks its link and does not come back"},
	{Unplugged, "says that nobody is plugged in"},
	{NeverStarts, "says it starts and does not"},
	{NegativePower, "tells a power that runs backwards"},
	{StaysDown, "keeps a limit that was taken off"},
	{OldList, "says a list of cards is taken and keeps the old one"},
	{OtherSerial, "says it is another unit"},
	{FewSettings, "tells only a few of its settings"},
	{OnlyWatts, "takes limits in watts alone: not a fault"},
	{LongInterval, "takes no sample interval below 20 s: not a fault"},
	{Unclean, "writes numbers as text: its messages break the schema"},
	{KeepsNothing, "keeps no meter values while its link is lost: not a fault"},
	{ForgetsAtBoot, "forgets its settings when it restarts"},
}

// MisfitWords returns the faults that can be ordered, each with what it does.
func MisfitWords() []string {
	var out []string
	for _, m := range misfits {
		out = append(out, fmt.Sprintf("%s (%s)", m.Name, m.Does))
	}
	return out
}

// ReadMisfit reads the name of a fault.
func ReadMisfit(s string) (Misfit, error) {
	var names []string
	for _, m := range misfits {
		if string(m.Name) == s {
			return m.Name, nil
		}
		names = append(names, string(m.Name))
	}
	return "", fmt.Errorf("fault is %q: there are %s", s, strings.Join(names, ", "))
}

// has reports whether the point shows a fault now.
func (p *Point) has(m Misfit) bool { return slices.Contains(*p.faults.Load(), m) }

// Suffer has the point show faults from now on, besides those it was made with.
func (p *Point) Suffer(more ...Misfit) {
	p.mu.Lock()
	p.suffered = p.now()
	p.mu.Unlock()
	all := slices.Concat(*p.faults.Load(), more)
	p.faults.Store(&all)
}
