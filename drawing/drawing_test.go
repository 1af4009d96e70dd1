package drawing_test

import (
	"bytes"
	"encoding/xml"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"chargewright/drawing"
	"chargewright/finding"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// scenes is every drawing of a job.
func (d drawn) scenes() []drawing.Scene {
	out := drawing.StreetToVehicle(d.m, d.fs)
	for _, p := range d.m.Points {
		out = append(out, drawing.Elevation(d.m, p))
	}
	out = append(out, drawing.Elevations(d.m)...)
	for _, e := range d.es {
		out = append(out, drawing.BandPicture(e))
	}
	return out
}

func TestTextsStayInsideAndApart(t *testing.T) {
	for _, d := range jobs(t) {
		for _, s := range d.scenes() {
			texts := s.Texts()
			for i, a := range texts {
				l, top, r, b := a.Box()
				const slack = 0.01
				if l < -slack || top < -slack || r > s.Width+slack || b > s.Height+slack {
					t.Errorf("%s, %s: %q runs out of the drawing: %.1f to %.1f of %.1f across, %.1f to %.1f of %.1f down", d.name, s.Name, a.Text, l, r, s.Width, top, b, s.Height)
				}
				if a.Size < 3.5 {
					t.Errorf("%s, %s: %q is set in %.1f mm, capitals below 2.5 mm", d.name, s.Name, a.Text, a.Size)
				}
				for _, other := range texts[i+1:] {
					l2, top2, r2, b2 := other.Box()
					if l < r2 && l2 < r && top < b2 && top2 < b {
						t.Errorf("%s, %s: %q and %q overlap", d.name, s.Name, a.Text, other.Text)
					}
				}
			}
		}
	}
}

func TestEveryCharacterIsInTheTypeface(t *testing.T) {
	for _, d := range jobs(t) {
		for _, s := range d.scenes() {
			for _, text := range s.Texts() {
				if got := drawing.Printable(text.Text); got != text.Text {
					t.Errorf("%s, %s: %q prints as %q", d.name, s.Name, text.Text, got)
				}
			}
		}
	}
	for _, sign := range "ΩΔ≤≥²³·−→√∞×±½°–—…“”‘’φπρµŵŷÂ□∑ηλ" {
		if got := drawing.Printable(string(sign)); got != string(sign) {
			t.Errorf("the typeface lacks %q", sign)
		}
	}
}

// TestFiguresAreOfOneWidth holds the typeface to tabular figures, so that
// columns of numbers stand in line.
func TestFiguresAreOfOneWidth(t *testing.T) {
	for _, bold := range []bool{false, true} {
		want := drawing.Measure("0", 10, bold)
		for _, r := range "123456789" {
			if got := drawing.Measure(string(r), 10, bold); got != want {
				t.Errorf("width of %c (bold %v) = %v, want %v as 0 has", r, bold, got, want)
			}
		}
	}
}

func TestSVGCanBeReadAndAddressed(t *testing.T) {
	for _, d := range jobs(t) {
		for _, s := range d.scenes() {
			svg := s.SVG()
			ids := map[string]bool{}
			root := true
			groups, named := 0, 0
			inGroup := false
			for dec := xml.NewDecoder(bytes.NewReader(svg)); ; {
				token, err := dec.Token()
				if err == io.EOF {
					break
				}
				if err != nil {
					t.Fatalf("%s, %s: %v", d.name, s.Name, err)
				}
				start, ok := token.(xml.StartElement)
				if !ok {
					continue
				}
				attributes := map[string]string{}
				for _, a := range start.Attr {
					attributes[a.Name.Local] = a.Value
				}
				if id := attributes["id"]; id != "" {
					if ids[id] {
						t.Errorf("%s, %s: two parts have the identifier %q", d.name, s.Name, id)
					}
					ids[id] = true
				}
				if root && (attributes["role"] != "graphics-document" || attributes["aria-labelledby"] == "" || attributes["viewBox"] == "") {
					t.Errorf("%s, %s: the drawing has no role, name or box: %v", d.name, s.Name, attributes)
				}
				root = false
				if inGroup && start.Name.Local == "title" {
					named++
				}
				inGroup = start.Name.Local == "g"
				if inGroup {
					groups++
				}
			}
			if groups != named {
				t.Errorf("%s, %s: %d of %d parts have a title", d.name, s.Name, named, groups)
			}
			if s.Title == "" || s.Description == "" {
				t.Errorf("%s, %s: title %q, description %q", d.name, s.Name, s.Title, s.Description)
			}
		}
	}
}

func TestFindingsStandAtWhatTheyAreAbout(t *testing.T) {
	for _, d := range jobs(t) {
		if d.name != "job yard.yaml" && d.name != "testdata yard.yaml" {
			continue
		}
		fs := []finding.Finding{
			{Path: "circuits/van point/legs/yard wall", Subject: "circuit van point, leg 2 (yard wall)", What: "cable", Verdict: finding.Fails},
			{Path: "circuits/van point", Subject: "circuit van point", What: "device", Verdict: finding.JudgeOnSite},
			{Path: "circuits/garage/RCD", Subject: "RCD of circuit garage", What: "leakage", Verdict: finding.NotKnown},
			{Path: "points/CP2", Subject: "point CP2", What: "outlet", Verdict: finding.Meets},
			{Path: "boards/main board/surge protection/surge", Subject: "surge device surge at main board", What: "leads", Verdict: finding.Fails},
			{Path: "supply/main bonding/gas", Subject: "bonding to gas", What: "csa", Verdict: finding.Meets},
			{Subject: "something new", What: "whatever", Verdict: finding.JudgeOnSite},
		}
		want := map[string]string{
			"circuit-van-point-leg-2": "Leg 2 (yard wall): fails",
			"circuit-van-point":       "Circuit van point: judge on site",
			"circuit-garage":          "Circuit garage: not known",
			"point-cp2":               "Point CP2: meets",
			"board-main-board":        "Main board: fails",
			"earthing":                "Main earthing terminal: meets",
			"street":                  "Supply from the street: judge on site",
			"meter":                   "Meter and tails",
		}
		for _, s := range drawing.StreetToVehicle(d.m, fs) {
			for _, shape := range s.Shapes {
				g, ok := shape.(drawing.Group)
				if !ok {
					continue
				}
				if w, ok := want[g.ID]; ok {
					delete(want, g.ID)
					if g.Title != w {
						t.Errorf("title of %s = %q, want %q", g.ID, g.Title, w)
					}
				}
			}
		}
		for id := range want {
			t.Errorf("no part of the line is called %q", id)
		}
		return
	}
	t.Fatal("the yard job was not among the jobs")
}

func TestPointsAlikeAreDrawnOnce(t *testing.T) {
	for _, d := range jobs(t) {
		if d.name != "pool job.yaml" {
			continue
		}
		scenes := drawing.StreetToVehicle(d.m, d.fs)
		if len(scenes) >= 1+len(d.m.Points) {
			t.Errorf("%d scenes for %d points, of which most are alike", len(scenes), len(d.m.Points))
		}
		all := ""
		for _, s := range scenes[1:] {
			all += s.Title + "\n"
		}
		for _, want := range []string{"CP1 to CP4", "CP5 to CP12"} {
			if !strings.Contains(all, want) {
				t.Errorf("titles %q do not name %q", all, want)
			}
		}
	}
}

func TestNamesInShort(t *testing.T) {
	for _, tt := range []struct {
		names []string
		want  string
	}{
		{nil, ""},
		{[]string{"CP1"}, "CP1"},
		{[]string{"CP1", "CP2"}, "CP1, CP2"},
		{[]string{"CP1", "CP2", "CP3", "yard"}, "CP1 to CP3, yard"},
		{[]string{"CP9", "CP10", "CP11", "CP13"}, "CP9 to CP11, CP13"},
		{[]string{"bay 1", "bay 2", "row 3"}, "bay 1, bay 2, row 3"},
	} {
		if got := drawing.Names(tt.names); got != tt.want {
			t.Errorf("Names(%q) = %q, want %q", tt.names, got, tt.want)
		}
	}
}

func TestWrapKeepsNumberAndUnitTogether(t *testing.T) {
	text := "limit 0.35 Ω, reading 6 mm² of 25 m and 230 V"
	for width := 10.0; width < 90; width += 0.5 {
		lines := drawing.Wrap(text, width, 3.5, false)
		if got := strings.Join(lines, " "); width > 20 && got != text {
			t.Errorf("Wrap at %.1f mm = %q", width, lines)
		}
		for _, line := range lines {
			if w := drawing.Measure(line, 3.5, false); w > width+1e-9 {
				t.Errorf("Wrap at %.1f mm has %q, %.1f mm wide", width, line, w)
			}
			if width > 20 && (strings.HasPrefix(line, "Ω") || strings.HasPrefix(line, "mm²") || strings.HasPrefix(line, "m ") || line == "V") {
				t.Errorf("Wrap at %.1f mm begins a line with a unit: %q", width, lines)
			}
		}
	}
}

func TestCutLosesNothing(t *testing.T) {
	for _, d := range jobs(t) {
		for _, s := range drawing.StreetToVehicle(d.m, d.fs) {
			var height float64
			var texts []string
			for rest, more := s, true; more; {
				var piece drawing.Scene
				piece, rest, more = rest.Cut(150)
				height += piece.Height
				for _, text := range piece.Texts() {
					texts = append(texts, text.Text)
					if _, top, _, bottom := text.Box(); top < 0 || bottom > piece.Height {
						t.Errorf("%s, %s: %q lies outside its piece", d.name, s.Name, text.Text)
					}
				}
			}
			var want []string
			for _, text := range s.Texts() {
				want = append(want, text.Text)
			}
			if math.Abs(height-s.Height) > 1e-9 || strings.Join(texts, "|") != strings.Join(want, "|") {
				t.Errorf("%s, %s: cut into %.1f mm of %.1f, %d texts of %d", d.name, s.Name, height, s.Height, len(texts), len(want))
			}
		}
	}
}

func TestMarksDifferInShape(t *testing.T) {
	seen := map[string]finding.Verdict{}
	for _, v := range []finding.Verdict{finding.NotKnown, finding.Meets, finding.Fails, finding.JudgeOnSite} {
		s := fmt.Sprint(drawing.Mark(v).Shapes)
		if other, ok := seen[s]; ok {
			t.Errorf("%v and %v have the same mark", v, other)
		}
		seen[s] = v
	}
}

// TestLineInWords compares what the bakery's line says with a golden file:
// one part a paragraph.
func TestLineInWords(t *testing.T) {
	for _, d := range jobs(t) {
		if d.name != "bakery job.yaml" {
			continue
		}
		var b strings.Builder
		for _, s := range drawing.StreetToVehicle(d.m, handMade()) {
			fmt.Fprintf(&b, "%s\n%s\n\n", s.Name, s.Title)
			for _, shape := range s.Shapes {
				g := shape.(drawing.Group)
				fmt.Fprintf(&b, "%s: %s\n", g.ID, g.Title)
				for _, text := range (drawing.Scene{Shapes: g.Shapes}).Texts() {
					fmt.Fprintf(&b, "  %s\n", text.Text)
				}
			}
		}
		golden(t, "bakery-line.txt", b.String())
	}
}

// handMade is findings written here, so that the golden file changes only
// when the drawing does.
func handMade() []finding.Finding {
	return []finding.Finding{
		{Path: "supply", Subject: "supply", What: "cut-out carries the greatest line current with every point in full", Clause: finding.Clause{Name: "722.311"}, Verdict: finding.Fails, Margin: finding.Count(-3, "A")},
		{Path: "circuits/van point", Subject: "circuit van point", What: "cable carries what its device lets through: In ≤ Iz", Clause: finding.Clause{Name: "433.1.1"}, Verdict: finding.NotKnown},
		{Path: "circuits/van point", Subject: "circuit van point", What: "another", Clause: finding.Clause{Name: "433.1.1"}, Verdict: finding.NotKnown},
		{Path: "circuits/van point", Subject: "circuit van point", What: "a third", Clause: finding.Clause{Name: "433.1.1"}, Verdict: finding.NotKnown},
		{Path: "points/CP1", Subject: "point CP1", What: "an RCD for this point alone", Clause: finding.Clause{Name: "722.531.3.101"}, Verdict: finding.Meets},
	}
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatalf("%v: go test ./drawing -update writes it", err)
	}
	if got != string(want) {
		t.Errorf("%s differs: read the difference after go test ./drawing -update\n%s", file, got)
	}
}

func TestElevationNamesWhatIsNotKnown(t *testing.T) {
	for _, d := range jobs(t) {
		if d.name != "nothing said" {
			continue
		}
		s := drawing.Elevation(d.m, d.m.Points[0])
		for _, want := range []string{"height of the outlet", "height of the highest control", "height of the underside", "height of the top", "whether it has a screen"} {
			if !strings.Contains(s.Description, want) {
				t.Errorf("Elevation does not say that it lacks the %s: %s", want, s.Description)
			}
		}
	}
}

func BenchmarkStreetToVehicle(b *testing.B) {
	d := benchJob(b)
	for b.Loop() {
		for _, s := range drawing.StreetToVehicle(d.m, d.fs) {
			s.SVG()
		}
	}
}

func benchJob(b *testing.B) drawn {
	b.Helper()
	var t testing.T
	for _, d := range jobs(&t) {
		if d.name == "bakery job.yaml" {
			return d
		}
	}
	b.Fatal("the bakery job was not among the jobs")
	return drawn{}
}
