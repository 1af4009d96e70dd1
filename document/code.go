package document

import (
	"fmt"
	"strings"

	"github.com/skip2/go-qrcode"

	"chargewright/drawing"
)

// code is the code of a text, to be read with a camera instead of typed.
func code(text string) (*qrcode.QRCode, error) {
	q, err := qrcode.New(text, qrcode.Medium)
	if err != nil {
		return nil, fmt.Errorf("draw the text as a code: %w", err)
	}
	return q, nil
}

// QR returns a text as a QR code (ISO/IEC 18004), of a width in mm with its quiet
// zone, in squares.
func QR(name, title, text string, width float64) (drawing.Scene, error) {
	q, err := code(text)
	if err != nil {
		return drawing.Scene{}, err
	}
	bits := q.Bitmap()
	module := width / float64(len(bits))
	s := drawing.Scene{Name: name, Title: title, Description: title + ": " + text, Width: width, Height: width}
	for y, row := range bits {
		for x := 0; x < len(row); x++ {
			from := x
			for x < len(row) && row[x] {
				x++
			}
			if x > from { // a run of dark squares as one, so that no seam shows
				s.Shapes = append(s.Shapes, drawing.Rectangle{At: drawing.XY{X: float64(from) * module, Y: float64(y) * module},
					Width: float64(x-from) * module, Height: module, Fill: drawing.Black})
			}
		}
	}
	return s, nil
}

// QRPicture returns a text as a QR code in PNG.
func QRPicture(text string) ([]byte, error) {
	q, err := code(text)
	if err != nil {
		return nil, err
	}
	return q.PNG(-8)
}

// QRBlocks returns a text as a QR code for a terminal, two rows to a line, dark on
// light whatever the terminal's colours are.
func QRBlocks(text string) (string, error) {
	q, err := code(text)
	if err != nil {
		return "", err
	}
	lines := strings.Split(strings.TrimSuffix(q.ToSmallString(true), "\n"), "\n")
	return "\x1b[30;107m" + strings.Join(lines, "\x1b[0m\n\x1b[30;107m") + "\x1b[0m\n", nil
}
