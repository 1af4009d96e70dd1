// Package ledger keeps the charging sessions of a site after handover: who
// charged what, when, at what cost, and whether the points still deliver what
// they were built for.
//
// Sessions are read from charging records (CSV with columns the user names, or
// messages of the open charge point protocol, OCPP 1.6 and 2.0.1). Every line
// of every record ends up in one place: counted, said twice, doubtful or
// faulty; a correction is kept beside what it corrects. A doubtful session is
// listed and never enters a total or a claim.
//
// Energy is held in thousandths of a watt-hour and money in hundredths of a
// penny, both whole numbers, so that sums are exact. A session's cost is
// rounded once, to a hundredth of a penny, half up; a printed line once more,
// to the penny, half up; what the rounding of the lines leaves is printed.
//
// The package opens nothing and reads no clock: records come as io.Reader,
// the time zone as *time.Location, the date of the statement as time.Time.
package ledger

import (
	"slices"
	"strings"
	"time"

	"chargewright/sheet"
)

// Settings is what a reader of records must know besides the records.
type Settings struct {
	Zone    *time.Location    // for times written without an offset, and for months and days
	Made    time.Time         // when the statement is made: a session cannot lie after it
	Ratings map[string]Rating // rated power of each point, by name; "" is any other point
	Columns map[string]string // the user's name of a column, by field
	Unit    string            // unit of energies that name none: "kWh", "Wh"
	Point   string            // the point of a record that names none
	Cards   map[string]holder // who holds a card, for records that know only cards
	Outlets map[string]int    // how many vehicles a point charges at once, where it is more than one and no column says which

	MonthFirst bool // dates are month/day/year
}

// Rating is the rated power of a charge point, in W.
type Rating int64

// holder is whose card it is.
type holder struct{ Person, Vehicle, Centre string }

// sessionState is what became of a session.
type sessionState uint8

// States of a session.
const (
	Sound      sessionState = iota // counted, its time known
	StopUnsaid                     // counted, but its stop is not known: energy is, time is not
	Doubtful                       // listed, never counted
	Repeated                       // the same session said again: counted where it was said first
	Refund                         // takes back what a session was billed: no session itself
	Elsewhere                      // charged at a point of somebody else's
)

// none is a register or an energy that was not said.
const none = Energy(-1 << 62)

// session is one charging session. Names are numbers into the ledger's list.
type session struct {
	Start, Stop                                  int64 // seconds since 1970 UTC, plug-in and plug-out
	Energy                                       Energy
	From, To                                     Energy // meter registers at start and stop
	id                                           uint64
	said                                         int32 // first of its samples, -1 for none
	saidCount                                    int32
	Line                                         int32
	File                                         uint8
	State                                        sessionState
	fine                                         int8  // whole seconds its times are written to: 1 or 60
	estimated                                    bool  // its stop was lost, and is taken from what came after
	more                                         int32 // its place among what few sessions say, counted from 1; 0 for nothing
	Charging                                     int32 // seconds from start within which energy flowed, 0 when not said
	Limited                                      int32 // seconds held back by a limiter, -1 when not said
	Point, Card, Person, Vehicle, Centre, Reason name
}

// rarely is what few records say of a session.
type rarely struct {
	Solar    Energy // part from the site's own surplus
	Billed   Money
	Odometer int64 // tenths of a mile
	billed   bool
	odometer bool
	kind     sessionState // Refund or Elsewhere, where the line says so
}

// nothingMore is of a session of which nothing more is said.
var nothingMore = rarely{Solar: none}

// rare returns what few records say of a session.
func (l *Ledger) rare(s *session) rarely {
	if s.more == 0 {
		return nothingMore
	}
	return l.rares[s.more-1]
}

// Length returns the plugged-in time of a session, in seconds.
func (s *session) Length() int64 { return s.Stop - s.Start }

// sample is a reading of the meter during a session.
type sample struct {
	at       int64
	register Energy
}

// Ledger is the sessions read so far and everything noted about them.
type Ledger struct {
	Settings
	Tallies []Tally // one a file
	Notes   []Note
	Events  []pointEvent // faults that points reported

	names   names
	chunks  [][]session
	samples []sample
	rares   []rarely
	clock   sheet.Clock
	settled bool

	passedBy map[name]Energy // registered between sessions, by point
	refunded map[*session]Money
}

// newLedger returns an empty ledger.
func newLedger(s Settings) *Ledger {
	if s.Zone == nil {
		s.Zone = time.UTC
	}
	l := &Ledger{Settings: s, clock: sheet.Clock{Zone: s.Zone}}
	l.names.number("")
	return l
}

// chunk is how many sessions are kept together; a growing list need not be
// copied.
const chunk = 4096

func (l *Ledger) add(s session) *session {
	if n := len(l.chunks); n == 0 || len(l.chunks[n-1]) == chunk {
		l.chunks = append(l.chunks, make([]session, 0, chunk))
	}
	last := &l.chunks[len(l.chunks)-1]
	*last = append(*last, s)
	return &(*last)[len(*last)-1]
}

// count returns how many sessions there are.
func (l *Ledger) count() int {
	if len(l.chunks) == 0 {
		return 0
	}
	return (len(l.chunks)-1)*chunk + len(l.chunks[len(l.chunks)-1])
}

func (l *Ledger) at(i uint32) *session { return &l.chunks[i/chunk][i%chunk] }

// Each calls f with every session in the order read, whatever its state.
func (l *Ledger) Each(f func(*session)) {
	for _, c := range l.chunks {
		for i := range c {
			f(&c[i])
		}
	}
}

// counted calls f with every session that enters totals.
func (l *Ledger) counted(f func(*session)) {
	l.Each(func(s *session) {
		if s.State == Sound || s.State == StopUnsaid {
			f(s)
		}
	})
}

// rating returns the rated power of a point.
func (l *Ledger) rating(point name) (Rating, bool) {
	text := l.names.text(point)
	if r, ok := l.Ratings[text]; ok {
		return r, r > 0
	}
	if base, _, more := strings.Cut(text, "/"); more { // a further outlet of the point
		if r, ok := l.Ratings[base]; ok {
			return r, r > 0
		}
	}
	r := l.Ratings[""]
	return r, r > 0
}

// name is a text of the records by its number; 0 is no text.
type name int32

// names keeps each text once.
type names struct {
	list  []string
	known map[string]name
}

func (n *names) number(text string) name {
	if i, ok := n.known[text]; ok {
		return i
	}
	return n.keep(text)
}

// numberOf is number for bytes that will be reused.
func (n *names) numberOf(text []byte) name {
	if len(text) == 0 {
		return 0
	}
	if i, ok := n.known[string(text)]; ok {
		return i
	}
	return n.keep(string(text))
}

func (n *names) keep(text string) name {
	if n.known == nil {
		n.known = map[string]name{}
	}
	i := name(len(n.list))
	n.list = append(n.list, text)
	n.known[text] = i
	return i
}

func (n *names) text(i name) string { return n.list[i] }

// Name returns the text of a name of a session.
func (l *Ledger) Name(i name) string { return l.names.text(i) }

// Points returns the names of the points that sessions were read of, sorted.
func (l *Ledger) Points() []string {
	seen := map[name]bool{}
	l.Each(func(s *session) { seen[s.Point] = true })
	var out []string
	for n := range seen {
		if n != 0 {
			out = append(out, l.names.text(n))
		}
	}
	slices.Sort(out)
	return out
}
