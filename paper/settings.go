package paper

import (
	"fmt"
	"math"
	"strings"
	"time"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/model"
	"chargewright/quantity"
	"chargewright/standard"
	"chargewright/trade"
	"chargewright/works"
)

// Setting is one thing to set at a charge point, what to, and why.
type Setting struct {
	What   string          `json:"what"`
	To     string          `json:"to"`
	Known  bool            `json:"known"`
	Why    string          `json:"why"`
	Source finding.Sources `json:"source,omitzero"`
}

// settingsOf is what to set at points that are set alike.
type settingsOf struct {
	Points   []string  `json:"points"`
	Settings []Setting `json:"settings"`
}

// settings returns what to set at every point, points alike together.
func settings(m *model.Model, fs []finding.Finding) []settingsOf {
	var out []settingsOf
	seen := map[string]int{}
	for _, p := range m.Points {
		list := (&setter{m: m, fs: fs, p: p}).all()
		key := fmt.Sprint(list)
		if i, ok := seen[key]; ok {
			out[i].Points = append(out[i].Points, p.Record.Name)
			continue
		}
		seen[key] = len(out)
		out = append(out, settingsOf{[]string{p.Record.Name}, list})
	}
	return out
}

// setter gathers the settings of one point.
type setter struct {
	m    *model.Model
	fs   []finding.Finding
	p    *model.Point
	list []Setting
}

func (s *setter) add(what, to, why string, source finding.Sources) {
	s.list = append(s.list, Setting{what, orNotKnown(to), to != "", why, source})
}

func (s *setter) all() []Setting {
	s.current()
	s.phases()
	s.limiter()
	s.smart()
	s.protection()
	return s.list
}

// greatestCurrent is the setting that the owner is told too.
const greatestCurrent = "Greatest charging current"

// current is what the point may take.
func (s *setter) current() {
	r := s.p.Record
	rated := s.m.RatedCurrent(r)
	to, why, own := "", rated.Why, ""
	if rated.Known() {
		own = rated.Value.String()
		to = own + " each phase"
	} else {
		why = "needs " + rated.Lacks.String()
	}
	if limit, ok := r.Limit.Get(); ok {
		to, why = limit.String()+" each phase", join("chosen in the record", before("its rating is ", own))
	}
	if s.p.Circuit != nil {
		why = join(why, before("its device is ", ifKnown("%v", s.p.Circuit.Record.Device.Rating)))
	}
	s.add(greatestCurrent, to, why, nil)
	least, why := ifKnown("%v", r.LeastCurrent), "below it the point pauses"
	_, cite, _ := s.m.Rules.PilotDuty(6) // the least current the pilot can tell
	s.add("Least charging current", least, why+"; a vehicle cannot be told less than 6 A", standard.Sources(cite))
}

// phases is which lines the point stands on.
func (s *setter) phases() {
	to, why := "", "the circuit's line conductors are not recorded"
	if s.p.Circuit != nil {
		if l, ok := s.p.Circuit.Record.Phases.Get(); ok {
			to, why = string(l), "as wired; tell the point and the limiter the same, in the same order"
		}
	}
	s.add("Phases it stands on", to, why, nil)
}

// limiter is what holds the supply within its limit.
func (s *setter) limiter() {
	name := s.p.Record.Limiter
	if name == "" || name == "none" {
		why := "the record names no limiter for this point"
		to := ""
		if name == "none" {
			to, why = "none", "the record says that no limiter controls this point: it counts in full"
		}
		s.add("Supply limit", to, join(why, s.verdict(works.TheSupply, "supply demand")), nil)
		return
	}
	for i := range s.m.Job.Limiters {
		l := &s.m.Job.Limiters[i]
		if l.Name != name {
			continue
		}
		about, practice := l.Thing(), finding.From(finding.Practice.Name, "")
		s.add("Supply limit", ifKnown("%v each phase", l.Limit), join("kept at "+orNotKnown(l.At), s.verdict(about, "limiter setting")),
			standard.Sources(s.m.Rules.Clause("load control")))
		to, share := ifKnown("%v in each line, the points together", l.FailSafe), ""
		if together, said := l.FailSafe.Get(); said {
			if n := s.onOneLine(name); n > 1 {
				share = fmt.Sprintf("%v at this point, its equal share where %d stand on one line", quantity.Amperes(math.Floor(float64(together)/float64(n)*10)/10), n)
			}
		}
		s.add("Fail-safe current", to, join(share, "what they may take when clamp or link is lost", s.verdict(about, "limiter fail-safe")), nil)
		s.add("Time to respond", ifKnown("%v", l.ResponseTime), "from exceeding the limit to being back under it", nil)
		s.add("Clamps", join(strings.TrimSpace(l.Clamp), ifKnown("on %s", l.ClampPhases)),
			"each on the live conductor alone, jaws shut, paired with the voltage of its own line", practice)
		s.add("Clamp direction", "arrow from the supply to the loads", "as its maker marks it; prove it: a known load must raise the reading",
			practice)
		if l.ClampLead.IsKnown() || l.ClampLeadMost.IsKnown() {
			s.add("Clamp lead", join(ifKnown("%v", l.ClampLead), ifKnown("the maker allows %v", l.ClampLeadMost)), s.verdict(about, "clamp lead"), nil)
		}
	}
}

// onOneLine is how many points of a limiter stand on the line that most of them
// stand on.
func (s *setter) onOneLine(limiter string) int {
	var on [3]int
	for _, p := range s.m.Points {
		if p.Record.Limiter != limiter {
			continue
		}
		for k, i := range s.m.PointCurrents(p).Phase {
			if i > 0 {
				on[k]++
			}
		}
	}
	return max(on[0], on[1], on[2])
}

// verdict is the outcome of one requirement, in a few words.
func (s *setter) verdict(of works.Thing, key string) string {
	for _, f := range s.fs {
		switch {
		case f.Path != of.Path || f.Key != key:
		case f.Verdict == finding.Meets && !f.Margin.IsZero():
			return join(f.Words()+" its rule by "+f.Margin.String(), f.Why.String())
		default:
			return f.Says()
		}
	}
	return ""
}

// smart is what the smart charge point rules ask of a private point.
func (s *setter) smart() {
	public, said := s.p.Record.Public.Get()
	scope := "for private points sold in Great Britain"
	switch {
	case said && public:
		scope = "this point is public: the rule is for private ones, set it as the owner wishes"
	case !said:
		scope += "; whether this one is public is not known"
	case s.m.Job.Site.Nation == "Northern Ireland":
		scope = "the rule does not extend to Northern Ireland; set it as the owner wishes"
	}
	delay, greatest := "", ""
	var cites []standard.Citation
	if v, c, err := s.m.Rules.Limit("random delay"); err == nil {
		delay, cites = fmt.Sprintf("up to %.0f s", v), append(cites, c)
	}
	if v, c, err := s.m.Rules.Limit("random delay greatest"); err == nil {
		greatest, cites = fmt.Sprintf("may be raised to %.0f s", v), append(cites, c)
	}
	s.add("Randomised delay", delay, join(scope, greatest, "it never delays a reduction of current"), standard.Sources(cites...))
	hours := ""
	cites = nil
	if r, ok := s.requirement("R119"); ok {
		hours, cites = "outside "+r.Value+" on weekdays, "+r.Unit, append(cites, r.Cite)
	}
	s.add("Default charging hours", hours, join(scope, "offered at first use; the user may change or remove them"), standard.Sources(cites...))
}

func (s *setter) requirement(id string) (standard.Requirement, bool) {
	for _, r := range s.m.Rules.Requirements() {
		if r.ID == id {
			return r, true
		}
	}
	return standard.Requirement{}, false
}

// protection is what is not set but must be found there.
func (s *setter) protection() {
	r := s.p.Record
	about := r.Thing()
	measure := ifKnown("%s", r.Earthing.Measure)
	if m, ok := r.Earthing.Measure.Get(); ok && m == trade.OpenPENDetection {
		measure = join(measure, ifKnown("%s", r.OpenPEN))
	}
	if r.Earthing.Electrode != "" {
		measure = join(measure, r.Earthing.Electrode)
	}
	s.add("Earthing measure", measure, s.verdict(about, "open PEN"), standard.Sources(s.m.Rules.Clause("open pen")))
	rcd, why := "", "no RCD of its own is recorded"
	if own, ok := s.p.OwnRCD(); ok {
		rcd, why = rcdText(&own.RCD), "in its own circuit"
		if own.BuiltIn {
			why = "built into the point"
		}
	}
	s.add("RCD", rcd, why, standard.Sources(s.m.Rules.Clause("rcd point")))
	s.add("6 mA d.c. detection", known(r.DCDetection), s.verdict(about, "RCD type"), nil)
}

// settingsCard is what to set at commissioning, one card for points alike.
func settingsCard(m *model.Model, list []settingsOf, made time.Time) *document.Document {
	d := newDocument(m, made, "Settings card", "")
	if len(list) == 0 {
		d.Sections = []document.Section{{Blocks: []document.Block{document.Paragraph{Text: "The job has no charge points yet."}}}}
		return d
	}
	d.Sections = []document.Section{{Blocks: []document.Block{document.Caution{Head: "Inside the point is live", Lines: []string{"Isolate, lock off and prove " +
		"dead before the cover comes off. A qualified person checks each setting against the maker's instructions, which come before this card."}}}}}
	for _, of := range list {
		t := document.Table{Small: true, Columns: []document.Column{{Head: "Set", Share: 32}, {Head: "To", Share: 50}, {Head: "Why", Share: 82},
			{Head: "Seen", Share: 16, Boxed: true}}}
		for _, s := range of.Settings {
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: s.What}, {Text: s.To, Bold: s.Known},
				{Text: capital(s.Why)}, {}}, Least: 6})
		}
		heading := drawing.Named("Point", of.Points[0])
		if len(of.Points) > 1 {
			heading = fmt.Sprintf("%d points set alike: %s", len(of.Points), drawing.Names(of.Points))
		}
		d.Sections = append(d.Sections, document.Section{Heading: heading, Blocks: []document.Block{t, document.Lines{"Set by", "Date"}}})
	}
	return d
}

// smartTable is what the regulations ask, to be written in on site.
func smartTable(m *model.Model) document.Table {
	var asked []string
	for _, f := range m.Rules.FormFields() {
		if f.Paper == "Smart charge point statement" {
			asked = append(asked, capital(f.Meaning))
		}
	}
	return stepsTable("Seen, by, date", 6, asked)
}

func bracketed(numbers string) string {
	if numbers == "" {
		return ""
	}
	return " [" + numbers + "]"
}
