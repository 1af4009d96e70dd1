package web

// The charging records of a job: sessions and a tariff go in, a statement
// comes out. The upload is answered and forgotten.

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
	"strings"
	"time"
	_ "time/tzdata" // so that every zone is known wherever this runs

	"chargewright/finding"
	"chargewright/ledger"
	"chargewright/paper"
)

// asked is what the form of the page holds.
type asked struct {
	By, Then       string
	From, To       string
	Zone, Unit     string
	Record, Tariff table
}

// account is the ledger of the uploaded records and what it says.
type account struct {
	ledger *ledger.Ledger
	wanted ledger.Wanted
	report ledger.Report
}

func (s *Server) charging(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	return s.renderCharging(w, r, o, http.StatusOK, asked{By: string(ledger.ByMonth), Zone: "Europe/London"}, nil, nil)
}

// chargingStatement answers an upload with its statement: as a page, or as the
// file whose button was pressed.
func (s *Server) chargingStatement(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	a, err := readAsked(r)
	var acc *account
	if err == nil {
		acc, err = a.account(o, s.Now())
	}
	if err != nil {
		status, lines := explain(err)
		if status == http.StatusInternalServerError {
			return err
		}
		return s.renderCharging(w, r, o, status, a, lines, nil)
	}
	if name := r.PostFormValue("as"); name != "" {
		return acc.download(w, o, name)
	}
	return s.renderCharging(w, r, o, http.StatusOK, a, nil, acc)
}

func (s *Server) renderCharging(w http.ResponseWriter, r *http.Request, o *opened, status int, a asked, problems []string, acc *account) error {
	page := struct {
		frame
		Asked    asked
		Keys     []ledger.Key
		Units    []string
		Rated    []string
		Problems []string
		Sheet    *paper.Statement
		Weeks    []template.HTML
		Findings []finding.Finding
		Files    []statementFile
		Most     int
	}{frame: o.frame(s, r, "Charging records", "more"), Asked: a, Keys: ledger.Keys, Units: []string{"kWh", "Wh"}, Rated: o.rated(), Problems: problems, Most: mostTable >> 20}
	if acc != nil {
		page.Sheet, page.Files = acc.paper(o), statementFiles
		for _, scene := range page.Sheet.Weeks {
			page.Weeks = append(page.Weeks, picture(scene, false))
		}
		page.Findings = page.Sheet.Findings
		finding.ByUrgency(page.Findings)
	}
	return render(w, status, "charging.html", page)
}

// readAsked reads the form. What could be read is returned with the error.
func readAsked(r *http.Request) (asked, error) {
	record, err := tableOf(r, "record") // first: it reads the form
	a := asked{By: r.PostFormValue("by"), Then: r.PostFormValue("then"), From: r.PostFormValue("from"), To: r.PostFormValue("to"),
		Zone: strings.TrimSpace(r.PostFormValue("zone")), Unit: r.PostFormValue("unit"), Record: record}
	if err != nil {
		return a, err
	}
	if a.Tariff, err = tableOf(r, "tariff"); err != nil {
		return a, err
	}
	if a.Record.Name == "" {
		return a, refuse(http.StatusUnprocessableEntity, "Choose the table of sessions first.")
	}
	return a, nil
}

// wrong is a refusal of what was entered.
func wrong(err error) error { return refuse(http.StatusUnprocessableEntity, "%v", err) }

// wantedOf reads what the statement is wanted of.
func (a asked) wantedOf() (w ledger.Wanted, err error) {
	keys := a.By
	if a.Then != "" {
		keys += "," + a.Then
	}
	if w.By, err = ledger.ReadKeys(keys); err != nil {
		return w, wrong(err)
	}
	for _, day := range []struct {
		text, label string
		to          *int64
	}{{a.From, "First day", &w.From}, {a.To, "Last day", &w.To}} {
		if day.text == "" {
			continue
		}
		if *day.to, err = ledger.ReadDay(day.text); err != nil {
			return w, wrong(fmt.Errorf("%s: %w", day.label, err))
		}
	}
	if a.Tariff.Name != "" {
		name := strings.TrimSuffix(a.Tariff.Name, ".csv")
		if w.Tariff, err = ledger.ReadTariff(a.Tariff.Name, name, bytes.NewReader(a.Tariff.text)); err != nil {
			return w, wrong(err)
		}
	}
	return w, nil
}

// account reads the records by the job's ratings and makes out the statement.
func (a asked) account(o *opened, made time.Time) (*account, error) {
	zone, err := time.LoadLocation(a.Zone)
	if err != nil || a.Zone == "" || a.Zone == "Local" {
		return nil, refuse(http.StatusUnprocessableEntity, "Time zone is %q: the name of one is wanted, like Europe/London or Europe/Oslo.", a.Zone)
	}
	made = made.In(zone)
	w, err := a.wantedOf()
	if err != nil {
		return nil, err
	}
	settings := ledger.Settings{Zone: zone, Made: made, Unit: a.Unit, Ratings: map[string]ledger.Rating{}}
	for _, p := range o.Job.Points {
		if power, known := p.Power.Get(); known {
			settings.Ratings[p.Name] = ledger.Rating(power)
		}
	}
	l := ledger.New(settings)
	if err := l.ReadRecord(a.Record.Name, bytes.NewReader(a.Record.text)); err != nil {
		return nil, wrong(err)
	}
	st, err := l.Statement(w)
	if err != nil {
		return nil, wrong(err)
	}
	acc := &account{ledger: l, wanted: w, report: ledger.Report{Made: made.Format(time.RFC3339), Invented: o.Job.Invented, Statement: st, Findings: l.Health()}}
	acc.report.Take(l)
	return acc, nil
}

// rated says which rating each point has.
func (o *opened) rated() []string {
	var out []string
	for _, p := range o.Job.Points {
		rating := "not known"
		if power, known := p.Power.Get(); known {
			rating = power.String()
		}
		out = append(out, p.Name+": "+rating)
	}
	return out
}
