package document

import (
	"fmt"

	"github.com/skip2/go-qrcode"

	"chargewright/drawing"
)

// QR returns a text as a QR code (ISO/IEC 18004), 40 mm wide with its quiet
// zone, in squares.
func QR(name, title, text string) (drawing.Scene, error) {
	code, err := qrcode.New(text, qrcode.Medium)
	if err != nil {
		return drawing.Scene{}, fmt.Errorf("make the QR code: %w", err)
	}
	bits := code.Bitmap()
	const width = 40.0
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
