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
// fonts, with title, language and an outline of its headings. The same
// document makes the same bytes.
func (d *Document) PDF(w io.Writer) error {
	_, err := d.Set(w)
	return err
}

// Set writes the document as PDF and answers with the number of its pages.
func (d *Document) Set(w io.Writer) (int, error) {
	pages := d.Pages()
	width, height := d.Sheet.size()
	pdf := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: width, Ht: height}})
	made := d.Made
	if made.IsZero() {
		made = time.Unix(0, 0)
	}
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(made.UTC())
	pdf.SetModificationDate(made.UTC())
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetTitle(d.Title+": "+d.Job, true)
	pdf.SetSubject(d.Subject, true)
	pdf.SetCreator("Chargewright", true)
	pdf.SetProducer("Chargewright", true)
	pdf.SetLang("en-GB")
	pdf.AddUTF8FontFromBytes(drawing.FontFamily, "", drawing.FontFile(false))
	pdf.AddUTF8FontFromBytes(drawing.FontFamily, "B", drawing.FontFile(true))
	var attached []fpdf.Attachment
	for _, f := range d.Attached {
		attached = append(attached, fpdf.Attachment{Content: f.Content, Filename: f.Name, Description: "the data this paper was made from"})
	}
	pdf.SetAttachments(attached)
	p := &painter{pdf: pdf}
	for _, page := range pages {
		pdf.AddPageFormat("P", fpdf.SizeType{Wd: page.Scene.Width, Ht: page.Scene.Height})
		for _, h := range page.Headings {
			pdf.Bookmark(h.Text, h.Level, h.Y)
		}
		p.paint(page.Scene.Shapes)
	}
	if err := pdf.Output(w); err != nil {
		return 0, fmt.Errorf("write %s: %w", d.Title, err)
	}
	return len(pages), nil
}

// painter draws shapes onto the current page.
type painter struct {
	pdf *fpdf.Fpdf
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
	p.pdf.Text(left, s.At.Y, s.Text)
}
