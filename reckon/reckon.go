// Package reckon answers from a handful of facts, before there is a job: a
// length, a size, a kind of cable, a current or power, an earthing. It writes
// them into an ordinary job record and asks the one model, its rules and its
// expectations; nothing is worked out here that they work out.
//
// What was not said is assumed, stands beside the answer with what it rests on,
// and is written as assumed into the job that may be made of it. A verdict that
// rests on an assumption holds if it is as assumed, and no further.
package reckon

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"chargewright/job"
	"chargewright/quantity"
	"chargewright/standard"
)

// Names in the record that is reckoned with: those of a new job.
const (
	circuit = "circuits/charge point"
	point   = "points/CP1"
	cable   = circuit + "/cable"
	device  = circuit + "/device"
	leg     = circuit + "/legs/first leg"
)

// Ask is something that may be said: what it is called, where it belongs in the
// record, and how it is written.
type Ask struct {
	Name  string // "length"
	Label string // "Length of the run"
	Like  string // "25 m"
	Paths []string
}

// Asks is everything that may be said, in the order of a page. The load is a
// power or a current; a device is a type and a rating; a stay and a reading
// are no part of a record's design.
func Asks() []Ask {
	return []Ask{
		{"length", "Length of the run", "25 m", []string{leg + "/length"}},
		{"size", "Size", "6 mm²", []string{cable + "/csa"}},
		{"cable", "Cable", "SWA, T&E, singles", []string{cable + "/construction"}},
		{"load", "Power or current of the point", "7.4 kW or 32 A", []string{point + "/power", point + "/current"}},
		{"earthing", "Earthing of the supply", "PME, TN-S, earth rod", []string{"supply/earthing"}},
		{"device", "Device", "B40 RCBO", []string{device + "/type", device + "/rating"}},
		{"Ze", "Ze", "0.18 Ω", []string{"supply/Ze"}},
		{"phases", "Phases", "1 or 3", []string{point + "/phases"}},
		{"method", "How it runs", "clipped direct, duct", []string{leg + "/method"}},
		{"insulation", "Insulation", "XLPE or PVC", []string{cable + "/insulation"}},
		{"stay", "Time plugged in", "8 h", nil},
		{"reading", "R1+R2 read", "0.34 Ω", nil},
	}
}

// Said is what was said, by the name of what may be said, as it was typed.
type Said map[string]string

// Wrong is what cannot be used of what was said. It is safe to show to anyone.
type Wrong struct{ Name, Found, Want string }

func (w Wrong) Error() string { return fmt.Sprintf("%s is %q: %s", w.Name, w.Found, w.Want) }

// Words sorts words said in any order into what they are, by what takes them:
// "25 m, 6 mm² SWA, 7.4 kW, PME, B40". The longest run of words that is one
// fact is one; what is none, or is said twice, is refused.
func Words(text string) (Said, error) {
	words := strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == ',' || r == ';' || r == '\t' || r == '\n' })
	said := Said{}
	var wrong []error
	for i := 0; i < len(words); {
		n, name, fact := 0, "", ""
		for most := min(len(words), i+mostWords); most > i && name == ""; most-- {
			if name, fact = nameOf(strings.Join(words[i:most], " ")); name != "" {
				n = most - i
			}
		}
		if name == "" {
			wrong = append(wrong, Wrong{"what was said", words[i], "no fact is written so: " + likes()})
			i++
			continue
		}
		if before, twice := said[name]; twice {
			wrong = append(wrong, Wrong{name, fact, fmt.Sprintf("it is %q already: one is wanted", before)})
		}
		said[name], i = fact, i+n
	}
	return said, errors.Join(wrong...)
}

// mostText is the longest that one fact is written, in bytes.
const mostText = 80

// mostWords is the most words that one fact is written in.
const mostWords = 6

// likes says how facts are written.
func likes() string {
	var out []string
	for _, a := range Asks() {
		out = append(out, a.Like)
	}
	return strings.Join(out, "; ") + " are"
}

// named is the beginnings that tell which of two resistances is meant.
var named = []struct{ begins, name string }{{"ze ", "Ze"}, {"r1+r2 ", "reading"}, {"reads ", "reading"}}

// nameOf returns which fact a text is, and the fact without its name; nothing
// where it is none. A lone letter or number might be any of several.
func nameOf(text string) (name, fact string) {
	for _, n := range named {
		if len(text) > len(n.begins) && strings.EqualFold(text[:len(n.begins)], n.begins) && takes(n.name, text[len(n.begins):]) {
			return n.name, text[len(n.begins):]
		}
	}
	if len(text) < 2 || strings.Trim(text, "0123456789.") == "" {
		return "", ""
	}
	for _, a := range Asks() {
		if a.Name != "reading" && takes(a.Name, text) {
			return a.Name, text
		}
	}
	return "", ""
}

// takes reports whether a text is right for what is asked.
func takes(name, text string) bool {
	switch name {
	case "device":
		_, _, _, err := deviceOf(text)
		return err == nil
	case "phases":
		_, err := phasesOf(text)
		return err == nil
	case "stay":
		_, err := stayOf(text)
		return err == nil
	case "reading":
		_, err := readingOf(text)
		return err == nil
	}
	for _, a := range Asks() {
		if a.Name == name {
			return slices.ContainsFunc(a.Paths, func(path string) bool {
				_, fits := job.FieldAt(path).Takes(text)
				return fits
			})
		}
	}
	return false
}

// Fact is one fact that an answer rests on.
type Fact struct {
	Label   string `json:"fact"`
	Value   string `json:"value"`
	Assumed bool   `json:"assumed"`
	Why     string `json:"why,omitempty"` // what an assumption rests on
	path    string
	marked  string // as the record writes it where it can say that it is assumed
}

// facts is what is said and assumed so far, written into a record.
type facts struct {
	file *job.File
	list []Fact
}

// begin returns the record of a new job with what was said in it.
func begin(said Said) (*facts, error) {
	file, err := job.ReadRecord("", job.Starter(""))
	if err != nil {
		return nil, fmt.Errorf("read the starter: %w", err)
	}
	f := &facts{file: file}
	var wrong []error
	for _, a := range Asks() {
		text := strings.TrimSpace(said[a.Name])
		switch {
		case text == "":
			continue
		case len(text) > mostText:
			wrong = append(wrong, Wrong{a.Name, text[:mostText] + "…", "it is longer than any such fact"})
			continue
		}
		if err := f.say(a, text); err != nil {
			wrong = append(wrong, err)
		}
	}
	for name := range said {
		if !slices.ContainsFunc(Asks(), func(a Ask) bool { return a.Name == name }) {
			wrong = append(wrong, Wrong{name, said[name], "nothing of that name is asked"})
		}
	}
	return f, errors.Join(wrong...)
}

// say writes what was said into the record.
func (f *facts) say(a Ask, text string) error {
	switch a.Name {
	case "device":
		family, rating, curve, err := deviceOf(text)
		if err != nil {
			return err
		}
		if curve {
			f.assume("Type of device", device+"/type", family, "only the curve was said; a point's own RCD is mostly in its RCBO (common practice, no source)")
		} else {
			f.put("Type of device", device+"/type", family)
		}
		f.put("Rating of device", device+"/rating", rating)
		return nil
	case "phases":
		n, err := phasesOf(text)
		if err != nil {
			return err
		}
		f.put("Phases", point+"/phases", n)
		return nil
	case "stay":
		_, err := stayOf(text)
		return err
	case "reading":
		_, err := readingOf(text)
		return err
	}
	for _, path := range a.Paths {
		if shown, fits := job.FieldAt(path).Takes(text); fits {
			f.put(a.Label, path, shown)
			return nil
		}
	}
	return wrongly(a.Name, text, f.file.Set(a.Paths[0], text))
}

// wrongly says what would be right, in the words of the record's own reader.
func wrongly(name, text string, err error) error {
	var ps job.Problems
	if errors.As(err, &ps) && len(ps) > 0 && ps[0].Want != "" {
		return Wrong{name, text, ps[0].Want}
	}
	return Wrong{name, text, "it is not understood"}
}

func (f *facts) put(label, path, value string) { f.enter(Fact{Label: label, Value: value, path: path}) }

// assume writes a fact that nobody said.
func (f *facts) assume(label, path, value, why string) {
	f.enter(Fact{Label: label, Value: value, Assumed: true, Why: why, path: path})
}

func (f *facts) enter(fact Fact) {
	if err := f.file.Set(fact.path, cmp.Or(fact.marked, fact.Value)); err != nil {
		panic(fmt.Sprintf("%s cannot be %q: %v", fact.path, fact.Value, err)) // what is said was tried, and what is assumed is ours
	}
	f.list = append(f.list, fact)
}

// known returns what stands at a path, if anything.
func (f *facts) known(path string) (string, bool) {
	for _, fact := range f.list {
		if fact.path == path {
			return fact.Value, true
		}
	}
	return "", false
}

// deviceOf reads a device said in one: "B40", "C32 MCB", "RCBO B 40 A",
// "gG 63 A". curve reports that only the curve and the rating were said.
func deviceOf(text string) (family, rating string, curve bool, err error) {
	kind, amps := job.FieldAt(device+"/type"), job.FieldAt(device+"/rating")
	digits := func(r rune) bool { return r >= '0' && r <= '9' }
	for i := range text { // each number in turn, with the unit that may follow it
		if !digits(rune(text[i])) || i > 0 && (digits(rune(text[i-1])) || text[i-1] == '.') {
			continue
		}
		end := i
		for end < len(text) && (digits(rune(text[end])) || text[end] == '.') {
			end++
		}
		number, rest := text[i:end], text[end:]
		if r := strings.TrimLeft(rest, " "); len(r) > 0 && (r[0] == 'A' || r[0] == 'a') && (len(r) == 1 || r[1] == ' ') {
			rest = r[1:]
		}
		words := strings.TrimSpace(text[:i] + " " + strings.TrimSpace(rest))
		shown, fits := amps.Takes(number + " A")
		if type_, known := kind.Takes(words); fits && known {
			named, _, _ := strings.Cut(type_, " (")
			letter := strings.ToUpper(words)
			if letter == "B" || letter == "C" || letter == "D" {
				return strings.Replace(named, "60898", "61009", 1), shown, true, nil
			}
			return named, shown, false, nil
		}
		if _, answer := standard.Spoken("type of device", words); answer != "" && fits {
			err = Wrong{"device", text, answer}
		}
	}
	if err == nil {
		err = Wrong{"device", text, "its type and its rating are wanted, like B40 RCBO, C32 MCB or 63 A gG"}
	}
	return "", "", false, err
}

// phasesOf reads a number of phases, in words too.
func phasesOf(text string) (string, error) {
	switch strings.ToLower(strings.NewReplacer(" ", "", "-", "").Replace(text)) {
	case "1", "singlephase", "1phase", "1ph", "sp", "single":
		return "1", nil
	case "3", "threephase", "3phase", "3ph", "tp", "tp&n", "tpn", "three":
		return "3", nil
	}
	return "", Wrong{"phases", text, "1 or 3 is wanted"}
}

// stayOf reads how long a vehicle is plugged in.
func stayOf(text string) (quantity.Seconds, error) {
	const least, most = 60, 7 * 24 * 3600
	t, err := quantity.ParseSeconds(text)
	if err != nil || t < least || t > most {
		return 0, Wrong{"stay", text, "a time from 1 min to 168 h is wanted, like 8 h"}
	}
	return t, nil
}

// readingOf reads a resistance that a meter showed.
func readingOf(text string) (quantity.Ohms, error) {
	r, err := quantity.ParseOhms(text)
	if err != nil || !(r > 0) || r > 1000 {
		return 0, Wrong{"reading", text, "a resistance above 0 Ω is wanted, like 0.34 Ω"}
	}
	return r, nil
}
