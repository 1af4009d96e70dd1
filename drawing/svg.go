package drawing

import (
	"bytes"
	"encoding/base64"
	"encoding/xml"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// SVG writes the scene for a screen or a browser. The picture carries its
// title and description; each group its identifier and title, so that a page
// can address it and a screen reader can name it.
// A page may recolour the few inks by their values; the picture needs no page.
func (s Scene) SVG() []byte {
	w := &svgWriter{}
	id := s.Name
	w.printf(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" width="%smm" height="%smm" role="graphics-document" `+
		`aria-labelledby="%s-title %s-description" lang="en-GB" font-family="%s, 'Noto Sans', 'DejaVu Sans', sans-serif">`+"\n",
		number(s.Width), number(s.Height), number(s.Width), number(s.Height), attribute(id), attribute(id), FontFamily)
	w.printf("<title id=\"%s-title\">%s</title>\n", attribute(id), escaped(s.Title))
	w.printf("<desc id=\"%s-description\">%s</desc>\n", attribute(id), escaped(s.Description))
	w.printf(`<rect width="%s" height="%s" fill="#fff"/>`+"\n", number(s.Width), number(s.Height))
	w.shapes(s.Shapes)
	w.printf("</svg>\n")
	return w.Bytes()
}

type svgWriter struct{ bytes.Buffer }

func (w *svgWriter) printf(format string, args ...any) { fmt.Fprintf(w, format, args...) }

// hex is the colour of each ink.
var hex = [...]string{NoInk: "none", Black: "#000", Grey: "#555", Pale: "#d9d9d9", White: "#fff"}

func (w *svgWriter) shapes(shapes []Shape) {
	for _, shape := range shapes {
		w.shape(shape)
	}
}

func (w *svgWriter) shape(shape Shape) {
	switch s := shape.(type) {
	case Line:
		w.printf(`<path d="M%s %sL%s %s" fill="none"%s/>`+"\n", number(s.From.X), number(s.From.Y), number(s.To.X), number(s.To.Y), strokeOf(s.Stroke))
	case Path:
		w.printf(`<path d="%s"%s%s/>`+"\n", pathOf(s), fillOf(s.Fill), strokeOf(s.Stroke))
	case Rectangle:
		w.printf(`<rect x="%s" y="%s" width="%s" height="%s"%s%s/>`+"\n", number(s.At.X), number(s.At.Y), number(s.Width), number(s.Height), fillOf(s.Fill),
			strokeOf(s.Stroke))
	case Circle:
		w.circle(s)
	case Text:
		w.text(s)
	case Image:
		w.printf(`<image x="%s" y="%s" width="%s" height="%s" preserveAspectRatio="none" href="data:image/jpeg;base64,%s"><title>%s</title></image>`+"\n",
			number(s.At.X), number(s.At.Y), number(s.Width), number(s.Height), base64.StdEncoding.EncodeToString(s.JPEG), escaped(s.Title))
	case Group:
		w.printf(`<g id="%s" role="graphics-object"><title>%s</title>`+"\n", attribute(s.ID), escaped(s.Title))
		w.shapes(s.Shapes)
		w.printf("</g>\n")
	}
}

func (w *svgWriter) circle(s Circle) {
	if s.Sweep == 0 {
		w.printf(`<circle cx="%s" cy="%s" r="%s"%s%s/>`+"\n", number(s.Centre.X), number(s.Centre.Y), number(s.Radius), fillOf(s.Fill), strokeOf(s.Stroke))
		return
	}
	from, to := s.at(s.Start), s.at(s.Start+s.Sweep)
	long := 0
	if s.Sweep > 180 {
		long = 1
	}
	w.printf(`<path d="M%s %sA%s %s 0 %d 1 %s %s"%s%s/>`+"\n", number(from.X), number(from.Y), number(s.Radius), number(s.Radius), long, number(to.X),
		number(to.Y), fillOf(s.Fill), strokeOf(s.Stroke))
}

// at returns the place on the circle at an angle, in degrees clockwise.
func (s Circle) at(degrees float64) XY {
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	return XY{s.Centre.X + s.Radius*cos, s.Centre.Y + s.Radius*sin}
}

// text writes a text with the length the typeface gives it, so that a screen
// without the typeface sets its own letters in the same room.
func (w *svgWriter) text(s Text) {
	anchor := [...]string{Start: "", Middle: ` text-anchor="middle"`, End: ` text-anchor="end"`}[s.Anchor]
	weight := ""
	if s.Bold {
		weight = ` font-weight="bold"`
	}
	w.printf(`<text x="%s" y="%s" font-size="%s"%s%s%s textLength="%s" lengthAdjust="spacingAndGlyphs">%s</text>`+"\n",
		number(s.At.X), number(s.At.Y), number(s.Size), weight, anchor, fillOf(s.Ink), number(Measure(s.Text, s.Size, s.Bold)), escaped(s.Text))
}

func pathOf(s Path) string {
	var b strings.Builder
	for i, p := range s.Points {
		b.WriteByte("ML"[min(i, 1)])
		b.WriteString(number(p.X) + " " + number(p.Y))
	}
	if s.Closed {
		b.WriteByte('Z')
	}
	return b.String()
}

func fillOf(ink Ink) string {
	return fmt.Sprintf(` fill="%s"`, hex[ink])
}

func strokeOf(s Stroke) string {
	if s.Ink == NoInk {
		return ""
	}
	out := fmt.Sprintf(` stroke="%s" stroke-width="%s"`, hex[s.Ink], number(s.Width))
	if len(s.Dashes) > 0 {
		dashes := make([]string, len(s.Dashes))
		for i, d := range s.Dashes {
			dashes[i] = number(d)
		}
		out += ` stroke-dasharray="` + strings.Join(dashes, " ") + `"`
	}
	return out
}

// escaped returns text fit for XML; what XML cannot hold becomes �.
func escaped(text string) string {
	var b bytes.Buffer
	xml.EscapeText(&b, []byte(text)) // writing to a buffer does not fail
	return b.String()
}

// number prints millimetres to a hundredth, shortest form.
func number(v float64) string { return strconv.FormatFloat(math.Round(v*100)/100+0, 'f', -1, 64) }

// attribute returns text fit for an identifier: small letters, figures and hyphens.
func attribute(text string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(text) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	if s := strings.Trim(b.String(), "-"); s != "" {
		return s
	}
	return "part"
}
