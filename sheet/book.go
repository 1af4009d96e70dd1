package sheet

// Workbooks: the tables that spreadsheets keep, as ECMA-376 part 1 (.xlsx) and
// ISO/IEC 26300 (.ods) lay them down (both from memory). Each sheet becomes
// rows with tabs between the cells, a line a row, so that line numbers are row
// numbers and everything that reads a table reads a workbook.

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"path"
	"strconv"
	"strings"
	"time"
)

// page is one sheet of a workbook.
type page struct {
	name string
	text []byte
	rows int // with something in them
}

const (
	mostBook     = 512 << 20 // bytes of a workbook, unpacked
	mostPacked   = 16        // and how many times its packed size, beyond a few
	fewPacked    = 8 << 20
	mostBookRows = 1 << 20 // ECMA-376: 1,048,576 rows
	mostBookWide = 1 << 14
)

// isBook reports whether a file opens as a workbook does, or as an old one.
func isBook(opening []byte) bool {
	return bytes.HasPrefix(opening, []byte("PK\x03\x04")) || isOldBook(opening)
}

func isOldBook(opening []byte) bool { return bytes.HasPrefix(opening, []byte("\xd0\xcf\x11\xe0")) }

// book is a workbook while it is unpacked.
type book struct {
	zip  *zip.Reader
	left int64
}

// readBook reads a workbook into its sheets.
func readBook(file string, text []byte) ([]page, error) {
	fault := func(want string) error { return Fault{File: file, Want: want} }
	if isOldBook(text) {
		return nil, fault("it is an old workbook (.xls), or one that a password shuts: save it as .xlsx, .ods or CSV, without a password")
	}
	z, err := zip.NewReader(bytes.NewReader(text), int64(len(text)))
	if err != nil {
		return nil, fault("it begins as a workbook and cannot be unpacked (" + err.Error() + "): is it whole?")
	}
	b := &book{zip: z, left: min(mostBook, fewPacked+mostPacked*int64(len(text)))}
	var pages []page
	switch {
	case b.has("xl/workbook.xml"):
		pages, err = b.office()
	case b.has("content.xml"):
		pages, err = b.document()
	default:
		return nil, fault("it is a packed file and no workbook: a table as .xlsx, .ods or CSV is wanted")
	}
	if err != nil {
		return nil, fault("the workbook cannot be read: " + err.Error())
	}
	held := pages[:0]
	for _, p := range pages {
		if p.rows > 0 {
			held = append(held, p)
		}
	}
	if len(held) == 0 {
		return nil, fault("no sheet of the workbook holds anything")
	}
	return held, nil
}

func (b *book) has(name string) bool {
	for _, f := range b.zip.File {
		if f.Name == name {
			return true
		}
	}
	return false
}

// part opens one part, within what a workbook may come to.
func (b *book) part(name string) (*xml.Decoder, error) {
	for _, f := range b.zip.File {
		if f.Name != name {
			continue
		}
		in, err := f.Open()
		if err != nil {
			return nil, err
		}
		text, err := io.ReadAll(io.LimitReader(in, b.left+1)) // whole, so that its checksum is looked at
		if err = errors.Join(err, in.Close()); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		if b.left -= int64(len(text)); b.left < 0 {
			return nil, fmt.Errorf("it unpacks to more than a table comes to: split it")
		}
		return xml.NewDecoder(bytes.NewReader(text)), nil
	}
	return nil, fmt.Errorf("it has no %s", name)
}

// whole reads a small part into what its tags say.
func (b *book) whole(name string, into any) error {
	d, err := b.part(name)
	if err != nil {
		return err
	}
	return d.Decode(into)
}

// each calls f at every element of a part.
func each(d *xml.Decoder, f func(xml.StartElement) error) error {
	for {
		t, err := d.Token()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if e, is := t.(xml.StartElement); is {
			if err := f(e); err != nil {
				return err
			}
		}
	}
}

func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// setter writes cells in their order, the first column 0.
type setter struct {
	page
	row, column int
	begun       bool
}

// to goes on to a row, counted from 1.
func (s *setter) to(row int) {
	for ; s.row < row; s.row++ {
		if s.row > 0 {
			s.text = append(s.text, '\n')
		}
	}
	s.column, s.begun = 0, false
}

func (s *setter) set(column int, text string) {
	text = strings.Join(strings.FieldsFunc(text, func(r rune) bool { return r == '\n' || r == '\r' || r == '\t' }), " ")
	if text == "" || column < s.column && s.begun {
		return
	}
	if !s.begun {
		s.begun = true
		s.rows++
	}
	for ; s.column < column; s.column++ {
		s.text = append(s.text, '\t')
	}
	if strings.ContainsAny(text, `"`) {
		text = `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
	}
	s.text = append(s.text, text...)
}

func (s *setter) end() page {
	if s.row > 0 {
		s.text = append(s.text, '\n')
	}
	return s.page
}

// office reads a workbook of ECMA-376.
func (b *book) office() ([]page, error) {
	var w struct {
		Properties struct {
			From1904 string `xml:"date1904,attr"`
		} `xml:"workbookPr"`
		Sheets []struct {
			Name string     `xml:"name,attr"`
			Any  []xml.Attr `xml:",any,attr"`
		} `xml:"sheets>sheet"`
	}
	var related struct {
		To []struct {
			ID     string `xml:"Id,attr"`
			Target string `xml:"Target,attr"`
		} `xml:"Relationship"`
	}
	if err := errors.Join(b.whole("xl/workbook.xml", &w), b.whole("xl/_rels/workbook.xml.rels", &related)); err != nil {
		return nil, err
	}
	c := &cells{from1904: w.Properties.From1904 == "1" || w.Properties.From1904 == "true"}
	if err := errors.Join(c.readShared(b), c.readStyles(b)); err != nil {
		return nil, err
	}
	var pages []page
	for _, sheet := range w.Sheets {
		for _, a := range sheet.Any {
			for _, to := range related.To {
				if a.Name.Local != "id" || a.Value != to.ID || !strings.Contains(to.Target, "worksheets/") {
					continue
				}
				name := strings.TrimPrefix(to.Target, "/")
				if name == to.Target {
					name = path.Join("xl", to.Target)
				}
				p, err := c.page(b, name)
				if err != nil {
					return nil, fmt.Errorf("sheet %q: %w", sheet.Name, err)
				}
				p.name = sheet.Name
				pages = append(pages, p)
			}
		}
	}
	return pages, nil
}

// cells is what the cells of a workbook refer to.
type cells struct {
	shared   []string
	styles   []shown
	from1904 bool
}

// shown is how a style shows a number.
type shown uint8

const (
	asNumber shown = iota
	asDate
	asMoment // date and time
	asClock  // a time of day
	asLength // hours that go on beyond the day
)

func (c *cells) readShared(b *book) error {
	if !b.has("xl/sharedStrings.xml") {
		return nil
	}
	d, err := b.part("xl/sharedStrings.xml")
	if err != nil {
		return err
	}
	return each(d, func(e xml.StartElement) error {
		if e.Name.Local != "si" {
			return nil
		}
		text, err := words(d, "rPh")
		c.shared = append(c.shared, text)
		return err
	})
}

// words returns the texts within an element, without those of some parts. It
// stands behind the element's start and ends behind its end.
func words(d *xml.Decoder, without string) (string, error) {
	var out strings.Builder
	paragraphs := 0
	for depth := 1; depth > 0; {
		t, err := d.Token()
		if err != nil {
			return "", err
		}
		switch t := t.(type) {
		case xml.StartElement:
			switch {
			case t.Name.Local == without:
				if err := d.Skip(); err != nil {
					return "", err
				}
				continue
			case t.Name.Local == "p":
				if paragraphs++; paragraphs > 1 {
					out.WriteByte(' ')
				}
			case t.Name.Local == "s" || t.Name.Local == "tab" || t.Name.Local == "line-break":
				out.WriteByte(' ')
			}
			depth++
		case xml.EndElement:
			depth--
		case xml.CharData:
			out.Write(t)
		}
	}
	return strings.TrimSpace(out.String()), nil
}

func (c *cells) readStyles(b *book) error {
	if !b.has("xl/styles.xml") {
		return nil
	}
	var s struct {
		Formats []struct {
			ID   int    `xml:"numFmtId,attr"`
			Code string `xml:"formatCode,attr"`
		} `xml:"numFmts>numFmt"`
		Cells []struct {
			Format int `xml:"numFmtId,attr"`
		} `xml:"cellXfs>xf"`
	}
	if err := b.whole("xl/styles.xml", &s); err != nil {
		return err
	}
	for _, cell := range s.Cells {
		how := builtIn(cell.Format)
		for _, f := range s.Formats {
			if f.ID == cell.Format {
				how = showing(f.Code)
			}
		}
		c.styles = append(c.styles, how)
	}
	return nil
}

// builtIn is how the formats show that have a number and no words (ECMA-376
// part 1, 18.8.30).
func builtIn(id int) shown {
	switch {
	case id == 46:
		return asLength
	case id >= 18 && id <= 21 || id == 45 || id == 47:
		return asClock
	case id == 22:
		return asMoment
	case id >= 14 && id <= 17 || id >= 27 && id <= 36 || id >= 50 && id <= 58:
		return asDate
	}
	return asNumber
}

// showing is how a format shows that is spelt out, like dd/mm/yyyy hh:mm.
func showing(code string) shown {
	code, _, _ = strings.Cut(strings.ToLower(code), ";")
	var date, clock, length bool
	for i := 0; i < len(code); i++ {
		switch code[i] {
		case '"':
			end := strings.IndexByte(code[i+1:], '"')
			if end < 0 {
				return asNumber
			}
			i += end + 1
		case '\\', '_', '*':
			i++
		case '[':
			end := strings.IndexByte(code[i:], ']')
			if end < 0 {
				return asNumber
			}
			within := strings.Trim(code[i+1:i+end], "hms")
			length = length || within == "" && end > 1
			i += end
		case 'd', 'y':
			date = true
		case 'h', 's':
			clock = true
		case 'g': // General
			return asNumber
		}
	}
	switch {
	case length:
		return asLength
	case date && clock:
		return asMoment
	case date:
		return asDate
	case clock:
		return asClock
	}
	return asNumber
}

func (c *cells) page(b *book, name string) (page, error) {
	d, err := b.part(name)
	if err != nil {
		return page{}, err
	}
	var s setter
	next := 0
	err = each(d, func(e xml.StartElement) error {
		switch e.Name.Local {
		case "row":
			row := s.row + 1
			if said := attribute(e, "r"); said != "" {
				if row, err = strconv.Atoi(said); err != nil || row <= s.row || row > mostBookRows {
					return fmt.Errorf("row %q", said)
				}
			}
			s.to(row)
			next = 0
		case "c":
			column := next
			if said := attribute(e, "r"); said != "" {
				if column = columnOf(said); column < 0 || column >= mostBookWide {
					return fmt.Errorf("cell %q", said)
				}
			}
			next = column + 1
			text, err := c.cell(d, e)
			if err != nil {
				return err
			}
			s.set(column, text)
		}
		return nil
	})
	return s.end(), err
}

// columnOf is the column of a reference like AB12, the first 0.
func columnOf(reference string) int {
	n := 0
	for _, r := range reference {
		if r < 'A' || r > 'Z' || n > mostBookWide {
			break
		}
		n = n*26 + int(r-'A') + 1
	}
	return n - 1
}

// cell reads a cell as the text it shows.
func (c *cells) cell(d *xml.Decoder, e xml.StartElement) (string, error) {
	value := ""
	for depth := 1; depth > 0; {
		t, err := d.Token()
		if err != nil {
			return "", err
		}
		switch t := t.(type) {
		case xml.StartElement:
			if t.Name.Local == "v" || t.Name.Local == "is" {
				if value, err = words(d, "rPh"); err != nil {
					return "", err
				}
				continue
			}
			depth++
		case xml.EndElement:
			depth--
		}
	}
	switch attribute(e, "t") {
	case "s":
		n, err := strconv.Atoi(value)
		if err != nil || n < 0 || n >= len(c.shared) {
			return "", fmt.Errorf("cell %s: its text %q is not in the workbook", attribute(e, "r"), value)
		}
		return c.shared[n], nil
	case "b":
		return map[string]string{"1": "TRUE", "0": "FALSE"}[value], nil
	case "", "n":
		if value == "" {
			return "", nil
		}
		number, err := strconv.ParseFloat(value, 64)
		if err != nil || math.IsInf(number, 0) || math.IsNaN(number) {
			return value, nil
		}
		how := asNumber
		if style, err := strconv.Atoi(attribute(e, "s")); err == nil && style >= 0 && style < len(c.styles) {
			how = c.styles[style]
		}
		return c.number(number, how), nil
	}
	return value, nil
}

// number writes a number as its style shows it. A day is one; 1900 is taken for
// a leap year by those who count from it, so that days before March are not met.
func (c *cells) number(n float64, how shown) string {
	const most = 200 * 366
	if how == asNumber || n < 0 || n > most {
		return plain(n)
	}
	seconds := int64(math.Round(n * 86400))
	switch {
	case how == asLength || how == asClock && seconds >= 86400:
		return fmt.Sprintf("%d:%02d:%02d", seconds/3600, seconds/60%60, seconds%60)
	case how == asClock || seconds < 86400 && !c.from1904: // a time of day in the coat of a date
		return fmt.Sprintf("%02d:%02d:%02d", seconds/3600, seconds/60%60, seconds%60)
	}
	from := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	if c.from1904 {
		from = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	at := from.AddDate(0, 0, int(seconds/86400))
	if seconds %= 86400; seconds == 0 && how == asDate {
		return at.Format(time.DateOnly)
	}
	return at.Add(time.Duration(seconds) * time.Second).Format(time.DateTime)
}

// plain writes a number with the fifteen figures that a spreadsheet shows.
func plain(n float64) string {
	shorter, _ := strconv.ParseFloat(strconv.FormatFloat(n, 'g', 15, 64), 64)
	return strconv.FormatFloat(shorter, 'f', -1, 64)
}

// document reads a workbook of ISO/IEC 26300.
func (b *book) document() ([]page, error) {
	d, err := b.part("content.xml")
	if err != nil {
		return nil, err
	}
	var pages []page
	var s *setter
	row, next := 0, 0
	shut := func() {
		if s != nil {
			pages = append(pages, s.end())
		}
	}
	err = each(d, func(e xml.StartElement) error {
		switch e.Name.Local {
		case "table":
			shut()
			s = &setter{page: page{name: attribute(e, "name")}}
			row, next = 0, 0
		case "table-row":
			if s == nil {
				return nil
			}
			row++
			s.to(row)
			next = 0
			if n := repeated(e, "number-rows-repeated"); n > 1 { // only empty rows are many
				row += n - 1
			}
			if row > mostBookRows {
				row = mostBookRows
			}
		case "table-cell", "covered-table-cell":
			if s == nil {
				return nil
			}
			n := repeated(e, "number-columns-repeated")
			text, err := words(d, "annotation")
			if err != nil {
				return err
			}
			text = value(e, text)
			for i := 0; text != "" && i < min(n, mostBookWide-next); i++ {
				s.set(next+i, text)
			}
			next += n
		}
		return nil
	})
	shut()
	return pages, err
}

func repeated(e xml.StartElement, name string) int {
	n, err := strconv.Atoi(attribute(e, name))
	if err != nil || n < 1 {
		return 1
	}
	return min(n, mostBookRows)
}

// value is what a cell holds, where it says so beside the text it shows.
func value(e xml.StartElement, text string) string {
	switch attribute(e, "value-type") {
	case "float", "percentage", "currency":
		if n, err := strconv.ParseFloat(attribute(e, "value"), 64); err == nil {
			return plain(n)
		}
	case "date":
		if said := attribute(e, "date-value"); said != "" {
			said, _, _ = strings.Cut(said, ".")
			return strings.TrimSuffix(strings.Replace(said, "T", " ", 1), "Z")
		}
	case "time":
		var h, m int
		var s float64
		if n, _ := fmt.Sscanf(attribute(e, "time-value"), "PT%dH%dM%fS", &h, &m, &s); n == 3 {
			return fmt.Sprintf("%d:%02d:%02.0f", h, m, s)
		}
	case "boolean":
		return strings.ToUpper(attribute(e, "boolean-value"))
	}
	return text
}
