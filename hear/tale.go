package hear

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"chargewright/ocpp"
	"chargewright/quantity"
)

// notice is a sign that shows in a log: where first, how often, and what follows
// from what.
type notice struct {
	line    int
	times   int
	detail  string
	codes   []string // of faults, as the protocol names them
	because string   // what in the log it comes from
}

// bounds of what is remembered of a log: memory does not grow with it.
const (
	mostOpen     = 5000
	mostOutlets  = 200
	mostSessions = 500
)

// teller goes through a log once and remembers what the signs need.
type teller struct {
	found   map[string]*notice
	means   map[string]string
	open    map[string]question
	forgot  bool // questions were dropped to bound memory
	outlets map[string]*outlet
	running map[string]*session
	cards   map[string]idle // allowed, and nothing since
	started map[string]idle // started from afar, and nothing since
	refused map[string]int  // cards, and the line they were refused on

	first, last  moment
	firstLine    int
	lastLine     int
	messages     int
	questions    int
	answers      int
	version      ocpp.Version
	boots        []time.Time
	told         time.Duration // to wait before it introduces itself again
	beat         time.Duration
	pendingAt    int
	limits       map[ocpp.Purpose]*limit
	clock        offsets
	slowest      time.Duration
	sequels      map[string]int
	outOfService int // line it was ordered on
	ids          []string
	idAt         int
	tallies      tallies
	lastSpoken   time.Time
	cutLine      int
}

// tallies are what went as it should.
type tallies struct {
	accepted, beats, samples, sessions, obeyed, late int
	energy                                           float64 // Wh, of whole sessions
	orders                                           int     // accepted
}

// question is a question of the log that waits for its answer.
type question struct {
	line    int
	at      moment
	action  string
	card    string
	outlet  string
	session string
	word    string // the setting, or what was asked for
	spoken  bool   // written without a frame: its answer may not be there
	purpose ocpp.Purpose
	limit   *limit
	meter   quantity.Maybe[float64]
}

// idle is something that was allowed and that nothing has followed yet.
type idle struct {
	line int
	at   moment
	out  string
}

// outlet is one outlet of the point.
type outlet struct {
	status     string
	since      moment
	statusLine int
	session    *session
	register   float64
	registerAt time.Time
	flaps      int
	flapFrom   moment
	zero       int
	unasked    int
	stands     int
}

// session is one charge.
type session struct {
	id, card, outlet string
	line             int
	at               moment
	from             quantity.Maybe[float64]
	flowed           bool
	samples          int
	heldAt           int // the point held it
	waitsAt          int // the vehicle took nothing
	swings           int
	state            string
	faultAt          int
}

// limit is a standing limit as it was accepted.
type limit struct {
	line   int
	at     moment
	amps   float64
	known  bool // one step, in amperes, with no end
	zero   bool
	over   int
	obeyed bool
	level  float64
}

func newTeller(means map[string]string) *teller {
	return &teller{found: map[string]*notice{}, means: means, open: map[string]question{}, outlets: map[string]*outlet{}, running: map[string]*session{},
		cards: map[string]idle{}, started: map[string]idle{}, refused: map[string]int{}, limits: map[ocpp.Purpose]*limit{}, sequels: map[string]int{},
		clock: newOffsets()}
}

func (t *teller) note(sign string, line int, format string, args ...any) *notice {
	n := t.found[sign]
	if n == nil {
		n = &notice{line: line, detail: fmt.Sprintf(format, args...)}
		t.found[sign] = n
	}
	n.times++
	return n
}

// meaning says what a word of the protocol means, in brackets.
func (t *teller) meaning(word string) string {
	if means := t.means[word]; means != "" {
		return word + " (" + means + ")"
	}
	return word
}

// hear takes the next line or message.
func (t *teller) hear(l logLine) {
	if t.firstLine == 0 {
		t.firstLine = l.number
	}
	t.lastLine = l.number
	if l.at.known() {
		if !t.first.known() {
			t.first = l.at
		}
		t.last = l.at
	}
	switch {
	case l.cut:
		t.cutLine = l.number
		t.note("unreadable", l.number, "%s", string(ocpp.WithoutSecrets([]byte(short(string(l.text))))))
	case l.broken:
		t.note("unreadable", l.number, "%s", string(ocpp.WithoutSecrets([]byte(short(string(l.text))))))
	case l.frame != nil:
		t.messages++
		t.message(l)
	}
}

func (t *teller) message(l logLine) {
	f := l.frame
	if f.kind == 2 {
		t.questions++
		if !f.spoken && slices.Contains(t.ids, f.id) && t.open[f.id].action != "" && t.open[f.id].action != f.action {
			t.note("ids repeat", l.number, "id %s", f.id)
		}
		const remembered = 50
		if len(t.ids) < remembered {
			t.ids = append(t.ids, f.id)
		} else {
			t.ids[t.idAt%remembered] = f.id
			t.idAt++
		}
		q := t.question(l)
		if len(t.open) >= mostOpen {
			clear(t.open)
			t.forgot = true
		}
		t.open[f.id] = q
		return
	}
	t.answers++
	q, known := t.open[f.id]
	delete(t.open, f.id)
	if !known {
		const opening = 30 // lines in which a log that begins in the middle answers what it does not hold
		if !t.forgot && l.number-t.firstLine > opening && !f.spoken {
			t.note("stray answer", l.number, "id %s", f.id)
		}
		return
	}
	if q.at.known() && l.at.known() {
		took := l.at.Sub(q.at.Time)
		t.slowest = max(t.slowest, took)
		const patience = 30 * time.Second // engineering judgement; the protocol sets none
		if took > patience && took < time.Hour {
			t.note("slow answer", l.number, "%s was answered after %v", q.action, quantity.Seconds(took.Seconds()))
		}
	}
	if f.kind == 4 {
		t.note("refusal", l.number, "%s was answered with %s %s", q.action, t.meaning(f.code), f.text)
		return
	}
	t.answered(q, l)
}

func (t *teller) out(name string) *outlet {
	o := t.outlets[name]
	if o == nil {
		if len(t.outlets) >= mostOutlets {
			clear(t.outlets)
		}
		o = &outlet{}
		t.outlets[name] = o
	}
	return o
}

// outletOf is the outlet a message is about.
func outletOf(p part) string {
	if w := p.in("connectorId").word(); w != "" {
		return w
	}
	if w := p.in("evseId").word(); w != "" {
		return w
	}
	return p.in("evse", "id").word()
}

// stamped takes the time a message of the point writes, and holds it against the
// log's.
func (t *teller) stamped(l logLine, text string) time.Time {
	at := ocpp.ReadTime(text)
	if at.IsZero() {
		return at
	}
	const longAgo = 2015 // before there was OCPP 1.6
	if at.Year() < longAgo {
		t.note("clock off", l.number, "it writes the year %d", at.Year())
		return at
	}
	t.clock.point(l, at)
	return at
}

// question looks at what one end asks or tells.
func (t *teller) question(l logLine) question {
	f, p := l.frame, l.frame.payload
	q := question{line: l.number, at: l.at, action: f.action, outlet: outletOf(p), session: p.in("transactionId").word(), spoken: f.spoken}
	q.card = p.in("idTag").word()
	if q.card == "" {
		q.card = p.in("idToken", "idToken").word()
	}
	if text := p.in("timestamp").word(); text != "" {
		t.stamped(l, text)
	}
	const longest16 = 20 // OCPP 1.6 schemas: idTag
	if tag := p.in("idTag").word(); len(tag) > longest16 {
		t.note("token too long", l.number, "%d letters", len(tag))
	}
	t.alive(l)
	switch f.action {
	case "BootNotification":
		t.booting(l)
		if p.in("chargingStation").none() {
			t.speaks(ocpp.V16)
		} else {
			t.speaks(ocpp.V201)
		}
	case "StatusNotification":
		t.status(l, q.outlet, p.in("status").word()+p.in("connectorStatus").word(), p.in("errorCode").word(), p.in("info").word(), p.in("vendorErrorCode").word())
	case "MeterValues":
		t.samples(l, p.in("meterValue"), q.outlet, q.session)
		if q.session == "-1" {
			t.note("no number", l.number, "%s", f.action)
		}
	case "TransactionEvent":
		t.speaks(ocpp.V201)
		t.event(l, p)
	case "StartTransaction":
		t.speaks(ocpp.V16)
		if n, ok := p.in("meterStart").number(); ok {
			q.meter = quantity.Known(n)
		}
		t.begun(l, q, "")
	case "StopTransaction":
		var end quantity.Maybe[float64]
		if n, ok := p.in("meterStop").number(); ok {
			end = quantity.Known(n)
		}
		t.samples(l, p.in("transactionData"), "", q.session)
		if q.session == "-1" {
			t.note("no number", l.number, "%s", f.action)
		}
		t.ended(l, q.session, p.in("reason").word(), end)
	case "SetChargingProfile":
		q.limit, q.purpose = t.profileSeen(l, p), purposeOf(profileOf(p).in("chargingProfilePurpose").word())
	case "ChangeConfiguration":
		q.word = p.in("key").word() + " to " + p.in("value").word()
		if ocpp.IsSecret(p.in("key").word()) {
			q.word = p.in("key").word()
		}
	case "SetVariables":
		q.word = p.in("setVariableData").first().in("variable", "name").word()
	case "TriggerMessage":
		q.word = p.in("requestedMessage").word()
	case "ChangeAvailability":
		q.word = p.in("type").word() + p.in("operationalStatus").word()
	case "FirmwareStatusNotification":
		if word := p.in("status").word(); strings.Contains(word, "Fail") || strings.Contains(word, "Invalid") {
			t.note("update failed", l.number, "%s", t.meaning(word))
		}
	case "DiagnosticsStatusNotification", "LogStatusNotification":
		if word := p.in("status").word(); strings.Contains(word, "Fail") || strings.Contains(word, "Permission") || strings.Contains(word, "BadMessage") {
			t.note("log not sent", l.number, "%s", t.meaning(word))
		}
	case "SecurityEventNotification":
		t.note("security event", l.number, "%s", t.meaning(p.in("type").word()))
	case "NotifyEvent":
		for e := range p.in("eventData").each {
			if strings.EqualFold(e.in("trigger").word(), "Alerting") {
				t.note("monitor", l.number, "%s.%s is %s", e.in("component", "name").word(), e.in("variable", "name").word(), e.in("actualValue").word())
			}
		}
	}
	return q
}

func (t *teller) speaks(v ocpp.Version) {
	if t.version == "" {
		t.version = v
	}
}

// alive looks for a silence that is too long, by the heartbeat that was told.
func (t *teller) alive(l logLine) {
	if !l.at.known() {
		return
	}
	gap := l.at.Sub(t.lastSpoken)
	const most = 3 // heartbeats in a row
	if !t.lastSpoken.IsZero() && t.beat >= time.Minute && gap > most*t.beat && gap < 30*24*time.Hour {
		t.note("silent", l.number, "nothing for %v, where a heartbeat was told every %v", quantity.Seconds(gap.Seconds()), quantity.Seconds(t.beat.Seconds()))
	}
	t.lastSpoken = l.at.Time
	if len(t.cards)+len(t.started) == 0 {
		return
	}
	const patience = 3 * time.Minute // engineering judgement: a time to plug in is a minute or two
	for card, one := range t.cards {
		if one.at.known() && l.at.Sub(one.at.Time) > patience {
			t.note("allowed but idle", one.line, "card %s", card)
			delete(t.cards, card)
		}
	}
	for card, one := range t.started {
		if one.at.known() && l.at.Sub(one.at.Time) > patience {
			t.note("start idle", one.line, "on card %s, and no session within %v", card, quantity.Seconds(patience.Seconds()))
			delete(t.started, card)
		}
	}
}

// booting looks at how often it introduces itself.
func (t *teller) booting(l logLine) {
	for _, s := range t.running {
		const justNow = 5 * time.Second
		if l.at.known() && s.at.known() && l.at.Sub(s.at.Time) < justNow {
			continue
		}
		t.note("restart in session", l.number, "session %s of line %d was running", s.id, s.line)
	}
	if !l.at.known() {
		return
	}
	if n := len(t.boots); n > 0 && t.told > 0 && l.at.Sub(t.boots[n-1]) < t.told/2 {
		t.note("boot hammering", l.number, "again after %v, told %v", quantity.Seconds(l.at.Sub(t.boots[n-1]).Seconds()), quantity.Seconds(t.told.Seconds()))
	}
	const kept, often, within = 20, 3, 15 * time.Minute // engineering judgement
	if len(t.boots) == kept {
		t.boots = t.boots[1:]
	}
	t.boots = append(t.boots, l.at.Time)
	if n := len(t.boots); t.told == 0 && n >= often && l.at.Sub(t.boots[n-often]) < within {
		t.note("restarts", l.number, "%d times within %v", often, quantity.Seconds(l.at.Sub(t.boots[n-often]).Seconds()))
	}
}

// status takes the status of an outlet.
func (t *teller) status(l logLine, name, status, code, info, vendor string) {
	o := t.out(name)
	if status == "Faulted" || code != "" && code != "NoError" {
		detail := strings.TrimSpace(status + " " + t.meaning(code) + " " + vendor + " " + info)
		n := t.note("faulted", l.number, "outlet %s: %s", name, detail)
		if code != "" && code != "NoError" && !slices.Contains(n.codes, code) && len(n.codes) < mostOutlets {
			n.codes = append(n.codes, code)
		}
		if o.session != nil {
			o.session.faultAt = l.number
			n.because = cmpOr(n.because, fmt.Sprintf("it came during session %s, begun on line %d", o.session.id, o.session.line))
		}
	}
	was := o.status
	if status == was {
		return
	}
	if s := o.session; s != nil {
		t.stateOf(l, s, status)
		const plugged = "Available"
		if status == plugged && was != "" && was != "Finishing" {
			t.note("never stopped", s.line, "session %s; on line %d its outlet says %s", s.id, l.number, status)
			t.forget(s)
		}
	} else if status == "Available" || status == "Preparing" {
		const most, within = 5, 5 * time.Minute // engineering judgement
		if o.flaps == 0 || l.at.known() && l.at.Sub(o.flapFrom.Time) > within {
			o.flaps, o.flapFrom = 0, l.at
		}
		if o.flaps++; o.flaps == most {
			t.note("pilot flaps", l.number, "outlet %s went between Available and Preparing %d times", name, most)
		}
		if status == "Available" && was != "" {
			for card, one := range t.cards {
				t.note("allowed but idle", one.line, "card %s", card)
				delete(t.cards, card)
			}
			for card, one := range t.started {
				t.note("start idle", one.line, "on card %s, and on line %d the outlet is Available again", card, l.number)
				delete(t.started, card)
			}
		}
	}
	if status == "Unavailable" {
		n := t.note("out of service", l.number, "outlet %s", name)
		if t.outOfService > 0 {
			n.because = fmt.Sprintf("it was ordered so on line %d", t.outOfService)
		}
	}
	o.status, o.since, o.statusLine, o.zero, o.unasked = status, l.at, l.number, 0, 0
}

// stateOf takes the charging state of a session, in the words of either version.
func (t *teller) stateOf(l logLine, s *session, state string) {
	switch state {
	case "SuspendedEVSE":
		if s.heldAt == 0 {
			s.heldAt = l.number
		}
	case "SuspendedEV":
		if s.waitsAt == 0 {
			s.waitsAt = l.number
		}
	}
	if state == "Charging" && strings.HasPrefix(s.state, "Suspended") {
		const most = 5 // engineering judgement
		if s.swings++; s.swings == most {
			t.note("swings", l.number, "session %s was interrupted %d times", s.id, most)
		}
	}
	if state != "" {
		s.state = state
	}
}

// event takes a TransactionEvent.
func (t *teller) event(l logLine, p part) {
	id := p.in("transactionInfo", "transactionId").word()
	out := p.in("evse", "id").word()
	if n, ok := p.in("seqNo").number(); ok && id != "" {
		if len(t.sequels) > mostSessions {
			clear(t.sequels)
		}
		if last, known := t.sequels[id]; known && int(n) > last+1 {
			t.note("events missing", l.number, "session %s goes from %d to %d", id, last, int(n))
		}
		t.sequels[id] = int(n)
	}
	if p.in("offline").word() == "" && string(p.in("offline").raw()) == "true" {
		t.tallies.late++
	}
	values := p.in("meterValue")
	switch p.in("eventType").word() {
	case "Started":
		q := question{line: l.number, at: l.at, card: p.in("idToken", "idToken").word(), outlet: out}
		if e, ok := registerOf(values, false); ok {
			q.meter = quantity.Known(e)
		}
		t.begun(l, q, id)
	case "Ended":
		var end quantity.Maybe[float64]
		if e, ok := registerOf(values, true); ok {
			end = quantity.Known(e)
		}
		t.samples(l, values, out, id)
		t.ended(l, id, p.in("transactionInfo", "stoppedReason").word(), end)
		return
	}
	if s := t.running[id]; s != nil {
		t.stateOf(l, s, p.in("transactionInfo", "chargingState").word())
		if out == "" {
			out = s.outlet
		}
	}
	t.samples(l, values, out, id)
}

// registerOf is the register in meter values: the first, or the last.
func registerOf(values part, last bool) (wh float64, ok bool) {
	for v := range values.each {
		s := sampleOf(v)
		if e, known := s.Energy.Get(); known && (last || !ok) {
			wh, ok = float64(e), true
		}
	}
	return wh, ok
}

// begun takes the begin of a session; without a number it is one whose answer is
// still to come.
func (t *teller) begun(l logLine, q question, id string) {
	delete(t.cards, q.card)
	delete(t.started, q.card)
	if len(t.running) >= mostSessions {
		clear(t.running)
	}
	s := &session{id: id, card: q.card, outlet: q.outlet, line: l.number, at: l.at, from: q.meter}
	o := t.out(q.outlet)
	if old := o.session; old != nil && old.id != id {
		t.note("never stopped", old.line, "session %s; on line %d another begins on its outlet", cmpOr(old.id, "without a number"), l.number)
		t.forget(old)
	}
	if id == "" {
		id = "outlet " + q.outlet
	}
	o.session, t.running[id] = s, s
	o.zero, o.stands = 0, 0
}

// numbered gives a session the number it was answered with.
func (t *teller) numbered(l logLine, q question, id string) {
	key := "outlet " + q.outlet
	s := t.running[key]
	if s == nil {
		return
	}
	delete(t.running, key)
	if other := t.running[id]; other != nil && id != "0" {
		t.note("number twice", l.number, "session %s of line %d has the same number", id, other.line)
	}
	if id == "0" {
		t.note("number nought", l.number, "StartTransaction of line %d", q.line)
	}
	s.id = id
	t.running[id] = s
}

func (t *teller) forget(s *session) {
	for id, one := range t.running {
		if one == s {
			delete(t.running, id)
		}
	}
	for _, o := range t.outlets {
		if o.session == s {
			o.session = nil
		}
	}
	delete(t.limits, ocpp.OneSession)
}

// ended takes the end of a session.
func (t *teller) ended(l logLine, id, reason string, end quantity.Maybe[float64]) {
	s := t.running[id]
	if s == nil && len(t.running) == 1 { // its number was not told
		for _, only := range t.running {
			s = only
		}
	}
	why := ""
	switch reason {
	case "PowerLoss":
		t.note("supply lost", l.number, "session %s", id)
	case "EmergencyStop":
		t.note("emergency stop", l.number, "session %s", id)
	case "HardReset", "SoftReset", "Reboot", "ImmediateReset":
		t.note("ended by restart", l.number, "session %s: %s", id, reason)
	case "DeAuthorized", "DeAuthorised":
		n := t.note("ended for the card", l.number, "session %s", id)
		if s != nil && t.refused[s.card] > 0 {
			n.because = fmt.Sprintf("the card %s was refused on line %d", s.card, t.refused[s.card])
		}
		why = "the card"
	case "Other", "GroundFault", "OvercurrentFault", "PowerQuality", "Timeout", "ReservationTerminated", "MasterPass", "UnlockCommand":
		n := t.note("ended oddly", l.number, "session %s: %s", id, t.meaning(reason))
		if s != nil && s.faultAt > 0 {
			n.because = fmt.Sprintf("a fault was told on line %d", s.faultAt)
		}
	}
	if s == nil {
		return
	}
	from, a := s.from.Get()
	to, b := end.Get()
	switch {
	case a && b && to < from:
		t.note("energy falls", l.number, "session %s from %v to %v", id, quantity.WattHours(from), quantity.WattHours(to))
	case a && b && to == from && !s.flowed && why == "":
		t.nothing(l, s)
	case a && b:
		t.tallies.energy += to - from
	}
	if a && b && to > from {
		t.tallies.sessions++
	}
	const long = 20 * time.Minute
	if s.samples == 0 && s.at.known() && l.at.known() && l.at.Sub(s.at.Time) > long {
		t.note("no meter values", s.line, "session %s ran for %v", id, quantity.Seconds(l.at.Sub(s.at.Time).Seconds()))
	}
	t.forget(s)
}

// nothing says why a session charged nothing.
func (t *teller) nothing(l logLine, s *session) {
	switch {
	case s.heldAt > 0:
		n := t.note("held by the point", s.heldAt, "session %s, and nothing was charged", s.id)
		for _, lim := range t.limits {
			if lim.zero {
				n.because = fmt.Sprintf("a limit below 6 A was set on line %d", lim.line)
			}
		}
	case s.waitsAt > 0:
		t.note("vehicle waits", s.waitsAt, "session %s, and nothing was charged", s.id)
	case s.faultAt > 0:
		t.note("nothing charged", s.line, "session %s", s.id).because = fmt.Sprintf("a fault was told on line %d", s.faultAt)
	default:
		t.note("nothing charged", s.line, "session %s, ended on line %d", s.id, l.number)
	}
}

// answered looks at an answer with its question.
func (t *teller) answered(q question, l logLine) {
	p := l.frame.payload
	status := p.in("status").word()
	if text := p.in("currentTime").word(); text != "" {
		if at := ocpp.ReadTime(text); !at.IsZero() {
			t.clock.central(l, at)
		}
	}
	switch q.action {
	case "BootNotification":
		interval, _ := p.in("interval").number()
		t.told = 0
		switch status {
		case "Pending", "Rejected":
			if t.pendingAt == 0 {
				t.pendingAt = l.number
			}
			if interval > 0 && interval < 1e6 {
				t.told = time.Duration(interval) * time.Second
			}
			t.note("boot pending", t.pendingAt, "%s", status)
		case "Accepted":
			t.tallies.accepted++
			if interval > 0 && interval < 1e6 {
				t.beat = time.Duration(interval) * time.Second
			}
			if t.found["boot pending"] != nil {
				delete(t.found, "boot pending")
				t.note("boot pending first", t.pendingAt, "accepted on line %d", l.number)
			}
		}
	case "Heartbeat":
		t.tallies.beats++
	case "Authorize":
		t.card(q, l, cmpOr(p.in("idTagInfo", "status").word(), p.in("idTokenInfo", "status").word()), true)
	case "StartTransaction":
		if id := p.in("transactionId").word(); id != "" {
			t.numbered(l, q, id)
		}
		t.card(q, l, p.in("idTagInfo", "status").word(), false)
	case "TransactionEvent":
		t.card(q, l, p.in("idTokenInfo", "status").word(), false)
	case "SetChargingProfile":
		t.profileAnswered(q, l, status)
	case "ClearChargingProfile":
		if status == "Accepted" {
			clear(t.limits)
		}
	case "RemoteStartTransaction", "RequestStartTransaction":
		t.startAnswered(q, l, status)
	case "RemoteStopTransaction", "RequestStopTransaction":
		if status == "Rejected" {
			n := t.note("stop refused", l.number, "session %s", q.session)
			if t.running[q.session] == nil {
				var there []string
				for id := range t.running {
					there = append(there, id)
				}
				slices.Sort(there)
				n.because = "no session of that number runs in this log"
				if len(there) > 0 {
					n.because += ": " + strings.Join(there[:min(3, len(there))], ", ") + " does"
				}
			}
		}
	case "ChangeConfiguration":
		switch status {
		case "Rejected", "NotSupported":
			t.note("setting refused", l.number, "%s: %s", q.word, t.meaning(status))
		case "RebootRequired":
			t.note("setting needs restart", l.number, "%s", q.word)
		}
	case "SetVariables":
		for one := range p.in("setVariableResult").each {
			switch word := one.in("attributeStatus").word(); word {
			case "Accepted", "":
			case "RebootRequired":
				t.note("setting needs restart", l.number, "%s", one.in("variable", "name").word())
			default:
				t.note("setting refused", l.number, "%s: %s", one.in("variable", "name").word(), t.meaning(word))
			}
		}
	case "ChangeAvailability":
		if status != "Rejected" {
			t.outOfService = 0
			if strings.HasPrefix(q.word, "Inoperative") {
				t.outOfService = q.line
			}
			return
		}
		t.note("order refused", l.number, "%s %s: %s", q.action, q.word, status)
	case "DataTransfer":
		if strings.HasPrefix(status, "Unknown") || status == "Rejected" {
			t.note("vendor's own", l.number, "%s", status)
		}
	case "UnlockConnector":
		if status != "Unlocked" && status != "" {
			t.note("order refused", l.number, "%s: %s", q.action, t.meaning(status))
		}
	default:
		switch status {
		case "Rejected", "Failed", "NotSupported", "NotImplemented", "VersionMismatch", "Faulted", "Occupied", "Unavailable":
			t.note("order refused", l.number, "%s %s: %s", q.action, q.word, t.meaning(status))
		case "Accepted":
			t.tallies.orders++
		}
	}
}

// card takes what was said of a card.
func (t *teller) card(q question, l logLine, word string, asked bool) {
	switch word {
	case "":
	case "Accepted":
		if asked {
			if len(t.cards) > mostSessions {
				clear(t.cards)
			}
			busy := false // it ends a session
			for _, s := range t.running {
				busy = busy || strings.EqualFold(s.card, q.card)
			}
			if !busy {
				t.cards[q.card] = idle{line: l.number, at: l.at}
			}
		}
	case "ConcurrentTx":
		n := t.note("card held", l.number, "card %s", q.card)
		if n.because == "" {
			for _, s := range t.running {
				if strings.EqualFold(s.card, q.card) && s.line != q.line {
					n.because = fmt.Sprintf("session %s, begun on line %d, is open and holds the card", cmpOr(s.id, "without a number"), s.line)
				}
			}
		}
		t.remember(q.card, l.number)
	default:
		t.note("card refused", l.number, "%s: %s", q.card, t.meaning(word))
		t.remember(q.card, l.number)
	}
}

func (t *teller) remember(card string, line int) {
	if len(t.refused) > mostSessions {
		clear(t.refused)
	}
	t.refused[card] = line
}

// startAnswered takes the answer to a start from afar.
func (t *teller) startAnswered(q question, l logLine, status string) {
	if status == "Accepted" {
		if len(t.started) > mostSessions {
			clear(t.started)
		}
		if o := t.out(q.outlet); o.session == nil && t.running["outlet "+q.outlet] == nil {
			t.started[q.card] = idle{line: q.line, at: l.at, out: q.outlet}
		}
		return
	}
	if status != "Rejected" {
		return
	}
	n := t.note("start refused", l.number, "on card %s", q.card)
	if n.because != "" {
		return
	}
	o := t.out(q.outlet)
	if q.outlet == "" && len(t.outlets) == 2 { // itself and one more
		for _, only := range t.outlets {
			if only.status != "" {
				o = only
			}
		}
	}
	switch {
	case o.session != nil:
		n.because = fmt.Sprintf("session %s, begun on line %d, is open on that outlet", cmpOr(o.session.id, "without a number"), o.session.line)
	case t.outOfService > 0:
		n.because = fmt.Sprintf("it was taken out of service on line %d", t.outOfService)
	case o.status == "Faulted" || o.status == "Unavailable" || o.status == "Reserved" || o.status == "Finishing":
		n.because = fmt.Sprintf("its outlet said %s on line %d", o.status, o.statusLine)
	case o.status == "Available":
		n.because = fmt.Sprintf("its outlet said Available on line %d: nobody is plugged in", o.statusLine)
	}
}

// sampleOf reads one meter value.
func sampleOf(v part) *ocpp.Sample {
	s := &ocpp.Sample{}
	for one := range v.in("sampledValue").each {
		s.Add(measuredOf(one))
	}
	return s
}

func measuredOf(one part) ocpp.Measured {
	m := ocpp.Measured{Value: one.in("value").word(), Measurand: one.in("measurand").word(), Phase: one.in("phase").word(), Unit: one.in("unit").word()}
	if of := one.in("unitOfMeasure"); !of.none() {
		m.Unit = of.in("unit").word()
		if by, ok := of.in("multiplier").number(); ok && by != 0 {
			if n, ok := one.in("value").number(); ok {
				m.Value = strconv.FormatFloat(n*math.Pow(10, by), 'g', -1, 64)
			}
		}
	}
	if where := one.in("location").word(); where != "" && where != "Outlet" {
		m.Measurand = "" // of the inlet, the vehicle, the body: another meter
		m.Value = ""
	}
	return m
}

// samples looks at meter values.
func (t *teller) samples(l logLine, values part, name, id string) {
	for v := range values.each {
		t.sample(l, v, name, id)
	}
}

func (t *teller) sample(l logLine, v part, name, id string) {
	var at time.Time
	if text := v.in("timestamp").word(); text != "" {
		at = t.stamped(l, text)
	}
	s := t.running[id]
	if s == nil {
		s = t.out(name).session
	}
	if s != nil && name == "" {
		name = s.outlet
	}
	o := t.out(name)
	one := &ocpp.Sample{}
	for m := range v.in("sampledValue").each {
		read := measuredOf(m)
		if read.Value == "" {
			continue
		}
		one.Add(read)
		n, ok := m.in("value").number()
		switch {
		case !ok:
		case n < 0 && strings.HasSuffix(read.Measurand, ".Import"):
			t.note("negative", l.number, "%s %s", read.Measurand, read.Value)
		case read.Measurand == "Temperature":
			const hot = 85 // °C: terminals and insulation are rated for 70 or 90; engineering judgement
			if n >= hot && n < 200 {
				t.note("hot", l.number, "%v °C", n)
			}
		}
	}
	t.tallies.samples++
	if s != nil {
		s.samples++
	}
	t.volts(l, one)
	if e, ok := one.Energy.Get(); ok {
		t.register(l, o, float64(e), at, one)
	}
	i, ok := one.Greatest()
	if !ok {
		return
	}
	if s != nil {
		s.flowed = s.flowed || i > 1
	}
	charging := o.status == "Charging" || s != nil && s.state == "Charging"
	switch {
	case charging && i == 0:
		o.zero++
		if o.zero == mostZero {
			t.note("zero meter", l.number, "%d meter values of nought while charging", mostZero)
		}
	case i > 0:
		o.zero = 0
	}
	if i > 2 && (o.status == "SuspendedEVSE" || o.status == "Available") && s == o.session {
		if o.unasked++; o.unasked == mostOver {
			t.note("flows unasked", l.number, "%v while outlet %s says %s", i, name, o.status)
		}
	}
	known := 0
	for _, c := range one.Current {
		if c.IsKnown() {
			known++
		}
	}
	if known == 3 && one.Current[0].Or(0) > 1 && one.Current[1].Or(0) < 0.5 && one.Current[2].Or(0) < 0.5 {
		t.note("one line", l.number, "%v on L1", one.Current[0])
	}
	if w, told := one.Power.Get(); told {
		if vi, both := one.Product(); both && vi > 1000 && (w < vi*6/10 || w > vi*13/10) && linesOf(one) {
			t.note("power disagrees", l.number, "it tells %v where voltage times current is %v", w, vi)
		}
	}
	t.obeys(l, i)
}

// linesOf reports whether every line that has a current has a voltage.
func linesOf(s *ocpp.Sample) bool {
	for k := range s.Current {
		if s.Current[k].IsKnown() != s.Voltage[k].IsKnown() {
			return false
		}
	}
	return true
}

// volts looks at the voltage of each line.
//
//	source  SI 2002/2665 reg 27: 230 V, 10 % more or 6 % less
func (t *teller) volts(l logLine, s *ocpp.Sample) {
	const low, high, there, between = 230 * 0.94, 230 * 1.10, 100, 320
	for k, v := range s.Voltage {
		u, ok := v.Get()
		switch {
		case !ok || u < there || u > between:
		case u < low:
			t.note("low volts", l.number, "%v on L%d", u, k+1)
		case u > high:
			t.note("high volts", l.number, "%v on L%d", u, k+1)
		}
	}
}

// register looks at the energy register of an outlet: what came late is not held
// against what was there before it.
func (t *teller) register(l logLine, o *outlet, wh float64, at time.Time, s *ocpp.Sample) {
	late := !at.IsZero() && at.Before(o.registerAt)
	i, flows := s.Greatest()
	if late {
		t.tallies.late++
		return
	}
	if o.register > 0 && wh < o.register-1 && (at.IsZero() || at.After(o.registerAt)) {
		t.note("energy falls", l.number, "from %v to %v", quantity.WattHours(o.register), quantity.WattHours(wh))
	}
	const most, least = 5, 5 // meter values; A
	if flows && i > least && wh == o.register {
		if o.stands++; o.stands == most {
			t.note("register stands", l.number, "%v over %d meter values with %v", quantity.WattHours(wh), most, i)
		}
	} else {
		o.stands = 0
	}
	o.register = wh
	if !at.IsZero() {
		o.registerAt = at
	}
}

// How many meter values make a sign: engineering judgement.
const (
	mostOver = 3
	mostZero = 3
)

func cmpOr(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// end tells what only shows once the log has ended.
func (t *teller) end() {
	const tail, moment = 20, 60 * time.Second
	near := func(line int, at time.Time) bool {
		return t.lastLine-line <= tail || !at.IsZero() && t.last.known() && t.last.Sub(at) < moment
	}
	oneSided := t.answers == 0 && t.questions > 1
	if oneSided {
		t.note("one side", t.firstLine, "%d questions and no answer", t.questions)
	}
	for _, q := range t.open {
		if oneSided || near(q.line, q.at.Time) && t.messages > 1 || q.spoken {
			continue
		}
		n := t.found["no answer"]
		if n == nil || q.line < n.line {
			times := 0
			if n != nil {
				times = n.times
			}
			t.found["no answer"] = &notice{line: q.line, times: times, detail: q.action}
		}
		t.found["no answer"].times++
	}
	for _, s := range t.running {
		long := s.at.known() && t.last.known() && t.last.Sub(s.at.Time) > 10*time.Minute
		switch {
		case long && !s.flowed && s.heldAt > 0:
			t.nothing(logLine{number: t.lastLine}, s)
		case long && !s.flowed && s.waitsAt > 0:
			t.nothing(logLine{number: t.lastLine}, s)
		default:
			t.note("open at the end", s.line, "session %s", cmpOr(s.id, "without a number"))
		}
	}
	if n := t.found["unreadable"]; n != nil && t.cutLine > 0 && n.times == 1 && t.lastLine-n.line <= 1 {
		delete(t.found, "unreadable")
		t.note("ends in the middle", n.line, "%s", n.detail)
	}
	for _, lim := range t.limits {
		t.judgeLimit(lim)
	}
	t.clock.judge(t)
}
