package reckon

import (
	"encoding/csv"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"chargewright/design"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/standard"
	"chargewright/trade"
)

func answer(t testing.TB, text string) *Answer {
	t.Helper()
	said, err := Words(text)
	if err != nil {
		t.Fatalf("Words(%q): %v", text, err)
	}
	a, err := Reckon(said)
	if err != nil {
		t.Fatalf("Reckon(%q): %v", text, err)
	}
	return a
}

func row(a *Answer, begins string) (Row, bool) {
	i := slices.IndexFunc(a.Rows, func(r Row) bool { return strings.HasPrefix(r.What, begins) })
	if i < 0 {
		return Row{}, false
	}
	return a.Rows[i], true
}

var number = regexp.MustCompile(`[0-9]+(\.[0-9]+)?`)

// TestPublished holds the answers to what others worked out.
func TestPublished(t *testing.T) {
	f, err := os.Open("testdata/published.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	read := csv.NewReader(f)
	read.Comment = '#'
	rows, err := read.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range rows[1:] {
		said, what, of, after, source := c[0], c[1], c[2], c[3], c[6]
		t.Run(source+": "+said+", "+what, func(t *testing.T) {
			r, is := row(answer(t, said), what)
			text := r.Value
			if of == "limit" {
				text = r.Limit
			}
			if _, rest, found := strings.Cut(text, after); is && found {
				text = rest
			}
			got, err := strconv.ParseFloat(number.FindString(text), 64)
			want, _ := strconv.ParseFloat(c[4], 64)
			within, _ := strconv.ParseFloat(c[5], 64)
			if strings.Contains(text, "kΩ") {
				got *= 1000
			}
			if err != nil || math.Abs(got-want) > within {
				t.Errorf("%s of %s = %q (%v, lacking %v), want %v within %v", of, what, text, got, r.Lacks, want, within)
			}
		})
	}
}

// Three to five facts, in any order and as people write them, give an answer.
func TestWords(t *testing.T) {
	for _, tt := range []struct {
		text string
		want Said
	}{
		{"25 m 6 mm² SWA 7.4 kW PME", Said{"length": "25 m", "size": "6 mm²", "cable": "SWA", "load": "7.4 kW", "earthing": "PME"}},
		{"T&E, 32A, 18m, 10mm2", Said{"length": "18m", "size": "10mm2", "cable": "T&E", "load": "32A"}},
		{"earth rod; B40 RCBO; clipped direct; 3 phase; 8 h", Said{"earthing": "earth rod", "device": "B40 RCBO", "method": "clipped direct", "phases": "3 phase", "stay": "8 h"}},
		{"Ze 0.18 Ω, R1+R2 0.34 Ω, XLPE, C32 MCB", Said{"Ze": "0.18 Ω", "reading": "0.34 Ω", "insulation": "XLPE", "device": "C32 MCB"}},
		{"63 A gG", Said{"device": "63 A gG"}},
	} {
		got, err := Words(tt.text)
		if err != nil || len(got) != len(tt.want) {
			t.Errorf("Words(%q) = %q, %v, want %q", tt.text, got, err, tt.want)
		}
		for name, want := range tt.want {
			if got[name] != want {
				t.Errorf("Words(%q) reads %s as %q, want %q", tt.text, name, got[name], want)
			}
		}
	}
	for text, says := range map[string]string{
		"25 m 30 m":      "it is \"25 m\" already",
		"7.4 kW bananas": "no fact is written so",
	} {
		if got, err := Words(text); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("Words(%q) = %q, %v, want an error saying %q", text, got, err, says)
		}
	}
	for _, tt := range []struct {
		said Said
		says string
	}{
		{Said{"size": "6 mm² SWA"}, "it is two facts: 6 mm² here, and armoured under construction"},
		{Said{"device": "RCBO 40 A"}, "an RCBO is BS EN 61009 type B, C or D"},
		{Said{"device": "B"}, "like B40 RCBO"},
		{Said{"earthing": "overhead"}, "look where the main earthing terminal goes"},
		{Said{"stay": "1 s"}, "from 1 min to 168 h"},
		{Said{"length": "-3 m"}, "length"},
		{Said{"length": strings.Repeat("1", 500)}, "longer than any such fact"},
		{Said{"colour": "red"}, "nothing of that name is asked"},
		{Said{"cable": "T&E", "phases": "3"}, "it has one line"},
	} {
		if _, err := Reckon(tt.said); err == nil || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("Reckon(%q) = %v, want an error saying %q", tt.said, err, tt.says)
		}
	}
}

// Nothing is taken for granted in silence: each fact of the record that was
// reckoned with was said or stands among the assumed, with a reason.
func TestEveryAssumptionIsShown(t *testing.T) {
	for _, text := range []string{"", "25 m", "25 m 6 mm² SWA 7.4 kW PME", "22 kW", "earth rod T&E", "duct SWA 40 m", "B40 10 mm² Ze 0.2 Ω"} {
		a := answer(t, text)
		said, _ := Words(text)
		shown := 0
		for _, f := range a.Facts {
			if f.Assumed && f.Why == "" {
				t.Errorf("%q: %s is assumed to be %s, and nothing says why", text, f.Label, f.Value)
			}
			if !f.Assumed {
				shown++
			}
		}
		if shown < len(said) {
			t.Errorf("%q: %d facts stand as said, of %d", text, shown, len(said))
		}
		for _, r := range a.Rows {
			if r.Judged && r.Verdict == finding.Meets && !strings.Contains(a.Words(r), "if as assumed") {
				t.Errorf("%q: %s is said to meet, and not what it hangs on", text, r.What)
			}
			if r.Value == "" && len(r.Lacks) == 0 {
				t.Errorf("%q: %s is not known, and nothing says what it lacks", text, r.What)
			}
		}
	}
}

// A length is never assumed: without it the volt drop is not known, and the
// longest run is.
func TestNoLengthIsAssumed(t *testing.T) {
	a := answer(t, "6 mm² SWA 32 A PME")
	if r, _ := row(a, "volt drop"); r.Verdict != finding.NotKnown || !strings.Contains(strings.Join(r.Lacks, " "), "length") {
		t.Errorf("volt drop without a length is %v, lacking %q", r.Verdict, r.Lacks)
	}
	if r, _ := row(a, "longest run"); r.Value == "" {
		t.Errorf("no longest run: it lacks %q", r.Lacks)
	}
}

// The rules say the same of the run as of the job made of it, once what was
// assumed is entered there; and until then they ask for it.
func TestAJobOfIt(t *testing.T) {
	a := answer(t, "25 m 6 mm² SWA 7.4 kW PME B40 RCBO")
	text, err := a.Job("Barn")
	if err != nil {
		t.Fatal(err)
	}
	j, err := job.Read("barn.yaml", text)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	if ze := j.Supply.Ze; ze.KnownBy.Or("") != trade.Assumed || ze.Value.Or(0) != 0.35 || ze.Reason == "" {
		t.Errorf("Ze is %v, want 0.35 Ω, assumed, with its reason", ze)
	}
	if l := j.Circuits[0].Legs[0]; l.Length.Or(0) != 25 || l.Method.Or("") != "C" || j.IsAssumed(leg+"/length") || !j.IsAssumed(leg+"/method") {
		t.Errorf("the leg is %v: its length was said, its method is assumed: %v", l, j.Assumed())
	}
	rules, err := standard.Open(j.Edition)
	if err != nil {
		t.Fatal(err)
	}
	verdict := func(j *job.Job) (out finding.Finding) {
		for _, f := range design.Check(model.New(j, rules)) {
			if f.Key == "cable rating" {
				out = f
			}
		}
		return out
	}
	if f := verdict(j); f.Words() != "meets, if as assumed" {
		t.Errorf("the cable of the new job is %v before anybody saw how it runs", f.Words())
	}
	file, err := job.ReadRecord("barn.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range a.Facts {
		if f.path != "" && f.Assumed && f.marked == "" {
			if err := file.Set(f.path, f.Value); err != nil {
				t.Fatal(err)
			}
		}
	}
	if j, err = file.Job(); err != nil {
		t.Fatal(err)
	}
	r, _ := row(a, "cable carries")
	if f := verdict(j); f.Verdict != r.Verdict || f.Value.String() != r.Value || f.Limit.String() != r.Limit {
		t.Errorf("the job says %v, %v of %v; the answer %v, %v of %v", f.Verdict, f.Value, f.Limit, r.Verdict, r.Value, r.Limit)
	}
}

// FuzzReckon: no panic, whatever is said; what is answered can be made a job
// that reads.
func FuzzReckon(f *testing.F) {
	for _, s := range []string{"25 m 6 mm² SWA 7.4 kW PME", "B40", "RCBO 1e9 A", "", "\xff", "Ze 0.18 Ω 3 phase", "0.001 m 1000 mm²", "5 km singles duct", "1 MW"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		said, err := Words(text)
		if err != nil {
			return
		}
		a, err := Reckon(said)
		if err != nil {
			return
		}
		file, err := a.Job("x")
		if err != nil {
			t.Fatalf("%q: no job of it: %v", text, err)
		}
		if _, err := job.Read("x.yaml", file); err != nil {
			t.Fatalf("%q: the job of it does not read: %v", text, err)
		}
	})
}
