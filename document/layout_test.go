package document

import (
	"strings"
	"testing"

	"codeberg.org/go-pdf/fpdf"

	"chargewright/drawing"
)

// TestMeasureAgreesWithThePDFWriter holds the project's own reading of the
// font against that of the library that sets the page.
func TestMeasureAgreesWithThePDFWriter(t *testing.T) {
	pdf := fpdf.New("P", "mm", "A4", "")
	pdf.AddUTF8FontFromBytes(drawing.FontFamily, "", drawing.FontFile(false))
	pdf.AddUTF8FontFromBytes(drawing.FontFamily, "B", drawing.FontFile(true))
	for _, s := range []string{"circuit van point, leg 2 (buried)", "R1+R2 ≤ 1.37 Ω at −5 °C", "6 mm² · IΔn 30 mA → √(I²t)/k", "0123456789"} {
		for _, weight := range []string{"", "B"} {
			pdf.SetFont(drawing.FontFamily, weight, 10)
			want := pdf.GetStringWidth(s)
			got := drawing.Measure(s, 10*point, weight == "B")
			if d := got - want; d > 0.02*want || d < -0.02*want {
				t.Errorf("width of %q (%s) = %.3f mm, want %.3f as the library measures", s, weight, got, want)
			}
		}
	}
}

func TestLongTablesRepeatTheirHead(t *testing.T) {
	d := &Document{Title: "Long", Job: "rows"}
	table := Table{Columns: []Column{{Head: "Way", Share: 1}, {Head: "What it feeds", Share: 4}}}
	for range 200 {
		table.Rows = append(table.Rows, Row{Cells: Cells("1", "something"), Under: []Note{{"why", "because it is so"}}})
	}
	d.Sections = []Section{{Heading: "Ways", Blocks: []Block{table}}}
	pages := d.Pages()
	if len(pages) < 5 {
		t.Fatalf("200 rows with notes fill %d pages", len(pages))
	}
	for i, page := range pages {
		heads := 0
		for _, text := range page.Scene.Texts() {
			if text.Text == "What it feeds" && text.Bold {
				heads++
			}
		}
		if heads != 1 {
			t.Errorf("page %d has the head of the table %d times", i+1, heads)
		}
	}
}

func TestARowTallerThanAPageIsCarriedOn(t *testing.T) {
	words := strings.TrimSpace(strings.Repeat("word ", 4000))
	d := &Document{Title: "Tall", Job: "row", Sections: []Section{{Heading: "One", Blocks: []Block{
		Table{Columns: []Column{{Head: "A", Share: 1}, {Head: "B", Share: 2}}, Rows: []Row{{Cells: Cells("first", words), Under: []Note{{"why", words}}}}}}}}}
	pages := d.Pages()
	count := 0
	for _, page := range pages {
		for _, text := range page.Scene.Texts() {
			count += strings.Count(text.Text, "word")
			if _, _, _, bottom := text.Box(); bottom > page.Scene.Height-4 {
				t.Errorf("%q runs off the foot of the page", text.Text)
			}
		}
	}
	if count != 8000 || len(pages) < 4 {
		t.Errorf("%d words on %d pages, want all 8000", count, len(pages))
	}
}
