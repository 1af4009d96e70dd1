package web

// What a job leaves open, chosen: each choice with its reasons and what would
// flip it, put into the job with one tap; and the ways a job may be done, side
// by side.

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"chargewright/choose"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/store"
)

// aimForm is what a design is to be best by, as it was typed.
type aimForm struct{ Aim, Years, Tariff, Hours string }

// usualAim is what stands in the form before anything is typed.
var usualAim = aimForm{Aim: "first", Years: "20", Tariff: "0.25", Hours: "1000"}

// aimWord is one aim a person may pick.
type aimWord struct {
	Word    string
	Purpose choose.Purpose
}

var aimWords = func() []aimWord {
	var out []aimWord
	for _, w := range []string{"first", "life", "fewest"} {
		p, _ := choose.PurposeNamed(w)
		out = append(out, aimWord{w, p})
	}
	return out
}()

// aimOf reads the form; what was left out is as usual.
func aimOf(value func(string) string) (aimForm, choose.Aim, error) {
	f := usualAim
	for _, field := range []struct {
		name string
		to   *string
	}{{"aim", &f.Aim}, {"years", &f.Years}, {"tariff", &f.Tariff}, {"hours", &f.Hours}} {
		if v := strings.TrimSpace(value(field.name)); v != "" {
			*field.to = v
		}
	}
	purpose, known := choose.PurposeNamed(f.Aim)
	if !known {
		return f, choose.Aim{}, Refuse(http.StatusUnprocessableEntity, "Best by is %q: first, life or fewest is wanted.", f.Aim)
	}
	aim := choose.Aim{Purpose: purpose}
	for _, n := range []struct {
		label, text string
		most        float64
		to          *float64
	}{{"Years that losses count", f.Years, 100, &aim.Years}, {"Price of one kWh", f.Tariff, 1000, &aim.Tariff},
		{"Hours a year at full load", f.Hours, 8784, &aim.Hours}} {
		var err error
		if *n.to, err = figureOf(n.label, n.text, 0, n.most); err != nil {
			return f, aim, err
		}
	}
	return f, aim, nil
}

// figureOf reads a bare number within bounds.
func figureOf(label, text string, least, most float64) (float64, error) {
	x, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	if err != nil || !(x >= least && x <= most) {
		return 0, Refuse(http.StatusUnprocessableEntity, "%s is %q: a number from %v to %v is wanted.", label, text, least, most)
	}
	return x, nil
}

// chosen is a design with the parts that can be put into the job.
type chosen struct {
	*choose.Outcome
	Parts []choose.Part
}

// choice chooses what the job leaves open.
func (o *opened) choice(aim choose.Aim) (chosen, error) {
	stock, err := choose.BuiltIn()
	if err != nil {
		return chosen{}, err
	}
	aim.While = o.Model.While
	found := choose.Choose(o.Job, o.Model.Rules, stock, aim)
	return chosen{found, found.Parts()}, o.Model.Left()
}

// Seen stands for the choice that a person was shown.
func (c chosen) Seen() string {
	h := sha256.New()
	for _, s := range c.Settings {
		fmt.Fprintf(h, "%q %q\n", s.Path, s.Value)
	}
	return hex.EncodeToString(h.Sum(nil))[:16]
}

// Open says how many facts are chosen.
func (c chosen) Open() string { return counted(len(c.Settings), "fact", "facts") }

// counted is a number of things in words.
func counted(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return whole(n) + " " + more
}

// Summary counts the verdicts on the job as chosen.
func (c chosen) Summary() finding.Summary { return finding.Summarise(c.Findings) }

// Against is what the job as chosen would not meet, or would leave not known.
func (c chosen) Against() []finding.Finding {
	out := slices.DeleteFunc(slices.Clone(c.Findings), func(f finding.Finding) bool {
		return f.Verdict != finding.Fails && f.Verdict != finding.NotKnown
	})
	finding.ByUrgency(out)
	return out
}

// Groups gathers the circuits that are made of the same.
func (c chosen) Groups() [][]choose.CircuitChoice { return choose.Alike(c.Circuits) }

func (s *Server) choose(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	f, aim, err := aimOf(r.FormValue)
	return s.renderChoose(w, r, o, http.StatusOK, f, aim, err)
}

func (s *Server) renderChoose(w http.ResponseWriter, r *http.Request, o *opened, status int, f aimForm, aim choose.Aim, wrong error) error {
	page := struct {
		Frame
		Aim      aimForm
		Aims     []aimWord
		Problems []string
		Chosen   *chosen
		Caution  string
	}{Frame: o.frame(s, r, "Choose what is open", "more"), Aim: f, Aims: aimWords, Caution: choose.PriceCaution}
	if wrong != nil {
		if status, page.Problems = explain(wrong); status == http.StatusInternalServerError {
			return wrong
		}
	}
	if aim.Purpose != "" {
		c, err := o.choice(aim)
		if err != nil {
			return err
		}
		page.Chosen = &c
	}
	return render(w, status, "choose.html", page)
}

// applyChoice puts the choice that was shown into the job, all of it or one
// part, as one act.
func (s *Server) applyChoice(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	f, aim, err := aimOf(r.PostFormValue)
	if err != nil {
		return s.renderChoose(w, r, o, http.StatusOK, f, aim, err)
	}
	here := "/jobs/" + o.ID + "/choose?aim=" + encoded(f.Aim) + "&years=" + encoded(f.Years) + "&tariff=" + encoded(f.Tariff) + "&hours=" + encoded(f.Hours)
	if id := s.actID(r, o.ID); slices.ContainsFunc(o.Acts, func(a store.Act) bool { return a.ID == id }) {
		return goOn(w, r, here, id) // sent twice: it was done
	}
	c, err := o.choice(aim)
	if err != nil {
		return err
	}
	if r.PostFormValue("seen") != c.Seen() {
		return s.renderChoose(w, r, o, http.StatusOK, f, aim,
			Refuse(http.StatusConflict, "Nothing was entered: the job has changed since this was shown, and something else is chosen now. Look again."))
	}
	var only []string
	if of := r.PostFormValue("only"); of != "" {
		only = []string{of}
	}
	a, err := s.choiceAct(r, o, c, only)
	if err != nil {
		return s.renderChoose(w, r, o, http.StatusOK, f, aim, err)
	}
	return s.enter(w, r, o, a, here)
}

// choiceAct is the act that puts parts of a choice into the job, every part
// where none is named.
func (s *Server) choiceAct(r *http.Request, o *opened, c chosen, only []string) (store.Act, error) {
	what := "chosen by " + string(c.Aim.Purpose) + ": "
	var entries []job.Entry
	place := map[string]int{}
	for _, p := range c.Parts {
		if len(only) > 0 && !slices.Contains(only, p.Of) {
			continue
		}
		if !o.Record.Has(p.Of) { // an item that is new, or was taken out before
			list := above(p.Of)
			place[list]++
			entries = append(entries, o.entry(r, p.Of, whole(len(o.Record.Items(list))+place[list])))
		}
		for _, set := range p.Settings {
			entries = append(entries, o.entry(r, set.Path, set.Value))
		}
	}
	for _, of := range only {
		if !slices.ContainsFunc(c.Parts, func(p choose.Part) bool { return p.Of == of }) {
			return store.Act{}, Refuse(http.StatusUnprocessableEntity, "Nothing is chosen for %q. Chosen now: %s.", of, partsOf(c.Parts))
		}
	}
	if len(entries) == 0 {
		return store.Act{}, Refuse(http.StatusUnprocessableEntity, "Nothing is left open that can be chosen, so nothing was entered.")
	}
	if len(only) > 0 {
		for i, of := range only {
			only[i] = spoken(of)
		}
		what += strings.Join(only, "; ")
	} else {
		what += c.Open()
	}
	return s.act(r, o.ID, what, entries...), nil
}

func partsOf(parts []choose.Part) string {
	if len(parts) == 0 {
		return "nothing"
	}
	var out []string
	for _, p := range parts {
		out = append(out, p.Of)
	}
	return strings.Join(out, ", ")
}

func (s *Server) options(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	all, err := o.ways()
	if err != nil {
		return err
	}
	return render(w, http.StatusOK, "options.html", struct {
		Frame
		Options []choose.Option
	}{o.frame(s, r, "Ways to do this job", "more"), all})
}

// ways sets the ways the job may be done side by side.
func (o *opened) ways() ([]choose.Option, error) {
	stock, err := choose.BuiltIn()
	if err != nil {
		return nil, err
	}
	return choose.Options(o.Job, o.Model.Rules, stock, choose.Aim{Purpose: choose.FirstCost, While: o.Model.While}), o.Model.Left()
}
