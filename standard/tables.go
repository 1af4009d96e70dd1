package standard

import (
	"errors"
	"io/fs"
	"sync"

	"chargewright/quantity"
)

// tables is one country's tables, indexed once.
type tables struct {
	fsys     fs.FS
	editions *editions

	clauses map[string]*row
	limits  map[string]cell[float64]

	conductors map[conductorKey]column[quantity.OhmsPerMetreAt20]
	reactances map[cableKey]column[quantity.OhmsPerMetre]
	armours    map[int]column[armour]
	flatTwins  column[quantity.SquareMillimetres]
	flexibles  column[flexibles]

	ratings   map[loadedKey]column[quantity.Amperes]
	voltDrops map[loadedKey]column[VoltDrop]

	ambients    map[ambientKey]column[float64]
	groups      map[grouped]grouping
	surrounds   column[float64]
	soils       [2]column[float64] // buried direct, in duct
	depths      [2]column[float64]
	overloads   [2][2]cell[float64] // semi-enclosed fuse, buried
	ks          map[kKey]column[thermal]
	protectives column[protectiveRule]
	bondings    column[quantity.SquareMillimetres]

	devices      map[Family]*family
	service      column[serviceShare]
	testCircuits column[testCircuit]
	rcdTimes     [2]column[rcdTime] // general, delayed
	loadings     map[string]column[float64]
	diversities  map[diversityKey]cell[Diversity]

	rods    map[RodPattern]column[float64]
	grounds []groundRow

	duties  column[dutyBand]
	states  map[string]cell[pilotLevel]
	times   map[string]cell[float64]
	codings []CableCode

	uncertainties map[string]cell[uncertainty]
	routes        *routes

	steps     func() ([]testStep, error)
	faults    func() ([]faultRow, error)
	fields    func() ([]formField, error)
	ocpp      func() ([]ocppRow, error)
	pilotRows func() ([]pilotRow, error)
	rules     func() ([]Requirement, error)
}

// read parses and indexes the tables at the root of fsys. The long texts that
// only papers and commissioning need are read when first asked for.
func read(fsys fs.FS) (*tables, error) {
	l := &loader{fsys: fsys, known: map[string][]*issue{}}
	t := &tables{fsys: fsys, editions: readEditions(l)}
	l.issues, l.known = t.editions.all, map[string][]*issue{}
	t.readClauses(l)
	t.readCables(l)
	t.readFactors(l)
	t.readThermal(l)
	t.readDevices(l)
	t.readResiduals(l)
	t.readDemand(l)
	t.readEarth(l)
	t.readPilot(l)
	t.readInstruments(l)
	t.readRoutes(l)
	t.steps = later(t, "test-steps.csv", stepColumns, readStep)
	t.faults = later(t, "faults.csv", faultColumns, readFault)
	t.fields = later(t, "form-fields.csv", fieldColumns, readField)
	t.ocpp = later(t, "ocpp.csv", ocppColumns, readOCPP)
	t.pilotRows = later(t, "pilot-rows.csv", pilotColumns, readPilotRow)
	t.rules = later(t, "requirements.csv", requirementColumns, readRequirement)
	if err := errors.Join(l.faults...); err != nil {
		return nil, err
	}
	return t, nil
}

// later returns a function that reads a table once, when first called.
func later[T any](t *tables, file, columns string, each func(r *record) T) func() ([]T, error) {
	return sync.OnceValues(func() ([]T, error) {
		l := &loader{fsys: t.fsys, issues: t.editions.all, known: map[string][]*issue{}}
		var out []T
		l.each(file, columns, func(r *record) { out = append(out, each(r)) })
		return out, errors.Join(l.faults...)
	})
}

// readAll reads the tables that are otherwise read when first asked for, and
// returns the faults in them.
func (t *tables) readAll() error {
	_, steps := t.steps()
	_, faults := t.faults()
	_, fields := t.fields()
	_, ocpp := t.ocpp()
	_, pilot := t.pilotRows()
	_, rules := t.rules()
	return errors.Join(steps, faults, fields, ocpp, pilot, rules)
}
