package web

// The picture that stands for the pages among others: a line with its cut-out,
// and the earth beside it. It is written here once, and drawn as it is asked
// for.

import (
	"fmt"
	"strings"
)

// iconSide is the side of the square that the icon is drawn in.
const iconSide = 96

type bar struct{ x, y, width, height float64 }

// iconBars are black on white.
var iconBars = []bar{
	{33.5, 14, 5, 22}, {33.5, 60, 5, 22}, // the line
	{24.5, 35.5, 23, 5}, {24.5, 55.5, 23, 5}, {24.5, 40.5, 5, 15}, {42.5, 40.5, 5, 15}, // the cut-out
	{58, 14, 4, 14}, {58, 33, 4, 3}, {58, 41, 4, 14}, {58, 60, 4, 3}, {58, 68, 4, 14}, // the earth
}

// iconDot is the point, at the end of the line.
var iconDot = struct{ x, y, radius float64 }{36, 82, 5}

// iconSVG is the icon as an SVG file.
var iconSVG = func() []byte {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %[1]d"><rect width="%[1]d" height="%[1]d" fill="#fff"/>`, iconSide)
	for _, r := range iconBars {
		fmt.Fprintf(&b, `<rect x="%g" y="%g" width="%g" height="%g"/>`, r.x, r.y, r.width, r.height)
	}
	fmt.Fprintf(&b, `<circle cx="%g" cy="%g" r="%g"/></svg>`, iconDot.x, iconDot.y, iconDot.radius)
	return []byte(b.String())
}()
