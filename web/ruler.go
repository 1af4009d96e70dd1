package web

// Readings on their rulers: a grey bar is what was expected, a post is a
// limit, a dot is read, a struck ring counts no more.

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/prove"
)

// smallRuler is the ruler of a reading on its station.
func smallRuler(e prove.Expectation) template.HTML { return drawRuler(e, 118, 16, false, false) }

// largeRuler is the ruler of the reading at hand, with its numbers; before is what
// was read there before and counts no more.
func largeRuler(e prove.Expectation, bad bool, before ...float64) template.HTML {
	return drawRuler(e, 328, 18, true, bad, before...)
}

// drawRuler draws a ruler of a width, its bar of a height.
func drawRuler(e prove.Expectation, width, bar float64, numbers, bad bool, before ...float64) template.HTML {
	r := drawing.RulerOf(e, before...)
	if !r.HasBand && !r.HasLimit && !r.HasRead {
		return ""
	}
	x := func(share float64) float64 { return math.Round(10*share*width) / 10 }
	middle, height, dot := bar/2, bar, bar*0.4
	if numbers {
		if middle, height, dot = 16, 52, 10; r.HasLimit {
			middle, height = 38, 74
		}
	}
	var b strings.Builder
	put := func(format string, args ...any) { fmt.Fprintf(&b, format, args...) }
	put(`<svg class="ruler" viewBox="0 0 %g %g" aria-hidden="true" focusable="false">`, width, height)
	put(`<path class="hair" d="M0 %gH%g"/>`, middle, width)
	top, bottom := middle-bar/2+1, middle+bar/2-1
	if r.HasBand {
		from, to := x(r.From), max(x(r.To), x(r.From)+2)
		put(`<path class="expected" d="M%g %gH%gV%gH%gZ"/>`, from, top, to, bottom, from)
		if !r.OpenBelow {
			put(`<path class="end" d="M%g %gV%g"/>`, from, top, bottom)
		}
		if !r.OpenAbove {
			put(`<path class="end" d="M%g %gV%g"/>`, to, top, bottom)
		}
	}
	if r.Broken {
		at := x(r.Break)
		put(`<path class="gone" d="M%g %gV%g"/>`, at, top, bottom)
		put(`<path class="end" d="M%g %gl4-%gM%g %gl4-%g"/>`, at-4, bottom, bar-2, at+1, bottom, bar-2)
	}
	if bad && r.HasRead && r.HasBand {
		from := x(r.To)
		if r.Read < r.From {
			from = x(r.From)
		}
		put(`<path class="off" d="M%g %gH%g"/>`, from, middle, x(r.Read))
	}
	if r.HasLimit {
		put(`<path class="post" d="M%g %gV%g"/>`, x(r.Limit), middle-bar*0.7, middle+bar*0.7)
	}
	if numbers {
		b.WriteString(rulerNumbers(e, r, x, width, height-4))
	}
	for _, was := range r.Before {
		put(`<path class="was" d="M%g %gm-9 0a9 9 0 1 0 18 0a9 9 0 1 0-18 0M%g %gl24-24"/>`, x(was), middle, x(was)-12, middle+12)
	}
	if r.HasRead {
		put(`<circle class="dot" cx="%g" cy="%g" r="%g"/>`, min(max(x(r.Read), dot), width-dot), middle, dot)
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String()) // made of numbers, and of amounts that we print
}

// letter is about how wide a figure is on a ruler.
const letter = 9.5

// rulerNumbers writes the edges of the band below the line and the limit above
// it, none over another.
func rulerNumbers(e prove.Expectation, r drawing.Ruler, x func(float64) float64, width, below float64) string {
	var b strings.Builder
	text := func(at, y float64, anchor, class, says string) {
		fmt.Fprintf(&b, `<text x="%g" y="%g" text-anchor="%s" class="%s">%s</text>`, at, y, anchor, class, template.HTMLEscapeString(says))
	}
	within := func(at float64, says string) float64 {
		half := letter * float64(len([]rune(says))) / 2
		return min(max(at, half), width-half)
	}
	low, high := numberOf(e.Low, e.High), numberOf(e.High, finding.Amount{})
	if r.HasBand {
		switch half := letter * float64(len([]rune(low))+len([]rune(high))+2) / 2; {
		case r.OpenBelow:
			text(within(x(r.To), high), below, "middle", "n", high)
		case r.OpenAbove:
			low += " and more"
			text(within(x(r.From), low), below, "middle", "n", low)
		case x(r.To)-x(r.From) > half:
			text(within(x(r.From), low), below, "middle", "n", low)
			text(within(x(r.To), high), below, "middle", "n", high)
		default:
			both := low + " to " + high
			text(within((x(r.From)+x(r.To))/2, both), below, "middle", "n", both)
		}
	}
	if r.HasLimit {
		says := "limit " + e.Limit.String()
		text(within(x(r.Limit), says), 16, "middle", "l", says)
	}
	return b.String()
}

// numberOf prints an amount; without its unit where the next one has the same.
func numberOf(a, next finding.Amount) string {
	number, unit := figureAndUnit(a.String(), "")
	if _, same := figureAndUnit(next.String(), ""); same == unit {
		return number
	}
	return a.String()
}
