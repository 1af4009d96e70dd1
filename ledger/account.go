package ledger

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"chargewright/finding"
	"chargewright/quantity"
)

// Asked is what a statement of charging is asked for. Words are as a
// person writes them; none is what is not asked.
type Asked struct {
	Place    string    // the site
	Invented bool      // it is a made-up one
	Now      time.Time // when it is asked

	Records     []Table // of sessions, or messages between points and their central system
	Tariff      Table
	Then        Table // the tariff it is compared with
	Cards       Table
	CO2         Table
	Surplus     Table
	Journeys    Table
	Mileage     Table
	SiteMeter   Table
	Inspections Table

	By         string // "month,person"
	Only       []Selected
	From, To   string // days
	Period     string // a month, a year or a tax year, instead
	Date       string // of the statement; now where it is not said
	Zone       string
	Schedule   string
	Economy    string
	Columns    map[string]string // the table's name of a column, by field
	Unit       string
	MonthFirst bool
	Point      string
	Ratings    map[string]Rating
	Outlets    map[string]int
}

// Account is what the records come to.
type Account struct {
	Ledger *Ledger
	Report Report

	wanted wanted
	place  string
}

// Settings is what a reader of the records must know, as far as it can be used.
func (s Asked) Settings() (Settings, error) {
	out := Settings{Made: s.Now, Unit: s.Unit, Point: s.Point, MonthFirst: s.MonthFirst, Columns: s.Columns, Ratings: s.Ratings, Outlets: s.Outlets}
	zone, err := Zone("zone", s.Zone)
	if err != nil {
		zone = time.UTC
	}
	out.Zone, out.Made = zone, s.Now.In(zone)
	if s.Date != "" {
		day, wrong := time.ParseInLocation(time.DateOnly, s.Date, zone)
		if wrong != nil {
			err = errors.Join(err, fault("date", "%q is no date: year, month and day are wanted, like 2026-11-25", s.Date))
		} else {
			out.Made = day.Add(24*time.Hour - time.Minute) // all of that day may have been charged
		}
	}
	for field, column := range s.Columns {
		if !slices.Contains(FieldNames(), field) {
			err = errors.Join(err, fault("column", "nothing is called %q that the column %q could say; what can be said is %s", field, column,
				strings.Join(FieldNames(), ", ")))
		}
	}
	return out, err
}

// faults gathers everything that is wrong, so that it is said in one pass.
type faults []error

func (f *faults) add(err error) bool {
	if err != nil {
		*f = append(*f, err)
	}
	return err == nil
}

// named gives an error of the ledger its field.
func (f *faults) named(field string, err error) bool {
	if err != nil {
		err = &wordFault{field, err}
	}
	return f.add(err)
}

// Account reads everything that was handed over and makes the statement out.
func (s Asked) Account() (*Account, error) {
	var wrong faults
	settings, err := s.Settings()
	wrong.add(err)
	settings.Cards, err = readHanded(s.Cards, readCards)
	wrong.add(err)
	l := newLedger(settings)
	w := s.wanted(l, &wrong)
	then, schedule := s.whatIf(&wrong)
	claim, atHome := s.claim(w.Tariff, &wrong)
	meter, err := readHanded(s.SiteMeter, func(file string, r io.Reader) (*siteMeter, error) {
		return readSiteMeter(file, r, l.Settings)
	})
	wrong.add(err)
	due, err := readHanded(s.Inspections, readInspections)
	wrong.add(err)
	if len(s.Records) == 0 {
		wrong.add(errors.New("a record of sessions is wanted"))
	}
	for _, t := range s.Records {
		_, err := readHanded(t, func(file string, r io.Reader) (struct{}, error) { return struct{}{}, l.ReadRecord(file, r) })
		wrong.add(err)
	}
	if len(wrong) > 0 {
		return nil, errors.Join(wrong...)
	}
	l.Settle()
	a := &Account{Ledger: l, wanted: w, place: s.Place, Report: Report{Findings: []finding.Finding{},
		Made: l.Made.Format(time.RFC3339), Invented: s.Invented, Claim: claim, AtHome: atHome}}
	if a.Report.Statement, err = l.Statement(w); err != nil {
		return nil, err
	}
	if a.Report.Billing = l.billing(a.Report.Statement, w); a.Report.Billing != nil {
		a.Report.Findings = append(a.Report.Findings, a.Report.Billing.finding())
	}
	a.Report.Driven = l.driven(a.Report.Statement, w)
	if then != nil || schedule != nil {
		if a.Report.Compared, err = l.Compare(w, then, schedule); err != nil {
			return nil, err
		}
	}
	a.Report.Findings = append(a.Report.Findings, l.Health()...)
	if meter != nil {
		a.Report.Findings = append(a.Report.Findings, l.Drift(meter)...)
	}
	if due != nil {
		a.Report.Findings = append(a.Report.Findings, due.Due(l.Today(l.Made))...)
	}
	a.Report.Take(l)
	return a, nil
}

// MonthBefore is the whole month before the date of a statement.
func (s Asked) MonthBefore() (string, error) {
	set, err := s.Settings()
	if err != nil {
		return "", err
	}
	return time.Date(set.Made.Year(), set.Made.Month()-1, 1, 0, 0, 0, 0, set.Zone).Format("2006-01"), nil
}

func readTariff(t Table) (*priceList, error) {
	return readHanded(t, func(file string, r io.Reader) (*priceList, error) {
		return readPriceList(file, strings.TrimSuffix(filepath.Base(file), filepath.Ext(file)), r)
	})
}

// wanted reads what the statement is wanted of.
func (s Asked) wanted(l *Ledger, wrong *faults) (w wanted) {
	var err error
	w.By, err = readKeys(s.By)
	wrong.named("by", err)
	w.Only = s.Only
	for _, day := range []struct {
		field, text string
		to          *int64
	}{{"from", s.From, &w.From}, {"to", s.To, &w.To}} {
		if day.text != "" {
			*day.to, err = readDay(day.text)
			wrong.named(day.field, err)
		}
	}
	if s.Period != "" {
		w.From, w.To, err = readPeriod(s.Period)
		if wrong.named("period", err) && s.From+s.To != "" {
			wrong.add(fault("period", "a period has its first and last day: leave those out"))
		}
		if !l.Made.IsZero() {
			w.To = min(w.To, l.Today(l.Made)) // no standing charge of days to come
		}
		w.Whole = w.From <= w.To
	}
	w.Tariff, err = readTariff(s.Tariff)
	wrong.add(err)
	w.Factors, err = readHanded(s.CO2, readFactors)
	wrong.add(err)
	w.Surplus, err = readHanded(s.Surplus, func(file string, r io.Reader) (*surplus, error) {
		return readSurplus(file, r, l.Settings)
	})
	wrong.add(err)
	return w
}

// whatIf reads what the sessions are compared under.
func (s Asked) whatIf(wrong *faults) (then *priceList, schedule *chargeHours) {
	then, err := readTariff(s.Then)
	wrong.add(err)
	if s.Schedule != "" {
		schedule, err = readSchedule(s.Schedule)
		wrong.named("schedule", err)
	}
	if s.Tariff.Open == nil && s.Then.Open != nil {
		wrong.add(fault("then", "the tariff there is is wanted too, to compare with"))
	}
	if s.Tariff.Open == nil && s.Schedule != "" {
		wrong.add(fault("schedule", "the tariff there is is wanted too, to compare by"))
	}
	return then, schedule
}

// claim pays journeys back by the mile.
func (s Asked) claim(t *priceList, wrong *faults) (*MileageClaim, *AtHome) {
	journeys, err := readHanded(s.Journeys, readJourneys)
	usable := wrong.add(err)
	rates, err := readHanded(s.Mileage, readMileageRates)
	usable = wrong.add(err) && usable
	if (s.Journeys.Open == nil) != (s.Mileage.Open == nil) {
		usable = wrong.add(errors.New("a claim by the mile takes both: the journeys with their miles, and what is paid back a mile"))
	}
	var economy int64
	if s.Economy != "" {
		economy, err = readEconomy(s.Economy)
		usable = wrong.named("economy", err) && usable
		switch {
		case s.Journeys.Open == nil:
			usable = wrong.add(fault("economy", "what the energy of the miles costs takes the journeys"))
		case s.Tariff.Open == nil:
			usable = wrong.add(fault("economy", "what the energy of the miles costs takes a tariff"))
		}
	}
	if rates == nil || !usable {
		return nil, nil
	}
	claim := rates.Claim(s.Journeys.Name, journeys)
	if s.Economy == "" || t == nil {
		return &claim, nil
	}
	home := t.AtHome(journeys, economy)
	return &claim, &home
}

// ReadRating reads the rated power of a point.
func ReadRating(text string) (Rating, error) {
	power, err := quantity.ParseWatts(text)
	if err != nil || power < 1 || power > 1e6 {
		return 0, fmt.Errorf("%q is no rated power of a point: one like 7.4 kW is wanted", text)
	}
	return Rating(power), nil
}

// Ordered returns the findings, the most urgent first.
func (a *Account) Ordered() []finding.Finding {
	out := slices.Clone(a.Report.Findings)
	finding.ByUrgency(out)
	return out
}
