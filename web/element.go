package web

// The elements of a job: what is on the drawing or belongs to something on it,
// and how findings and readings name each.

import (
	"slices"

	"chargewright/drawing"
	"chargewright/job"
	"chargewright/works"
)

// element is one part of the job that has a sheet.
type element struct {
	Of     string // its sheet: a path, or one of the parts of the supply
	Title  string
	Group  string   // what kind of thing it is
	Places []string // where readings of it are taken
}

// holds reports that what stands at a path of the record is shown on the sheet.
func holds(of, path string) bool {
	p, ofSupply := partOfSupply(of)
	switch {
	case ofSupply && path == "supply":
		return of == "street"
	case ofSupply:
		names := works.NamesOf(path)
		return len(names) > 1 && names[0] == "supply" && slices.Contains(p.fields, names[1])
	case of == "":
		return path == "" || works.Within(path, "site")
	}
	return works.Within(path, of)
}

// sheetOf returns the sheet of what stands at a path: of all that show it the
// one that shows least else.
func (o *opened) sheetOf(path string) string {
	for _, p := range supplyParts {
		if holds(p.of, path) {
			return p.of
		}
	}
	for at := path; at != ""; at = above(at) { // asked of every finding: each looks only upwards
		if _, shown := o.element(at); shown {
			return at
		}
	}
	return ""
}

// supplyPart is a part of the supply that the drawing shows on its own.
type supplyPart struct {
	of, title string
	fields    []string
}

var supplyParts = []supplyPart{
	{"street", "Supply from the street", []string{"earthing", "phases", "voltage", "private", "looped", "unmetered", "supply neutral",
		"generation or storage", "other sources", "neighbours", "Ze", "line-neutral loop", "Ipf", "frequency", "polarity confirmed"}},
	{"cut-out", "Cut-out", []string{"cut-out", "service equipment"}},
	{"meter", "Meter and tails", []string{"tails", "capacity agreed", "agreed capacity", "maximum demand", "sources off meanwhile"}},
	{"earthing", "Main earthing terminal", []string{"earthing conductor", "main bonding", "electrode"}},
}

// paperParts are the parts of a job that are there for its papers.
var paperParts = []struct{ of, title string }{{"certificate", "Certificate"}, {"notification", "Notices"}, {"handover", "Handover"}, {"quotation", "Quotation"}}

// shape is the fields of the part.
func (p supplyPart) shape() *job.Part {
	supply, some := job.PartAt("supply"), &job.Part{}
	for _, name := range p.fields {
		some.Fields = append(some.Fields, supply.Named(name))
	}
	return some
}

func partOfSupply(of string) (supplyPart, bool) {
	i := slices.IndexFunc(supplyParts, func(p supplyPart) bool { return p.of == of })
	if i < 0 {
		return supplyPart{}, false
	}
	return supplyParts[i], true
}

// elements lists every element from the street outwards, laid out once.
func (o *opened) elements() []element {
	if o.all == nil {
		o.all = o.layElements()
		o.sheets = map[string]int{}
		for i, e := range o.all {
			if _, there := o.sheets[e.Of]; !there {
				o.sheets[e.Of] = i
			}
		}
	}
	return o.all
}

func (o *opened) layElements() []element {
	j := o.Job
	out := []element{{Of: "", Title: "The job and its site", Group: "Job"}}
	for _, p := range supplyParts {
		e := element{Of: p.of, Title: p.title, Group: "Supply"}
		switch p.of {
		case "street":
			e.Places = []string{"supply"}
		case "earthing":
			e.Places = []string{"earthing conductor"}
			for i := range j.Supply.Bonding {
				e.Places = append(e.Places, j.Supply.Bonding[i].Thing().Name)
			}
		}
		out = append(out, e)
	}
	for _, el := range j.Electrodes {
		out = append(out, element{works.Under("electrodes", el.Name), drawing.Named("Electrode", el.Name), "Electrodes", []string{el.Name}})
	}
	for _, b := range j.Boards {
		out = append(out, element{works.Under("boards", b.Name), drawing.Named("Board", b.Name), "Boards", []string{b.Name}})
	}
	for _, c := range o.Model.Circuits {
		path := works.Under("circuits", c.Record.Name)
		out = append(out, element{path, drawing.Named("Circuit", c.Record.Name), "Circuits", []string{c.Record.To, c.Record.Name}})
		for _, l := range c.Legs {
			out = append(out, element{works.Under(path+"/legs", l.Record.Name), "Leg " + l.Record.Name + " of " + c.Name(), "Circuits", nil})
		}
	}
	for _, p := range j.Points {
		out = append(out, element{works.Under("points", p.Name), drawing.Named("Point", p.Name), "Points", []string{p.Name}})
	}
	for _, l := range j.Limiters {
		out = append(out, element{works.Under("limiters", l.Name), drawing.Named("Limiter", l.Name), "Limiters", nil})
	}
	for _, l := range j.Loads {
		out = append(out, element{works.Under("loads", l.Name), drawing.Named("Load", l.Name), "Loads", nil})
	}
	for _, s := range j.Sources {
		out = append(out, element{works.Under("sources", s.Name), drawing.Named("Source", s.Name), "Sources", nil})
	}
	for _, p := range paperParts {
		out = append(out, element{Of: p.of, Title: p.title, Group: "For the papers"})
	}
	for _, p := range j.People {
		out = append(out, element{Of: works.Under("people", p.Name), Title: p.Name, Group: "People"})
	}
	for _, i := range j.Instruments {
		out = append(out, element{Of: works.Under("instruments", i.Name), Title: i.Name, Group: "Instruments"})
	}
	return out
}

func (o *opened) element(of string) (element, bool) {
	all := o.elements()
	i, there := o.sheets[of]
	if !there {
		return element{}, false
	}
	return all[i], true
}
