package document

import (
	"fmt"
	"strings"

	"github.com/skip2/go-qrcode"
)

// Code is a text as a two-dimensional code (ISO/IEC 18004), to be read with a
// camera instead of typed.
type Code struct{ dark [][]bool } // the quiet border included

// NewCode returns the code of a text.
func NewCode(text string) (Code, error) {
	q, err := qrcode.New(text, qrcode.Medium)
	if err != nil {
		return Code{}, fmt.Errorf("draw the address as a code: %w", err)
	}
	return Code{q.Bitmap()}, nil
}

// Blocks draws the code for a terminal, two rows to a line, dark on light
// whatever the terminal's colours are.
func (c Code) Blocks() string {
	var b strings.Builder
	at := func(y, x int) bool { return y < len(c.dark) && c.dark[y][x] }
	for y := 0; y < len(c.dark); y += 2 {
		b.WriteString("\x1b[30;107m")
		for x := range c.dark[y] {
			switch up, down := at(y, x), at(y+1, x); {
			case up && down:
				b.WriteString("█")
			case up:
				b.WriteString("▀")
			case down:
				b.WriteString("▄")
			default:
				b.WriteString(" ")
			}
		}
		b.WriteString("\x1b[0m\n")
	}
	return b.String()
}

// SVG draws the code as an SVG picture, one unit a module.
func (c Code) SVG() []byte {
	n := len(c.dark)
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="60mm" height="60mm" shape-rendering="crispEdges">`+
		`<rect width="%d" height="%d" fill="#fff"/><path d="`, n, n, n, n)
	for y, row := range c.dark {
		for x := 0; x < n; x++ {
			from := x
			for x < n && row[x] {
				x++
			}
			if x > from {
				fmt.Fprintf(&b, "M%d %dh%dv1h-%dz", from, y, x-from, x-from)
			}
		}
	}
	b.WriteString(`"/></svg>` + "\n")
	return []byte(b.String())
}

// CodePNG draws the code of a text as a PNG picture.
func CodePNG(text string) ([]byte, error) {
	picture, err := qrcode.Encode(text, qrcode.Medium, -8)
	if err != nil {
		return nil, fmt.Errorf("draw the address as a code: %w", err)
	}
	return picture, nil
}
