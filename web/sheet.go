package web

// The sheet of one element: what is known of it, what is missing, what it must
// be, what it was measured to be; its photos and notes.

import (
	"net/http"
	"slices"
	"strings"

	"chargewright/bounds"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/trade"
	"chargewright/works"
)

// factRow is one fact on a sheet.
type factRow struct {
	Path, Name, Help string
	Value            string
	By               string // who, when, with what
	Differ           bool
	Dotted           bool // nobody has seen it yet
}

// group is facts that belong together.
type group struct {
	Title string
	Facts []factRow
}

// listOf is a list of parts of an element, and what one more needs.
type listOf struct {
	Path, Title, One string
	Help             string
	Items            []itemRow
	Words            bool   // items have a name and nothing else
	Add              string // address of the form of one more
}

type itemRow struct{ Path, Name string }

func (s *Server) sheet(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	of := r.URL.Query().Get("of")
	title, e := "", element{Of: of}
	if known, ok := o.element(of); ok {
		e, title = known, known.Title
	} else if circuit, ok := o.cableOf(of); ok {
		title = "Cable of " + last(circuit)
	} else if job.PartAt(of) != nil && o.Record.Has(of) {
		title = capital(spoken(of))
	} else {
		return Refuse(http.StatusNotFound, "Nothing of that name is in this job now. It may have been taken out: the history says so.")
	}
	groups, lists := o.factsOn(of)
	f := o.frame(s, r, title, "survey")
	st := o.stationOf(of)
	if st != nil {
		st.Here = true
	}
	photos, err := s.photos(r, o, f, sheetURL(o.ID, of))
	if err != nil {
		return err
	}
	page := struct {
		Frame
		Of         string
		Station    *station
		Questions  []*blank
		Assumed    []job.Assumption // that nobody has seen yet
		Alike      []job.Assumption // the same of the others that it stands for
		Record     *job.Record
		After      *station // that is asked something after it
		On         string   // address of what comes after
		Test       *test    // that comes after, when no station asks anything
		Side       side
		Groups     []group
		More       []group // what is neither known nor asked
		Lists      []listOf
		Missing    string
		Open       bool   // something is not known
		Fill       string // address of the form of what is not known
		Must, Met  []rule
		Verdict    finding.Verdict
		Checked    bool
		Tests      []test
		Photos     []photoRow
		Notes      []noteRow
		Item       bool // may be taken out
		Named      bool // may be given another name
		Back       string
		Leads      []lead
		PhotoLimit int
		PhotoOf    string // what a photo or a note from here is of
		IsPhoto    bool
		Pictured   bool // a photo of it can be named
	}{Frame: f, Of: of, Groups: groups, Lists: lists, Photos: photosOf(photos, of), Notes: o.notesOf(of), PhotoLimit: bounds.Photo.Most() >> 20,
		IsPhoto: above(of) == photosList}
	page.Missing, page.Open = missing(groups)
	if st != nil && st.Of == of {
		page.Station, page.Questions, page.After = st, o.questions(st, s.Now()), o.walk(st, s.Now())
		page.Record = o.Record
		for _, a := range o.assumedAt(st) {
			if asksOf(of, st.Symbol, a.Path) {
				page.Assumed = append(page.Assumed, a)
			} else {
				page.Alike = append(page.Alike, a)
			}
		}
	}
	switch {
	case len(page.Questions) > mostQuestions:
		page.Questions, page.On = page.Questions[:mostQuestions], sheetURL(o.ID, of)
	case page.After != nil:
		page.On = sheetURL(o.ID, page.After.Of)
	default:
		page.On = "/jobs/" + o.ID
		if t := o.toRead(); t != nil {
			page.On, page.Test = t.URL, t
		}
	}
	page.Groups, page.More = parted(groups, page.Questions, page.Assumed)
	page.Side = o.side(s.Now())
	page.Fill = fillURL(o.ID, sheetURL(o.ID, of), of)
	var found []finding.Finding
	for _, f := range o.Found {
		if page.Station == nil && holds(of, f.Path) {
			found = append(found, f)
		}
	}
	if page.Station != nil {
		found = slices.Clone(st.found)
	}
	page.Verdict, page.Checked = finding.Worst(found)
	finding.ByUrgency(found)
	if page.Station != nil {
		page.Verdict, page.Checked = st.Verdict, st.Checked
	}
	for _, f := range found {
		if f.Verdict == finding.Meets || o.settled(f) {
			page.Met = append(page.Met, o.rule(f, of, sheetURL(o.ID, of)))
		} else {
			page.Must = append(page.Must, o.rule(f, of, sheetURL(o.ID, of)))
		}
	}
	for _, t := range o.tests() {
		if st == nil && slices.Contains(e.Places, t.At) {
			page.Tests = append(page.Tests, t)
		}
	}
	if st != nil {
		page.Tests = st.Tests
	}
	page.Leads = o.leads(of)
	_, ofSupply := partOfSupply(of)
	list := job.FieldAt(above(of))
	page.Item = list != nil && list.List() && !ofSupply
	page.Named = page.Item && list.Of.Key != nil && !page.IsPhoto
	page.PhotoOf = of
	if circuit, is := o.cableOf(of); is {
		page.PhotoOf = circuit
	}
	page.Pictured = o.pictured(page.PhotoOf)
	if up := above(above(of)); page.Item && job.PartAt(up) != nil && up != "" && up != "supply" {
		page.Back = up
	}
	return render(w, http.StatusOK, "sheet.html", page)
}

// parted divides facts into those that are known and those that are not; what
// is asked stands in neither.
func parted(groups []group, asked []*blank, assumed []job.Assumption) (known, more []group) {
	for _, g := range groups {
		have, lack := group{Title: g.Title}, group{Title: g.Title}
		for _, f := range g.Facts {
			switch {
			case slices.ContainsFunc(assumed, func(a job.Assumption) bool { return a.Path == f.Path }):
			case f.Value != "" || f.Differ:
				have.Facts = append(have.Facts, f)
			case !slices.ContainsFunc(asked, func(b *blank) bool { return b.Path == f.Path }):
				lack.Facts = append(lack.Facts, f)
			}
		}
		if len(have.Facts) > 0 {
			known = append(known, have)
		}
		if len(lack.Facts) > 0 {
			more = append(more, lack)
		}
	}
	return known, more
}

// cableOf reports that a sheet is of the cable of a circuit, with its legs.
func (o *opened) cableOf(of string) (circuit string, is bool) {
	circuit = above(of)
	return circuit, above(circuit) == "circuits" && last(of) == "cable" && o.Record.Has(circuit)
}

// missing says how many facts are not known, and whether any is.
func missing(groups []group) (says string, any bool) {
	n := 0
	for _, g := range groups {
		for _, f := range g.Facts {
			if f.Value == "" {
				n++
			}
		}
	}
	switch n {
	case 0:
		return "every fact is known", false
	case 1:
		return "1 fact not known", true
	}
	return whole(n) + " facts not known", true
}

// factsOn returns the facts and the lists of an element's sheet.
func (o *opened) factsOn(of string) ([]group, []listOf) {
	c := collect{record: o.Record, job: o.ID, sheet: of}
	path, shape := shapeOfSheet(of)
	if circuit, is := o.cableOf(of); is {
		c.take(circuit, "Circuit", &job.Part{Fields: []*job.Field{job.FieldAt(circuit + "/terminals rated"), job.FieldAt(circuit + "/legs")}})
		c.take(of, "Cable", shape)
		for _, leg := range o.Record.Items(circuit + "/legs") {
			at := works.Under(circuit+"/legs", leg)
			c.take(at, "Leg "+leg, job.PartAt(at))
		}
	} else {
		c.take(path, o.titleOf(of), shape)
	}
	return c.groups, c.lists
}

// shapeOfSheet returns what stands on a sheet, and under which path.
func shapeOfSheet(of string) (path string, s *job.Part) {
	if part, ok := partOfSupply(of); ok {
		return "supply", part.shape()
	}
	if of != "" {
		return of, job.PartAt(of)
	}
	s = &job.Part{}
	for _, f := range job.PartAt("").Fields {
		if f.Single() || f.Name == "site" || f.Name == "people" || f.Name == "instruments" {
			s.Fields = append(s.Fields, f)
		}
	}
	return "", s
}

// collect gathers facts in groups, a part within a part as a group of its own.
type collect struct {
	record *job.Record
	job    string
	sheet  string
	groups []group
	lists  []listOf
}

func (c *collect) take(path, title string, s *job.Part) {
	g := group{Title: title}
	var inner []*job.Field
	for _, f := range s.Fields {
		at := works.Under(path, f.Name)
		switch {
		case f.Single():
			if f == s.Key { // it is the title
				continue
			}
			g.Facts = append(g.Facts, c.row(at, f))
		case f.List():
			l := listed(c.record, at, f)
			l.Add = addURL(c.job, at, sheetURL(c.job, c.sheet))
			c.lists = append(c.lists, l)
		default:
			inner = append(inner, f)
		}
	}
	if len(g.Facts) > 0 {
		c.groups = append(c.groups, g)
	}
	for _, f := range inner {
		c.take(works.Under(path, f.Name), capital(f.Name), f.Of)
	}
}

func (c *collect) row(path string, f *job.Field) factRow {
	e := c.record.Now(path)
	row := factRow{Path: path, Name: f.Name, Help: f.Help, Value: e.Value}
	if e.Value != "" {
		row.By = by(e)
		if value, how, reason := f.Apart(e.Value); how == string(trade.Assumed) {
			row.Dotted, row.Value, row.By = true, value, strings.TrimSuffix("assumed, "+reason, ", ")
		}
	}
	row.Differ = c.record.Differ(path) != nil
	return row
}

// by says who entered a fact, when and with what.
func by(e job.Entry) string {
	var parts []string
	for _, p := range []string{e.Who, clock(e.When), e.Instrument} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	return strings.Join(parts, ", ")
}

// capital begins a text with a capital letter.
func capital(text string) string {
	if text == "" {
		return ""
	}
	return strings.ToUpper(text[:1]) + text[1:]
}

// listed returns a list with what is in it.
func listed(r *job.Record, at string, of *job.Field) listOf {
	l := listOf{Path: at, Title: capital(of.Name), One: of.One, Help: of.Help, Words: of.Of == nil}
	for _, name := range r.Items(at) {
		item := works.Under(at, name)
		l.Items = append(l.Items, itemRow{item, label(r, item, of)})
	}
	return l
}

// label is what an item goes by: its name, or what it says first.
func label(r *job.Record, item string, of *job.Field) string {
	if of.Of == nil || of.Of.Key != nil {
		return last(item)
	}
	var said []string
	for _, one := range of.Of.Fields {
		if v := r.Now(works.Under(item, one.Name)).Value; one.Single() && v != "" && len(said) < 3 {
			said = append(said, v)
		}
	}
	if len(said) == 0 {
		return capital(spoken(item))
	}
	return strings.Join(said, ", ")
}

// parts lists every element, and where more can be added.
func (s *Server) parts(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	type section struct {
		Title string
		Items []element
		List  *listOf
	}
	var sections []*section
	find := func(title string) *section {
		for _, sec := range sections {
			if sec.Title == title {
				return sec
			}
		}
		sec := &section{Title: title}
		sections = append(sections, sec)
		return sec
	}
	for _, e := range o.elements() {
		sec := find(e.Group)
		sec.Items = append(sec.Items, e)
	}
	for _, f := range job.PartAt("").Fields {
		if !f.List() || f.Of == nil || f.Name == "readings" || f.Name == "runs" || f.Name == "notes" || f.Name == photosList || f.Name == "inspections" {
			continue
		}
		l := listed(o.Record, f.Name, f)
		l.Add = addURL(o.ID, f.Name, "")
		sec := find(capital(f.Name))
		if sec.List = &l; f.Of.Key == nil || sec.Items == nil { // none of them is an element
			for _, i := range l.Items {
				sec.Items = append(sec.Items, element{Of: i.Path, Title: i.Name})
			}
		}
	}
	return render(w, http.StatusOK, "parts.html", struct {
		Frame
		Sections []*section
	}{o.frame(s, r, o.Job.Name, "more"), sections})
}

// addItem adds an item to a list: a leg, a circuit, a hazard.
func (s *Server) addItem(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	list, name := r.PostFormValue("list"), strings.Join(strings.Fields(r.PostFormValue("name")), " ")
	f := job.FieldAt(list)
	if f == nil || !f.List() {
		return Refuse(http.StatusUnprocessableEntity, "There is no list of that name.")
	}
	if list == photosList {
		return Refuse(http.StatusUnprocessableEntity, "A photo is added on the sheet of what it shows.")
	}
	if name == "" {
		return Refuse(http.StatusUnprocessableEntity, "Give the %s a name first.", f.One)
	}
	path := works.Under(list, name)
	there := o.Record.Items(list)
	if slices.Contains(there, name) {
		return Refuse(http.StatusUnprocessableEntity, "There is a %s of that name already.", f.One)
	}
	entries := o.anew(path, []job.Entry{o.entry(r, path, whole(len(there)+1))})
	if f.Of != nil && f.Of.Key == nil {
		return Refuse(http.StatusUnprocessableEntity, "Items of that list are not added here.")
	}
	next := r.PostFormValue("next")
	if f.Of != nil {
		next = sheetURL(o.ID, path)
	}
	return s.enter(w, r, o, s.act(r, o.ID, spoken(path)+" added", entries...), o.onward(next))
}

// removeItem takes an item out of its list. Its entries stay in the journal.
func (s *Server) removeItem(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	path := r.PostFormValue("item")
	if !o.Record.Has(path) {
		return notInJob
	}
	a := s.act(r, o.ID, spoken(path)+" taken out", o.Record.TakenOut(path)...)
	return s.enter(w, r, o, a, o.onward(r.PostFormValue("next")))
}

var notInJob = Refuse(http.StatusNotFound, "Nothing of that name is in this job.")

// onward keeps a form's next page within its job.
func (o *opened) onward(next string) string {
	if !strings.HasPrefix(next, "/jobs/"+o.ID) {
		return "/jobs/" + o.ID
	}
	return next
}
