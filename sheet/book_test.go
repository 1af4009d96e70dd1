package sheet

import (
	"archive/zip"
	"bytes"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
)

// rowsOf reads a table whose head holds most of the words, its cells with bars
// between.
func rowsOf(file string, text []byte, words ...string) (rows []string, r *Reader, err error) {
	r, err = Open(file, bytes.NewReader(text), Bounds{OneLine: true}, func(h Head) (n int) {
		for _, word := range words {
			if slices.ContainsFunc(h.Names, func(n string) bool { return strings.Contains(strings.ToLower(n), word) }) {
				n++
			}
		}
		return n
	})
	if err != nil {
		return nil, r, err
	}
	for r.Next() {
		rows = append(rows, fmt.Sprintf("%d: %s", r.Line, strings.Join(texts(r.Cells), "|")))
	}
	return rows, r, r.Err()
}

// TestWorkbooks: workbooks that two independent libraries wrote (testdata/books,
// SOURCE.md), with a sheet before the one that is wanted, titles, an empty row,
// a formula, a text in two faces, days that count from 1904, times and lengths.
func TestWorkbooks(t *testing.T) {
	for _, tt := range []struct {
		file, beside string
		rows         []string
	}{
		{"sessions.xlsx", "Summary", []string{`4: 2026-11-02 08:00:00|2026-11-02 10:00:00|12.5|110|VAN "A"`, "5: 2026-11-03 14:05:00|2026-11-03 16:00:00|7.25|100|CAR"}},
		{"apart-1904.xlsx", "", []string{"2: 2026-11-02|08:00:00|2:00:00|12500", "3: 2026-11-03|14:05:00|1:55:00|7250"}},
		{"other.xlsx", "Notes", []string{"2: 2026-11-02 08:00:00|2026-11-02 10:00:00|12.5", "4: 2026-11-03 14:05:00|2026-11-03 16:00:00|7.25"}},
		{"other.ods", "Notes", []string{"2: 2026-11-02 08:00:00|2026-11-02 10:00:00|12.5", "4: 2026-11-03 14:05:00|2026-11-03 16:00:00|7.25"}},
	} {
		text, err := os.ReadFile("testdata/books/" + tt.file)
		if err != nil {
			t.Fatal(err)
		}
		rows, r, err := rowsOf(tt.file, text, "energy", "start")
		if err != nil || !slices.Equal(rows, tt.rows) || strings.Join(r.Beside, ", ") != tt.beside {
			t.Errorf("%s: %q beside %q, %v; want %q beside %q", tt.file, rows, r.Beside, err, tt.rows, tt.beside)
		}
		for _, cut := range []int{5, len(text) / 2, len(text) - 1} {
			if _, _, err := rowsOf(tt.file, text[:cut], "energy"); err == nil || !strings.Contains(err.Error(), "is it whole?") {
				t.Errorf("%s, cut off at %d: %v", tt.file, cut, err)
			}
		}
	}
}

// packed is a packed file of parts.
func packed(t testing.TB, parts ...string) []byte {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for i := 0; i < len(parts); i += 2 {
		w, err := z.Create(parts[i])
		if err == nil {
			_, err = w.Write([]byte(parts[i+1]))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// TestWorkbooksRefused: what is no workbook, or one that lies about itself, is
// refused by its name.
func TestWorkbooksRefused(t *testing.T) {
	const rels = `<Relationships><Relationship Id="a" Target="worksheets/s.xml"/></Relationships>`
	const book = `<workbook xmlns:r="x"><sheets><sheet name="S" r:id="a"/></sheets></workbook>`
	for name, tt := range map[string]struct {
		text []byte
		want string
	}{
		"old":       {[]byte("\xd0\xcf\x11\xe0and so on"), "save it as .xlsx"},
		"no book":   {packed(t, "letter.txt", "hello"), "no workbook"},
		"empty":     {packed(t, "content.xml", "<a/>"), "no sheet of the workbook holds anything"},
		"far row":   {packed(t, "xl/workbook.xml", book, "xl/_rels/workbook.xml.rels", rels, "xl/worksheets/s.xml", `<w><row r="99999999"><c><v>1</v></c></row></w>`), "row \"99999999\""},
		"far cell":  {packed(t, "xl/workbook.xml", book, "xl/_rels/workbook.xml.rels", rels, "xl/worksheets/s.xml", `<w><row r="1"><c r="ZZZZZ1"><v>1</v></c></row></w>`), "cell \"ZZZZZ1\""},
		"lost text": {packed(t, "xl/workbook.xml", book, "xl/_rels/workbook.xml.rels", rels, "xl/worksheets/s.xml", `<w><row r="1"><c r="A1" t="s"><v>7</v></c></row></w>`), "its text \"7\" is not in the workbook"},
		"cut XML":   {packed(t, "xl/workbook.xml", book, "xl/_rels/workbook.xml.rels", rels, "xl/worksheets/s.xml", `<w><row r="1"><c r="A1"><v>7</v></c></row>`), "unexpected EOF"},
	} {
		if _, _, err := rowsOf(name, tt.text, "energy"); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v, want it to say %q", name, err, tt.want)
		}
	}
	shown := []string{}
	for _, code := range []string{"General", "0.00", `0.00" days"`, "dd/mm/yyyy", "dd/mm/yyyy hh:mm", "hh:mm AM/PM", "[h]:mm", "[Red]0.0", "mm:ss", `yyyy\-mm\-dd`} {
		shown = append(shown, fmt.Sprint(showing(code)))
	}
	if got := strings.Join(shown, " "); got != "0 0 0 1 2 3 4 0 3 1" {
		t.Errorf("formats are shown as %s", got)
	}
}

// FuzzBook: whatever the parts of a workbook hold, nothing panics and rows come
// in their order.
func FuzzBook(f *testing.F) {
	f.Add(`<w><row r="1"><c r="A1" s="1"><v>46328.5</v></c><c t="inlineStr"><is><t>x</t></is></c></row></w>`, `<table name="a"><table-row number-rows-repeated="3"><table-cell value-type="time" time-value="PT08H00M00S"/></table-row></table>`)
	f.Fuzz(func(t *testing.T, sheet, content string) {
		office := packed(t, "xl/workbook.xml", `<workbook xmlns:r="x"><sheets><sheet name="S" r:id="a"/></sheets></workbook>`,
			"xl/_rels/workbook.xml.rels", `<Relationships><Relationship Id="a" Target="worksheets/s.xml"/></Relationships>`, "xl/worksheets/s.xml", sheet,
			"xl/styles.xml", `<s><cellXfs><xf numFmtId="0"/><xf numFmtId="22"/></cellXfs></s>`)
		for _, text := range [][]byte{office, packed(t, "content.xml", content)} {
			rows, r, err := rowsOf("fuzz", text, "energy")
			if err != nil {
				continue
			}
			if len(rows) > r.Lines {
				t.Errorf("%d rows in %d lines", len(rows), r.Lines)
			}
		}
	})
}
