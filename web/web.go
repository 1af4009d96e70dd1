// Package web is the job on a screen: pages for a phone held in one hand, and
// the same facts as JSON for a program.
//
// The pages are plain net/http handlers and html/template. They run on a
// computer and, compiled to WebAssembly, in the browser's own worker when
// there is no computer in reach: the same handlers, the same templates, another
// door to the journal. No state is held between two requests, since a browser
// stops an idle worker when it likes.
//
// Nothing here calculates and no verdict is worded here: findings, expectations
// and drawings are laid out as they come.
package web

import (
	"context"
	"log/slog"
	"net/http"
	"time"

	"chargewright/begin"
	"chargewright/store"

	"github.com/google/uuid"
)

// Server answers for one journal.
type Server struct {
	Store store.Store
	Now   func() time.Time
	Log   *slog.Logger
	// Who names the person at work, or nobody.
	Who func(*http.Request) string
	// SetWho keeps the name of the person at work; nil where accounts do.
	SetWho func(w http.ResponseWriter, name string) error
	// SignerOf says whose device signs with a key; nil where there are no accounts.
	SignerOf func(ctx context.Context, key string) (person string, err error)
	// Sign signs what is entered on a device; nil where the journal of all is.
	Sign func(context.Context, store.Act) store.Act
	// AwayFor is how long a device may be used without the server; 0 for no end.
	AwayFor time.Duration
	// Ends says until when this device may be used without the server; nil where
	// that has no end.
	Ends func(context.Context) (time.Time, bool)
	// Before stands before the pages of a device; nil elsewhere.
	Before func(pages http.Handler) http.Handler
	// Issuer issues certificates; nil where the firm's key is not.
	Issuer Issuer
	// Templates are what a job may begin from; nil for those of the program.
	Templates []begin.Template
	// Commissioner runs charge points; nil where none can be reached.
	Commissioner Commissioner
	// Meters reads meters; nil where none can be reached.
	Meters Meters
	// Away is set in the browser's own worker: what waits to be sent.
	Away func() (waiting int)
	// Held says which photos have their picture on the device; nil where all do.
	Held func(context.Context) (map[string]store.Held, error)
}

// Handler returns the pages and the programming interface.
func (s *Server) Handler() http.Handler {
	mux := http.NewServeMux()
	for _, route := range s.pages() {
		mux.Handle(route.pattern, s.Page(route.answer))
	}
	for _, route := range s.api() {
		mux.Handle(route.Method+" "+route.Path, s.Data(route.answer))
	}
	nothing := func(http.ResponseWriter, *http.Request) error { return store.ErrNotFound }
	mux.Handle("/", s.Page(nothing))
	mux.Handle("/api/", s.Data(nothing))
	s.files(mux)
	if s.Before != nil {
		return s.Before(mux)
	}
	return mux
}

// route is one line of the list of pages.
type route struct {
	pattern string
	answer  func(http.ResponseWriter, *http.Request) error
}

// pages is every page there is.
func (s *Server) pages() []route {
	return []route{
		{"GET /{$}", s.jobs},
		{"POST /jobs", s.newJob},
		{"POST /jobs/bring", s.bringJob},
		{"GET /search", s.search},
		{"GET /me", s.me},
		{"POST /me", s.setMe},
		{"GET /away", s.away},
		{"GET /reckon", s.reckon},
		{"POST /reckon", s.reckonedJob},

		{"GET /jobs/{job}", s.line},
		{"GET /jobs/{job}/next", s.next},
		{"GET /jobs/{job}/rules", s.rules},
		{"GET /jobs/{job}/rests", s.rests},
		{"GET /jobs/{job}/parts", s.parts},
		{"GET /jobs/{job}/sheet", s.sheet},
		{"POST /jobs/{job}/item", s.addItem},
		{"POST /jobs/{job}/item/remove", s.removeItem},
		{"POST /jobs/{job}/item/rename", s.renameItem},
		{"GET /jobs/{job}/fill", s.fill},
		{"POST /jobs/{job}/fill", s.enterFill},
		{"POST /jobs/{job}/seen", s.enterSeen},
		{"GET /jobs/{job}/judgements", s.judgements},
		{"POST /jobs/{job}/judgements", s.enterJudgements},
		{"GET /jobs/{job}/add", s.add},
		{"POST /jobs/{job}/add", s.enterAdd},
		{"GET /jobs/{job}/fact", s.fact},
		{"POST /jobs/{job}/fact", s.enterFact},

		{"GET /jobs/{job}/readings", s.readings},
		{"GET /jobs/{job}/readings/table", s.readingTable},
		{"POST /jobs/{job}/readings/table", s.enterReadingTable},
		{"GET /jobs/{job}/reading", s.reading},
		{"GET /jobs/{job}/reading/judge", s.judgeReading},
		{"GET /jobs/{job}/why", s.why},
		{"POST /jobs/{job}/reading", s.enterReading},
		{"GET /jobs/{job}/round", s.round},
		{"POST /jobs/{job}/round", s.enterRound},

		{"GET /jobs/{job}/inspections", s.inspections},
		{"POST /jobs/{job}/inspections", s.enterInspections},

		{"GET /jobs/{job}/commissioning", s.commissioning},
		{"POST /jobs/{job}/commissioning", s.beginCommissioning},
		{"POST /jobs/{job}/commissioning/end", s.endCommissioning},
		{"GET /jobs/{job}/commissioning/evidence", s.commissioningEvidence},
		{"GET /jobs/{job}/commissioning/messages", s.commissioningMessages},
		{"GET /commissioning/certificate", s.linkCertificate},
		{"GET /verify", s.verify},
		{"POST /verify", s.verifyFiles},

		{"GET /jobs/{job}/photos", s.photosPage},
		{"POST /jobs/{job}/photo", s.addPhoto},
		{"GET /jobs/{job}/photo/{act}", s.photo},
		{"POST /jobs/{job}/note", s.addNote},

		{"GET /jobs/{job}/choose", s.choose},
		{"POST /jobs/{job}/choose", s.applyChoice},
		{"GET /jobs/{job}/options", s.options},
		{"GET /jobs/{job}/earthing", s.earthing},
		{"GET /jobs/{job}/route", s.route},
		{"POST /jobs/{job}/route", s.enterLengths},
		{"GET /jobs/{job}/flow", s.flow},

		{"GET /jobs/{job}/demand", s.demand},
		{"POST /jobs/{job}/demand", s.workOutDemand},
		{"GET /jobs/{job}/limit", s.limit},
		{"POST /jobs/{job}/limit", s.runLimit},
		{"GET /jobs/{job}/pilot", s.pilot},
		{"POST /jobs/{job}/pilot", s.judgePilot},
		{"POST /jobs/{job}/pilot/keep", s.keepPilot},
		{"GET /jobs/{job}/hear", s.hear},
		{"POST /jobs/{job}/hear", s.tellLog},
		{"GET /jobs/{job}/meter", s.meter},
		{"POST /jobs/{job}/meter", s.readMeter},
		{"GET /jobs/{job}/clamp", s.clamp},
		{"POST /jobs/{job}/clamp", s.proveClamp},
		{"GET /jobs/{job}/charging", s.charging},
		{"POST /jobs/{job}/charging", s.chargingStatement},
		{"GET /jobs/{job}/pictures", s.pictures},
		{"GET /jobs/{job}/picture/{name}", s.picture},
		{"GET /jobs/{job}/papers", s.papers},
		{"GET /jobs/{job}/certificate", s.certificate},
		{"POST /jobs/{job}/issue", s.issue},
		{"GET /jobs/{job}/issued/{name}", s.issuedFile},
		{"GET /jobs/{job}/papers/{name}", s.paper},
		{"GET /jobs/{job}/file", s.jobFile},
		{"GET /jobs/{job}/parcel", s.parcel},

		{"GET /jobs/{job}/history", s.history},
		{"POST /jobs/{job}/undo", s.undo},
		{"GET /jobs/{job}/compare", s.compare},
		{"GET /jobs/{job}/differences", s.differences},
		{"POST /jobs/{job}/settle", s.settle},
	}
}

// newID returns an ID for an act or a job: a UUID of version 7 (RFC 9562),
// which sorts by the time it was made.
func newID() string { return uuid.Must(uuid.NewV7()).String() }

// Stamp is a time as the journal writes it.
func Stamp(t time.Time) string { return t.UTC().Format("2006-01-02T15:04:05.000Z07:00") }
