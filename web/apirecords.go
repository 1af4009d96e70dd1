package web

// Charging records and a clamp's proof for a program: tables come as texts in
// JSON, nothing of them is stored.

import (
	"cmp"
	"net/http"
	"slices"
	"strings"

	"chargewright/demand"
	"chargewright/finding"
	"chargewright/ledger"
)

// tableIn is a table as a program hands it over.
type tableIn struct{ Name, Text string }

// taken reads tables that came as JSON, by the bounds of the pages.
func (s *sent) taken(t tableIn) ledger.Table {
	if t.Name == "" && t.Text == "" {
		return ledger.Table{}
	}
	t.Name = cmp.Or(t.Name, "table.csv")
	if err := s.usable(t.Name, []byte(t.Text)); err != nil {
		s.refuse(err)
		return ledger.Table{}
	}
	s.left -= len(t.Text)
	return table{t.Name, []byte(t.Text)}.handed()
}

// entered is how an error names the fields of JSON.
var entered = map[string]string{"column": "columns", "point-clock": "point, clock", "clock": "site, clock"}

func (s *Server) apiCharging(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	var in struct {
		Records                                                                      []tableIn
		Tariff, Then, Cards, CO2, Surplus, Journeys, Mileage, SiteMeter, Inspections tableIn
		By                                                                           []string
		Only, Columns, Ratings                                                       map[string]string
		From, To, Date, Zone, Schedule, Economy, Unit, Point                         string
		MonthFirst                                                                   bool
	}
	if err := take(r, &in); err != nil {
		return err
	}
	tables := &sent{r: r, left: mostTables}
	a := s.statement(o)
	for _, t := range in.Records {
		a.Records = append(a.Records, tables.taken(t))
	}
	for _, one := range []struct {
		from tableIn
		to   *ledger.Table
	}{{in.Tariff, &a.Tariff}, {in.Then, &a.Then}, {in.Cards, &a.Cards}, {in.CO2, &a.CO2}, {in.Surplus, &a.Surplus}, {in.Journeys, &a.Journeys},
		{in.Mileage, &a.Mileage}, {in.SiteMeter, &a.SiteMeter}, {in.Inspections, &a.Inspections}} {
		*one.to = tables.taken(one.from)
	}
	a.By, a.Zone = cmp.Or(strings.Join(in.By, ","), string(ledger.ByMonth)), cmp.Or(in.Zone, homeZone)
	a.From, a.To, a.Date, a.Schedule, a.Economy, a.Unit, a.Point, a.MonthFirst, a.Columns = in.From, in.To, in.Date, in.Schedule, in.Economy, in.Unit, in.Point, in.MonthFirst, in.Columns
	for k, text := range in.Only {
		one, err := ledger.ReadSelected(k + "=" + text)
		if err != nil {
			tables.refuse(refuse(http.StatusUnprocessableEntity, "only: %q is nothing sessions are chosen by: one of %v is", k, ledger.Keys))
			continue
		}
		a.Only = append(a.Only, one)
	}
	for point, text := range in.Ratings {
		rating, err := ledger.ReadRating(text)
		if err != nil {
			tables.refuse(refuse(http.StatusUnprocessableEntity, "ratings, %s: %v", point, err))
			continue
		}
		a.Ratings[point] = rating
	}
	slices.Sort(tables.wrong)
	if err := tables.refused(); err != nil {
		return err
	}
	account, err := a.Account()
	if err != nil {
		return refuse(http.StatusUnprocessableEntity, "%s", strings.Join(linesOf(err, entered), "\n"))
	}
	return give(w, http.StatusOK, account.Report)
}

// recordingIn is a recording as a program hands it over.
type recordingIn struct {
	tableIn
	Clock   string
	Columns struct {
		Time, Date, Clock string
		Current           []string
	}
}

func (i recordingIn) taken(s *sent, field string) ledger.Recording {
	out := ledger.Recording{Table: s.taken(i.tableIn), Clock: i.Clock, Columns: demand.Columns{Time: i.Columns.Time, Date: i.Columns.Date, Clock: i.Columns.Clock}}
	if len(i.Columns.Current) > len(out.Columns.Current) {
		s.refuse(refuse(http.StatusUnprocessableEntity, "%s, columns, current: %d headings: one for each line is wanted, three at most", field, len(i.Columns.Current)))
	}
	copy(out.Columns.Current[:], i.Columns.Current)
	return out
}

// clampOut is the published shape of a clamp's proof.
type clampOut struct {
	demand.ClampReport
	Finding finding.Finding `json:"finding"`
}

func (s *Server) apiClamp(w http.ResponseWriter, r *http.Request) error {
	if _, err := s.open(r); err != nil {
		return err
	}
	var in struct {
		Way, Line, Zone      string
		Before, During       []string
		Takes                string
		Clamp, PointReadings []string
		Site, Point          recordingIn
	}
	if err := take(r, &in); err != nil {
		return err
	}
	tables := &sent{r: r, left: mostTables}
	value := map[string]string{"way": in.Way, "line": in.Line, "takes-1": in.Takes}
	for prefix, readings := range map[string][]string{"before": in.Before, "during": in.During, "clamp": in.Clamp, "point": in.PointReadings} {
		for i, text := range readings {
			value[prefix+"-"+whole(i+1)] = text
		}
		if len(readings) > 3 {
			return refuse(http.StatusUnprocessableEntity, "%s: %d readings: three are wanted", prefix, len(readings))
		}
	}
	f := clampFormOf(func(name string) string { return value[name] })
	ask := ledger.Clamp{Site: in.Site.taken(tables, "site"), Point: in.Point.taken(tables, "point"), Zone: cmp.Or(in.Zone, homeZone)}
	if err := tables.refused(); err != nil {
		return err
	}
	result, err := f.prove(ask, entered)
	if err != nil {
		return err
	}
	return give(w, http.StatusOK, clampOut{result.Report(), result.Finding(f.subject())})
}

// Schemas of what goes in and comes out here.
var (
	newStatementSchema = func() object {
		table := ref("Table")
		named := object{"type": "object", "additionalProperties": text}
		return record(object{"records": some(table), "tariff?": table, "then?": table, "cards?": table, "co2?": table, "surplus?": table, "journeys?": table, "mileage?": table, "siteMeter?": table, "inspections?": table,
			"by?": some(text), "only?": named, "columns?": named, "ratings?": named, "from?": text, "to?": text, "date?": text, "zone?": text, "schedule?": text, "economy?": text, "unit?": text, "point?": text,
			"monthFirst?": object{"type": "boolean"}})
	}()
	statementSchema = func() object {
		whole, figure, yesNo := object{"type": "integer"}, object{"type": "number"}, object{"type": "boolean"}
		with := func(more, members object) object {
			for name, of := range more {
				members[name] = of
			}
			return record(members)
		}
		sum := object{"sessions": whole, "energyKWh": figure, "pluggedInSeconds": whole, "timeNotKnown": whole, "cost": figure, "costAtLeast": figure, "costAtMost": figure, "vat": figure,
			"notPriced": whole, "solarKWh": figure, "solarKnownOfKWh": figure, "co2Milligrams": whole, "co2NotKnownOfKWh": figure}
		standing := record(object{"from": text, "to": text, "days": whole, "poundsADay": figure, "cost": figure, "vat": figure})
		tally := record(object{"file": text, "lines": whole, "blank": whole, "head": whole, "used?": whole, "other?": whole, "counted": whole, "doubted": whole, "saidTwice": whole, "faulty": whole,
			"energyCounted": figure, "energyDoubted": figure, "energyTwice": figure})
		return record(object{"made": text, "invented": yesNo, "records": some(tally),
			"statement": record(object{"by": some(text), "from": text, "to": text, "zone": text, "tariff": text, "pricesHoldVAT": yesNo, "bands": several(text), "lines": several(with(sum, object{"keys": some(text)})),
				"total": record(sum), "roundingPence": whole, "standingCharge": several(standing), "rules": several(text), "sources": several(text)}),
			"whatIf?": record(object{"tariff": text, "schedule": text, "sessions": whole, "leftOut": whole, "now": figure, "then": figure, "standingNow": figure, "standingThen": figure, "standingNotKnown": yesNo,
				"saving": figure, "savingAtLeast": figure, "savingAtMost": figure, "doNotFit": whole, "outsideKWh": figure, "rules": several(text)}),
			"mileageClaim?": record(object{"lines": some(record(object{"person": text, "vehicle": text, "journeys": whole, "milesThousandths": whole, "rate": text, "amount": figure, "source": text})),
				"total": figure, "notKnown": some(text), "rules": several(text), "sources": several(text), "roundingPence": whole}),
			"milesAtTheTariff?": record(object{"milesThousandths": whole, "energyKWh": figure, "milesPerKWh": text, "prices": several(record(object{"band": text, "price": text, "cost": figure}))}),
			"notes":             some(record(object{"file": text, "line": whole, "kind": text, "field": text, "found": text, "text": text, "energy?": figure})),
			"faultsReported":    some(record(object{"point": text, "at": whole, "code": text, "file": text, "line": whole})),
			"findings":          some(ref("Finding"))})
	}()
)
