// Package photo reads a photo as a camera made it, and makes the print of it
// that goes onto a paper: turned upright, smaller, and without anything the
// camera wrote into the file, such as the place it was taken at.
package photo

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	_ "image/png" // the other kind of photo that is taken
	"io"
	"strings"
	"time"

	"github.com/bep/imagemeta"
	"golang.org/x/image/draw"
)

// MostPixels is the largest photo that is read: what it takes in memory grows
// with its pixels, and a few bytes can claim any number of them.
const MostPixels = 64_000_000

// Photo is what a file says of itself before its picture is read.
type Photo struct {
	Kind          string // "jpeg" or "png"
	Width, Height int    // pixels, as they lie in the file
	Taken         string // date and time by the camera's clock, like 2026-11-25 14:05; empty where it does not say
	turn          turn
	content       []byte
}

// turn is how the picture is to be turned to stand upright: the orientation of
// EXIF 2.32 (tag 0x0112), 1 to 8.
type turn uint8

// ErrKind says that a file is neither of the two kinds that are read.
var ErrKind = errors.New("a JPEG or PNG photo is wanted")

// Read reads what a file says of itself. An error says what is wanted, in
// words for a person.
func Read(content []byte) (Photo, error) {
	c, kind, err := image.DecodeConfig(bytes.NewReader(content))
	if err != nil || kind != "jpeg" && kind != "png" {
		return Photo{}, ErrKind
	}
	if c.Width < 1 || c.Height < 1 || c.Width > MostPixels/c.Height {
		return Photo{}, fmt.Errorf("%d by %d pixels are more than is read; %d million are the most", c.Width, c.Height, MostPixels/1_000_000)
	}
	p := Photo{Kind: kind, Width: c.Width, Height: c.Height, turn: 1, content: content}
	format := imagemeta.JPEG
	if kind == "png" {
		format = imagemeta.PNG
	}
	// What cannot be read of this is not there: the picture is all the same.
	imagemeta.Decode(imagemeta.Options{R: bytes.NewReader(content), ImageFormat: format, Sources: imagemeta.EXIF,
		ShouldHandleTag: func(t imagemeta.TagInfo) bool {
			return strings.HasPrefix(t.Namespace, "IFD0") && (t.Tag == "Orientation" || t.Tag == "DateTimeOriginal")
		},
		HandleTag: func(t imagemeta.TagInfo) error {
			switch v := t.Value.(type) {
			case uint16:
				if t.Tag == "Orientation" && v >= 1 && v <= 8 {
					p.turn = turn(v)
				}
			case string:
				if when, err := time.Parse("2006:01:02 15:04:05", strings.TrimRight(v, "\x00 ")); err == nil && t.Tag == "DateTimeOriginal" {
					p.Taken = when.Format("2006-01-02 15:04")
				}
			}
			return nil
		}})
	return p, nil
}

// SHA256 returns the SHA-256 of a file, in hexadecimal.
func SHA256(content []byte) string {
	sum := sha256.Sum256(content)
	return hex.EncodeToString(sum[:])
}

// Upright returns the width and height of the picture as a person sees it.
func (p Photo) Upright() (width, height int) {
	if p.turn >= 5 {
		return p.Height, p.Width
	}
	return p.Width, p.Height
}

// quality is the JPEG quality of a print: the lettering of a rating plate
// stays sharp.
const quality = 82

// Print writes the photo as a JPEG for paper: upright, neither side longer
// than most pixels, nothing of the camera's in it. What is see-through in a
// PNG becomes white.
func (p Photo) Print(w io.Writer, most int) error {
	from, _, err := image.Decode(bytes.NewReader(p.content))
	if err != nil {
		return fmt.Errorf("the file is damaged, or was cut short: %w", err)
	}
	width, height := p.Width, p.Height
	if long := max(width, height); long > most {
		width, height = max(1, width*most/long), max(1, height*most/long)
	}
	small := image.NewRGBA(image.Rect(0, 0, width, height))
	draw.Draw(small, small.Bounds(), image.NewUniform(color.White), image.Point{}, draw.Src)
	draw.BiLinear.Scale(small, small.Bounds(), from, from.Bounds(), draw.Over, nil)
	if err := jpeg.Encode(w, p.turn.apply(small), &jpeg.Options{Quality: quality}); err != nil {
		return fmt.Errorf("write the print: %w", err)
	}
	return nil
}

// apply turns a picture upright. EXIF names each orientation by where the
// first row and the first column of the file belong.
func (t turn) apply(from *image.RGBA) *image.RGBA {
	if t <= 1 {
		return from
	}
	w, h := from.Rect.Dx(), from.Rect.Dy()
	to := image.NewRGBA(image.Rect(0, 0, w, h))
	if t >= 5 {
		to = image.NewRGBA(image.Rect(0, 0, h, w))
	}
	for y := range h {
		for x := range w {
			var at image.Point
			switch t {
			case 2: // top right
				at = image.Pt(w-1-x, y)
			case 3: // bottom right
				at = image.Pt(w-1-x, h-1-y)
			case 4: // bottom left
				at = image.Pt(x, h-1-y)
			case 5: // left top
				at = image.Pt(y, x)
			case 6: // right top
				at = image.Pt(h-1-y, x)
			case 7: // right bottom
				at = image.Pt(h-1-y, w-1-x)
			case 8: // left bottom
				at = image.Pt(y, w-1-x)
			}
			to.SetRGBA(at.X, at.Y, from.RGBAAt(x, y))
		}
	}
	return to
}
