package document

import (
	"bytes"
	"fmt"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"chargewright/drawing"
	"chargewright/photo"
)

// PDF writes the document as PDF: pages of vector shapes and text in embedded
// fonts, with title, language, an outline of its headings and its structure for
// a reader that speaks. The same document makes the same bytes.
func (d *Document) PDF(w io.Writer) error {
	_, err := d.Set(w)
	return err
}

// Set writes the document as PDF and answers with the number of its pages.
func (d *Document) Set(w io.Writer) (int, error) { return Bind(w, d.Title+": "+d.Job, d) }

// Bind writes documents as one PDF, each with its own page numbers, and answers
// with the number of pages in all. What is attached to the first, and its subject
// and day, are those of the whole.
func Bind(w io.Writer, title string, docs ...*Document) (int, error) {
	first := docs[0]
	width, height := first.Sheet.size()
	pdf := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: width, Ht: height}})
	made := first.Made
	if made.IsZero() {
		made = time.Unix(0, 0)
	}
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(made.UTC())
	pdf.SetModificationDate(made.UTC())
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetLang("en-GB")
	pdf.AddUTF8FontFromBytes(drawing.FontFamily, "", drawing.FontFile(false))
	pdf.AddUTF8FontFromBytes(drawing.FontFamily, "B", drawing.FontFile(true))
	p := &painter{pdf: pdf}
	for _, d := range docs {
		pages, elements := d.lay()
		from := len(p.elements)
		for _, e := range elements {
			if e.Of != furniture {
				e.Of += from
			}
			p.elements = append(p.elements, tagged{Element: e})
		}
		for _, page := range pages {
			pdf.AddPageFormat("P", fpdf.SizeType{Wd: page.Scene.Width, Ht: page.Scene.Height})
			for _, h := range page.Headings {
				pdf.Bookmark(h.Text, h.Level, h.Y)
			}
			p.page(page, from)
		}
	}
	var set bytes.Buffer
	if err := pdf.Output(&set); err != nil {
		return 0, fmt.Errorf("write %s: %w", title, err)
	}
	whole, err := finish(set.Bytes(), p, meta{title: title, subject: first.Subject, made: made.UTC(), attached: first.Attached})
	if err != nil {
		return 0, fmt.Errorf("write %s: %w", title, err)
	}
	_, err = w.Write(whole)
	return p.pages, err
}

// painter draws shapes onto the current page, and keeps which of them belong to
// which element.
type painter struct {
	pdf      *fpdf.Fpdf
	pages    int
	elements []tagged
	marked   [][]int // of each page the element of each stretch of it
	running  bool    // lines of running text, which a reader joins
}

// tagged is an element and where it stands on the pages.
type tagged struct {
	Element
	stretches []stretch
	kids      []int
}

type stretch struct{ page, mark int }

// page draws a page, each stretch of it marked as part of an element or as
// furniture (ISO 32000-1, 14.6 and 14.8.2.2).
func (p *painter) page(page Page, from int) {
	p.marked = append(p.marked, nil)
	shapes := page.Scene.Shapes
	for at := 0; at < len(shapes); {
		owner := page.owner(at)
		end := at + 1
		for end < len(shapes) && page.owner(end) == owner {
			end++
		}
		if owner == furniture {
			p.pdf.RawWriteStr("/Artifact BMC")
		} else {
			e := &p.elements[from+owner]
			mark := len(p.marked[p.pages])
			p.marked[p.pages] = append(p.marked[p.pages], from+owner)
			e.stretches = append(e.stretches, stretch{p.pages, mark})
			p.pdf.RawWriteStr(fmt.Sprintf("/%s <</MCID %d>> BDC", e.Kind, mark))
		}
		p.running = owner != furniture
		p.paint(shapes[at:end])
		p.running = false
		p.pdf.RawWriteStr("EMC")
		at = end
	}
	p.pages++
}

func (p *Page) owner(shape int) int {
	if shape < len(p.owners) {
		return p.owners[shape]
	}
	return furniture
}

// grey is the lightness of each ink, black 0 to white 255.
var grey = [...]int{drawing.Black: 0, drawing.Grey: 0x55, drawing.Pale: 0xd9, drawing.White: 0xff}

func (p *painter) paint(shapes []drawing.Shape) {
	for _, shape := range shapes {
		switch s := shape.(type) {
		case drawing.Line:
			if p.stroke(s.Stroke) {
				p.pdf.Line(s.From.X, s.From.Y, s.To.X, s.To.Y)
			}
		case drawing.Path:
			if how := p.how(s.Fill, s.Stroke); how != "" {
				p.trace(s)
				p.pdf.DrawPath(how)
			}
		case drawing.Rectangle:
			if how := p.how(s.Fill, s.Stroke); how != "" {
				p.pdf.Rect(s.At.X, s.At.Y, s.Width, s.Height, how)
			}
		case drawing.Circle:
			if how := p.how(s.Fill, s.Stroke); how != "" {
				p.circle(s, how)
			}
		case drawing.Text:
			p.text(s)
		case drawing.Image:
			p.image(s)
		case drawing.Group:
			p.paint(s.Shapes)
		}
	}
}

// circle draws a circle, or an arc of one. Angles of the PDF run the other way.
func (p *painter) circle(s drawing.Circle, how string) {
	if s.Sweep == 0 {
		p.pdf.Circle(s.Centre.X, s.Centre.Y, s.Radius, how)
		return
	}
	p.pdf.Arc(s.Centre.X, s.Centre.Y, s.Radius, s.Radius, 0, -s.Start-s.Sweep, -s.Start, how)
}

func (p *painter) trace(s drawing.Path) {
	for i, at := range s.Points {
		if i == 0 {
			p.pdf.MoveTo(at.X, at.Y)
			continue
		}
		p.pdf.LineTo(at.X, at.Y)
	}
	if s.Closed {
		p.pdf.ClosePath()
	}
}

// how sets fill and stroke and returns the style of drawing they ask for.
func (p *painter) how(fill drawing.Ink, s drawing.Stroke) string {
	how := ""
	if fill != drawing.NoInk {
		p.pdf.SetFillColor(grey[fill], grey[fill], grey[fill])
		how = "F"
	}
	if p.stroke(s) {
		how += "D"
	}
	return how
}

// stroke sets the stroke and reports whether there is one.
func (p *painter) stroke(s drawing.Stroke) bool {
	if s.Ink == drawing.NoInk {
		return false
	}
	p.pdf.SetDrawColor(grey[s.Ink], grey[s.Ink], grey[s.Ink])
	p.pdf.SetLineWidth(s.Width)
	p.pdf.SetDashPattern(s.Dashes, 0)
	return true
}

// image sets a photo as it is: a JPEG goes into a PDF byte for byte. The same
// photo twice is held once.
func (p *painter) image(s drawing.Image) {
	name := photo.SHA256(s.JPEG)
	kind := fpdf.ImageOptions{ImageType: "JPEG"}
	p.pdf.RegisterImageOptionsReader(name, kind, bytes.NewReader(s.JPEG))
	p.pdf.ImageOptions(name, s.At.X, s.At.Y, s.Width, s.Height, false, kind, 0, "")
}

func (p *painter) text(s drawing.Text) {
	if s.Text == "" || s.Ink == drawing.NoInk {
		return
	}
	weight := ""
	if s.Bold {
		weight = "B"
	}
	p.pdf.SetFont(drawing.FontFamily, weight, s.Size/point)
	p.pdf.SetTextColor(grey[s.Ink], grey[s.Ink], grey[s.Ink])
	left, _, _, _ := s.Box()
	text := s.Text
	if p.running {
		text += " "
	}
	p.pdf.Text(left, s.At.Y, text)
}
