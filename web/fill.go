package web

// Several facts on one form: what an element still lacks, or a new item of a
// list with all that is known of it. What is entered is one act.

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/trade"
	"chargewright/works"
)

// blank is one fact on a form, with what is typed in it.
type blank struct {
	Path, Name string
	Field      *job.Field
	Now        string
	Follows    string
	Units      []string
	Choices    []string // names that are in the job, of a field that names something
	Loose      bool     // another name will do
	Settled    bool     // it goes with what the form is filled in for
	There      []string // of a list of words, what it holds

	Value, Unit, KnownBy, Reason string
	Problem                      string
	Guess                        string // what is assumed of it
	Ready                        []ready
}

// blanks is facts that belong together.
type blanks struct {
	Title  string
	Folded bool
	Fields []*blank
}

// fillPage is a form of several facts.
type fillPage struct {
	Frame
	Action    string
	Of        []string // what is filled in, of facts that are there
	List      string   // the list that gets an item
	One       string   // what an item of it is called
	Key       *blank   // what the item goes by, where it has a name
	About     []rule   // what the form is filled in for
	AboutWhat string   // and the part that is about, as it is written
	Groups    []*blanks
	Next      string
	Problems  []string

	item string // path of the new item, when it has a name; the facts' paths go on from it
}

// signingList is who answers for the work.
const signingList = "certificate/signing"

// mostAtOnce is how many facts a form shows before it folds the rest.
const mostAtOnce = 12

// few is the most values that are shown all at once.
const few = 5

// Few reports that the values of a word are shown all at once.
func (b *blank) Few() bool { return len(b.Field.Words) <= few }

func (o *opened) blank(path string, f *job.Field) *blank {
	b := &blank{Path: path, Name: f.Name, Field: f, Now: o.Record.Now(path).Value, Follows: o.Record.Shown(path)}
	b.Value, b.KnownBy, b.Reason = f.Apart(b.Now)
	if f.Kind == job.Quantity {
		b.Units = f.Units
		b.Value, b.Unit = withoutUnit(b.Value, b.Units)
	}
	b.Choices = o.namesFor(path)
	b.Loose = f.Name == "who"
	b.Ready = o.ready(path, f, o.now)
	return b
}

// take gathers the facts of a part, a part within it as a group of its own.
func (p *fillPage) take(o *opened, path, title string, s *job.Part, want func(*blank) bool) {
	g := &blanks{Title: title}
	var inner []*job.Field
	for _, f := range s.Fields {
		switch {
		case f == s.Key:
		case f.Single():
			if b := o.blank(works.Under(path, f.Name), f); want(b) {
				g.Fields = append(g.Fields, b)
			}
		case f.Of != nil:
			inner = append(inner, f)
		}
	}
	if len(g.Fields) > 0 {
		p.Groups = append(p.Groups, g)
	}
	for _, f := range inner {
		at := works.Under(path, f.Name)
		if !f.List() {
			p.take(o, at, title+": "+f.Name, f.Of, want)
			continue
		}
		for _, name := range o.Record.Items(at) {
			p.take(o, works.Under(at, name), title+": "+f.One+" "+name, f.Of, want)
		}
	}
}

func (s *Server) fill(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	p, err := s.fillPage(r, o, q["of"], q.Get("next"))
	if err != nil {
		return err
	}
	return render(w, http.StatusOK, "fill.html", p)
}

// fillPage is the form of what parts of a job lack. A fact that is asked for
// by itself is on it whether it is known or not.
func (s *Server) fillPage(r *http.Request, o *opened, of []string, next string) (*fillPage, error) {
	p := &fillPage{Frame: o.frame(s, r, "Fill in", "drawing"), Action: "/jobs/" + o.ID + "/fill", Of: of, Next: next}
	open := func(b *blank) bool { return b.Now == "" }
	var alone *blanks
	for _, path := range of {
		_, ofSupply := partOfSupply(path)
		f := job.FieldAt(path)
		switch {
		case ofSupply || path == "":
			at, shape := shapeOfSheet(path)
			p.take(o, at, o.titleOf(path), shape, open)
		case f != nil && (f.Single() || f.Of == nil) && (above(path) == "" || o.Record.Has(above(path))):
			if alone == nil {
				alone = &blanks{Title: "Wanted"}
				p.Groups = append(p.Groups, alone)
			}
			b := o.blank(path, f)
			b.Name = spoken(path)
			if f.List() {
				b.There = o.Record.Items(path)
			}
			alone.Fields = append(alone.Fields, b)
		case job.PartAt(path) != nil && o.Record.Has(path):
			p.take(o, path, o.titleOf(path), job.PartAt(path), open)
		default:
			return nil, notInJob
		}
	}
	all := 0
	for i, g := range p.Groups {
		all += len(g.Fields)
		g.Folded = i > 0 && all > mostAtOnce
	}
	if len(of) == 1 {
		p.Title = "Fill in: " + o.titleOf(of[0])
	}
	return p, nil
}

// titleOf is what a part of a job is called.
func (o *opened) titleOf(of string) string {
	if e, ok := o.element(of); ok {
		return e.Title
	}
	return capital(spoken(of))
}

func (s *Server) enterFill(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return Refuse(http.StatusBadRequest, "The form could not be read.")
	}
	p, err := s.fillPage(r, o, r.PostForm["of"], r.PostFormValue("next"))
	if err != nil {
		return err
	}
	entries := p.typed(r, o)
	seen, err := o.seenIn(r.PostForm)
	if err != nil {
		return err
	}
	entries = append(entries, seen...)
	next := p.Next
	if here := r.PostFormValue("here"); here != "" && r.PostForm["saw"] != nil {
		next = here
	}
	if next == "" && len(p.Of) > 0 {
		next = sheetURL(o.ID, sheetOfPath(p.Of[0]))
	}
	if len(entries) == 0 {
		http.Redirect(w, r, o.onward(next), http.StatusSeeOther)
		return nil
	}
	a := s.act(r, o.ID, saidOf(entries), entries...)
	return s.again(w, r, o, p, nil, a.Entries, s.enter(w, r, o, a, o.onward(next)))
}

// typed reads the form into the page, and returns what is new in it.
func (p *fillPage) typed(r *http.Request, o *opened) []job.Entry {
	var out []job.Entry
	for _, g := range p.Groups {
		for _, b := range g.Fields {
			if _, asked := r.PostForm["value "+b.Path]; !asked && r.PostFormValue("unit "+b.Path) == "" {
				continue
			}
			was, unit, assumed := b.Value, b.Unit, b.KnownBy == string(trade.Assumed) && !b.Field.Stated()
			b.Value, b.Unit = strings.Join(strings.Fields(r.PostFormValue("value "+b.Path)), " "), r.PostFormValue("unit "+b.Path)
			b.KnownBy, b.Reason = r.PostFormValue("known "+b.Path), strings.TrimSpace(r.PostFormValue("reason "+b.Path))
			b.Follows = r.PostFormValue("follows " + b.Path)
			if b.Field.List() {
				out = append(out, o.words(b)...)
				continue
			}
			if assumed && b.Value == was && b.Unit == unit {
				continue // what stands in a form is not seen because the form is sent
			}
			value := b.Value
			if b.Field.Kind == job.Quantity {
				value = withUnit(value, b.Unit)
			}
			if b.Field.Stated() {
				value = together(value, b.KnownBy, b.Reason)
			}
			if value != "" && value != b.Now {
				out = append(out, job.Entry{Path: b.Path, Value: value, Follows: b.Follows})
			}
		}
	}
	return out
}

// words returns what adds to a list of words, written with commas between.
func (o *opened) words(b *blank) []job.Entry {
	var out []job.Entry
	there := slices.Clone(b.There)
	for word := range strings.SplitSeq(b.Value, ",") {
		if word = strings.TrimSpace(word); word == "" || slices.Contains(there, word) {
			continue
		}
		there = append(there, word)
		path := works.Under(b.Path, word)
		out = append(out, job.Entry{Path: path, Value: whole(len(there)), Follows: o.Record.Shown(path)})
	}
	return out
}

// saidOf says what entries enter.
func saidOf(entries []job.Entry) string {
	const most = 160
	var b strings.Builder
	for i, e := range entries {
		text := last(e.Path) + " " + e.Value
		switch {
		case job.FieldAt(e.Path) == nil: // a word, in a list
			text = spoken(e.Path)
		case i == 0:
			text = spoken(e.Path) + ": " + e.Value
		}
		if i > 0 && b.Len()+len(text) > most {
			b.WriteString(" and " + whole(len(entries)-i) + " more")
			break
		}
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(text)
	}
	return b.String()
}

// again shows the form once more with all that was typed where something in it
// is wrong, each fault beside its field.
func (s *Server) again(w http.ResponseWriter, r *http.Request, o *opened, p *fillPage, before, entries []job.Entry, err error) error {
	var ps job.Problems
	if !errors.As(err, &ps) {
		return err
	}
	p.Form = r.PostFormValue("act")
	beside := 0
	for _, e := range entries {
		var own job.Problems
		if !errors.As(o.try(append(slices.Clone(before), e)), &own) {
			continue
		}
		for _, g := range p.Groups {
			for _, b := range g.Fields {
				if p.item+b.Path == e.Path {
					b.Problem = own[0].Error()
					g.Folded = false
					beside++
				}
			}
		}
	}
	p.Problems = append(p.Problems, "Nothing is entered yet: see what is wanted below.")
	if beside == 0 { // they do not go together
		p.Problems = nil
		for _, one := range ps {
			p.Problems = append(p.Problems, one.Error())
		}
	}
	return render(w, http.StatusUnprocessableEntity, "fill.html", p)
}

// addPage is the form of a new item of a list.
func (s *Server) addPage(r *http.Request, o *opened, list string, form url.Values) (*fillPage, error) {
	f := job.FieldAt(list)
	if f == nil || !f.List() || f.Of == nil || f.Name == "readings" || f.Name == "runs" || f.Name == "notes" || f.Name == photosList || above(list) != "" &&
		!o.Record.Has(above(list)) {
		return nil, Refuse(http.StatusNotFound, "There is no list of that name in this job.")
	}
	p := &fillPage{Frame: o.frame(s, r, "New "+f.One, "more"), Action: "/jobs/" + o.ID + "/add", List: list, One: f.One, Next: form.Get("next")}
	item := works.Under(list, "")
	if key := f.Of.Key; key != nil {
		p.Key = &blank{Path: list, Name: key.Name, Field: key, Value: form.Get("name " + list)}
	}
	p.take(o, item, capital(f.One), f.Of, func(b *blank) bool {
		b.Now, b.Follows = "", ""
		switch b.Name {
		case "for":
			if list == signingList {
				b.Value = string(trade.AllThree)
			}
		case "date":
			if list == signingList {
				b.Value = s.Now().Format("2006-01-02")
			}
		case "who":
			b.Value = s.Who(r)
		case "when":
			b.Value = s.Now().Format("2006-01-02 15:04")
		}
		if list == signingList && b.Name == "name" && slices.Contains(b.Choices, s.Who(r)) {
			b.Value = s.Who(r)
		}
		if given := form.Get(b.Name); given != "" {
			b.Value = given
		}
		b.Path = b.Path[len(item):] // the item has no path before it has a name
		return true
	})
	clause, about := form.Get("clause"), form.Get("about")
	for _, one := range o.Found {
		if clause != "" && one.Clause.Name == clause && (about == "" || o.Job.About(one) == about) {
			p.AboutWhat = o.Job.About(one)
			p.About = append(p.About, rule{Finding: one, Of: o.sheetOf(one.Path)})
			break
		}
	}
	for i, g := range p.Groups {
		g.Folded = i > 0
		for _, b := range g.Fields {
			b.Settled = len(p.About) > 0 && (b.Name == "clause" || b.Name == "about")
		}
	}
	return p, nil
}

func (s *Server) add(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	p, err := s.addPage(r, o, r.URL.Query().Get("list"), r.URL.Query())
	if err != nil {
		return err
	}
	return render(w, http.StatusOK, "fill.html", p)
}

// enterAdd adds an item with all that the form says of it.
func (s *Server) enterAdd(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return Refuse(http.StatusBadRequest, "The form could not be read.")
	}
	list := r.PostFormValue("list")
	p, err := s.addPage(r, o, list, r.PostForm)
	if err != nil {
		return err
	}
	a := s.act(r, o.ID, "")
	name := a.ID
	if p.Key != nil {
		name = strings.Join(strings.Fields(p.Key.Value), " ")
	}
	p.item = works.Under(list, name)
	item := p.item
	entries := p.typed(r, o)
	for i := range entries {
		entries[i].Path = item + entries[i].Path
	}
	there := o.Record.Items(list)
	entries = o.anew(item, entries)
	first := []job.Entry{o.entry(r, item, whole(len(there)+1))}
	wrong := ""
	switch {
	case p.Key != nil && name == "":
		wrong = "Say first what the " + p.One + " is called."
	case slices.Contains(there, name):
		wrong = "There is a " + p.One + " of that name already."
	case p.Key == nil && len(entries) == 0:
		wrong = "There is nothing on the form yet."
	}
	if wrong != "" {
		p.Problems, p.Form = []string{wrong}, a.ID
		return render(w, http.StatusUnprocessableEntity, "fill.html", p)
	}
	a.What = p.One + " added"
	if p.Key != nil {
		a.What = spoken(item) + " added"
	} else if len(entries) > 0 {
		a.What += ": " + last(entries[0].Path) + " " + entries[0].Value
	}
	a.Entries = append(first, entries...)
	a = a.Stamped()
	next := p.Next
	if next == "" {
		next = sheetURL(o.ID, item)
	}
	return s.again(w, r, o, p, a.Entries[:1], a.Entries[1:], s.enter(w, r, o, a, o.onward(next)))
}

// fillURL is the address of the form of what parts of a job lack.
func fillURL(job, next string, of ...string) string {
	return "/jobs/" + job + "/fill?" + url.Values{"of": of, "next": {next}}.Encode()
}

// addURL is the address of the form of a new item of a list.
func addURL(job, list, next string) string {
	return "/jobs/" + job + "/add?" + url.Values{"list": {list}, "next": {next}}.Encode()
}

// judgementURL is the address of the form that settles a rule left to a person.
func (o *opened) judgementURL(f finding.Finding, next string) string {
	return "/jobs/" + o.ID + "/add?" + url.Values{"list": {"judgements"}, "clause": {f.Clause.Name}, "about": {o.Job.About(f)}, "next": {next}}.Encode()
}
