package standard

import "slices"

// testStep is one test in the order a new installation is tested, dead tests
// before live ones.
type testStep struct {
	Stage, Key, Test, Clause       string
	Instrument, InstrumentStandard string
	Range, Expect                  string // of the instrument; of the reading
	Safety                         string // what must hold before it is begun
	DependsOn, CheckedBy           string
	ChargePoint                    string // what is different at a charge point
	Cite                           Citation
}

const stepColumns = "stage,key,test,rule,instrument,instrument_standard,range,expect,safety,depends_on,checked_by,charge_point"

func readStep(r *record) testStep {
	return testStep{r.text("stage"), r.text("key"), r.text("test"), r.text("rule"), r.text("instrument"), r.text("instrument_standard"),
		r.text("range"), r.text("expect"), r.text("safety"), r.text("depends_on"), r.text("checked_by"), r.text("charge_point"), Citation{row: r.row}}
}

// faultRow is one explanation of readings that do not fit. Each reading says how
// it moves: "0" not, "+" or "-" up or down, "+x" by exactly the extra
// resistance, nothing where it says nothing.
type faultRow struct {
	ID, Kind, Symptom, Hypothesis, Model              string
	Ze, R1R2, R1Rn, Zs, LNLoop, PFC, Insulation, RCD  string
	Other, Magnitude, TellApart, NextActionAndCaution string
	Cite                                              Citation
}

const faultColumns = "id,kind,symptom,hypothesis,model,ze,r1r2,r1rn,zs,ln_loop,pfc,insulation,rcd,other,magnitude,tell_apart,next_action"

func readFault(r *record) faultRow {
	return faultRow{r.text("id"), r.text("kind"), r.text("symptom"), r.text("hypothesis"), r.text("model"),
		r.text("ze"), r.text("r1r2"), r.text("r1rn"), r.text("zs"), r.text("ln_loop"), r.text("pfc"), r.text("insulation"), r.text("rcd"),
		r.text("other"), r.text("magnitude"), r.text("tell_apart"), r.text("next_action"), Citation{row: r.row}}
}

// formField is one thing a paper must carry.
type formField struct {
	Paper, Key, Meaning, Unit, Mandatory, Group, From string
	Cite                                              Citation
}

const fieldColumns = "paper,key,meaning,unit,mandatory,group,from"

func readField(r *record) formField {
	return formField{r.text("paper"), r.text("key"), r.text("meaning"), r.text("unit"), r.text("mandatory"), r.text("group"), r.text("from"), Citation{row: r.row}}
}

// ocppRow is one message, key, variable or rule of the Open Charge Point
// Protocol, how to check it and what its usual failure means in plain words.
type ocppRow struct {
	ID, Version, Item, Kind, SentBy                         string
	Check, Expect, UsualFailure, PlainWords, Access, Values string
	Meaning                                                 string
	Cite                                                    Citation
}

const ocppColumns = "id,version,item,kind,sent_by,check,expect,usual_failure,plain_words,access,values,meaning"

func readOCPP(r *record) ocppRow {
	return ocppRow{r.text("id"), r.text("version"), r.text("item"), r.text("kind"), r.text("sent_by"), r.text("check"), r.text("expect"),
		r.text("usual_failure"), r.text("plain_words"), r.text("access"), r.text("values"), r.text("meaning"), Citation{row: r.row}}
}

// pilotRow is one fact about the control pilot, the proximity contact or a
// test with a vehicle simulator, as text.
type pilotRow struct {
	ID, Group, Item, Condition, Value, Tolerance, Unit, HowTested string
	Cite                                                          Citation
}

const pilotColumns = "id,group,item,condition,value,tolerance,unit,how_tested"

func readPilotRow(r *record) pilotRow {
	return pilotRow{r.text("id"), r.text("group"), r.text("item"), r.text("condition"), r.text("value"), r.text("tolerance"), r.text("unit"),
		r.text("how_tested"), Citation{row: r.row}}
}

// Requirement is one rule, or one fact of the trade, in our own words.
type Requirement struct {
	ID, Subject, Requirement, Value, Unit string
	Cite                                  Citation
}

const requirementColumns = "id,subject,requirement,value,unit"

func readRequirement(r *record) Requirement {
	return Requirement{r.text("id"), r.text("subject"), r.text("requirement"), r.text("value"), r.text("unit"), Citation{row: r.row}}
}

// The long tables are read when first asked for. OpenFS reads those of another
// country at once, to find their faults; those built in are kept sound by the
// tests. A country without a table has no rows.

// TestSteps returns the tests in their order.
func (b *Rulebook) TestSteps() []testStep {
	return forJob(b, b.steps, func(s *testStep) *Citation { return &s.Cite })
}

// Faults returns what readings that do not fit may mean.
func (b *Rulebook) Faults() []faultRow {
	return forJob(b, b.faults, func(s *faultRow) *Citation { return &s.Cite })
}

// FormFields returns what each paper must carry, under our own keys.
func (b *Rulebook) FormFields() []formField {
	return forJob(b, b.fields, func(s *formField) *Citation { return &s.Cite })
}

// OCPPRows returns what can be checked over the Open Charge Point Protocol.
func (b *Rulebook) OCPPRows() []ocppRow {
	return forJob(b, b.ocpp, func(s *ocppRow) *Citation { return &s.Cite })
}

// PilotRows returns the facts of pilot, proximity and simulator tests.
func (b *Rulebook) PilotRows() []pilotRow {
	return forJob(b, b.pilotRows, func(s *pilotRow) *Citation { return &s.Cite })
}

// Requirements returns the rules and facts of the trade as text.
func (b *Rulebook) Requirements() []Requirement {
	return forJob(b, b.rules, func(s *Requirement) *Citation { return &s.Cite })
}

// forJob copies rows and sets their citations to the job's edition.
func forJob[T any](b *Rulebook, read func() ([]T, error), cite func(*T) *Citation) []T {
	rows, err := read()
	if err != nil {
		return nil
	}
	rows = slices.Clone(rows)
	for i := range rows {
		cite(&rows[i]).job = b.job
	}
	return rows
}
