package photo

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"strings"
	"testing"
)

// corners are the colours of a picture's corners as a person sees them: top
// left, top right, bottom left, bottom right.
var corners = [4]color.RGBA{{220, 30, 30, 255}, {30, 180, 30, 255}, {30, 30, 220, 255}, {230, 220, 40, 255}}

func corner(x, y, w, h int) color.RGBA {
	i := 0
	if x >= w/2 {
		i++
	}
	if y >= h/2 {
		i += 2
	}
	return corners[i]
}

// A sight is where the first row and the first column of the file lie, as a
// person sees the picture. Source: CIPA DC-008 (Exif 2.32), 4.6.4 A, tag
// Orientation, from memory; the browser test holds Chromium to the same.
var sights = []struct{ row, column string }{1: {"top", "left"}, {"top", "right"}, {"bottom", "right"}, {"bottom", "left"},
	{"left", "top"}, {"right", "top"}, {"right", "bottom"}, {"left", "bottom"}}

// stored is the picture, wide by high as it is seen, as it lies in a file of
// that orientation.
func stored(orientation, wide, high int) *image.RGBA {
	s := sights[orientation]
	rows, columns := high, wide
	if s.row == "left" || s.row == "right" {
		rows, columns = wide, high
	}
	out := image.NewRGBA(image.Rect(0, 0, columns, rows))
	for r := range rows {
		for c := range columns {
			x, y := 0, 0
			for _, along := range []struct {
				side string
				far  int
			}{{s.row, r}, {s.column, c}} {
				switch along.side {
				case "top":
					y = along.far
				case "bottom":
					y = high - 1 - along.far
				case "left":
					x = along.far
				case "right":
					x = wide - 1 - along.far
				}
			}
			out.SetRGBA(c, r, corner(x, y, wide, high))
		}
	}
	return out
}

// camera writes a picture as a camera does: JPEG, with EXIF that tells the
// orientation, the time, and the place by GPS.
func camera(t testing.TB, from image.Image, orientation int) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, from, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return WithEXIF(b.Bytes(), orientation, "2026:11:25 14:05:09")
}

func printed(t *testing.T, content []byte, most int) (Photo, image.Image, []byte) {
	t.Helper()
	p, err := Read(content)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := p.Print(&b, most); err != nil {
		t.Fatal(err)
	}
	out, err := jpeg.Decode(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	return p, out, b.Bytes()
}

func near(a, b color.Color) bool {
	r, g, bl, _ := a.RGBA()
	r2, g2, b2, _ := b.RGBA()
	d := func(x, y uint32) bool { return max(x, y)-min(x, y) < 0x2800 }
	return d(r, r2) && d(g, g2) && d(bl, b2)
}

// TestEveryOrientationStandsUpright prints the same picture as it lies in a
// file of each orientation.
func TestEveryOrientationStandsUpright(t *testing.T) {
	for orientation := 1; orientation <= 8; orientation++ {
		p, got, _ := printed(t, camera(t, stored(orientation, 120, 80), orientation), 60)
		if w, h := p.Upright(); w != 120 || h != 80 {
			t.Errorf("orientation %d: upright it is %d × %d, want 120 × 80", orientation, w, h)
		}
		if b := got.Bounds(); b.Dx() != 60 || b.Dy() != 40 {
			t.Errorf("orientation %d: the print is %v, want 60 × 40", orientation, b)
			continue
		}
		for i, at := range []image.Point{{8, 8}, {51, 8}, {8, 31}, {51, 31}} {
			if !near(got.At(at.X, at.Y), corners[i]) {
				t.Errorf("orientation %d: at %v is %v, want %v", orientation, at, got.At(at.X, at.Y), corners[i])
			}
		}
	}
}

// TestAPrintTellsNothingOfTheCamera: the file tells time and place, the print
// has no segment but those of the picture itself.
func TestAPrintTellsNothingOfTheCamera(t *testing.T) {
	content := camera(t, stored(6, 1600, 1200), 6)
	for _, there := range []string{"Exif\x00\x00", "Invented Camera", "2026:11:25 14:05:09"} {
		if !bytes.Contains(content, []byte(there)) {
			t.Fatalf("the camera's file has no %q: the test tests nothing", there)
		}
	}
	p, _, print := printed(t, content, 1200)
	if p.Taken != "2026-11-25 14:05" {
		t.Errorf("taken %q, want the camera's time", p.Taken)
	}
	for _, gone := range []string{"Exif", "Invented Camera", "2026:11:25"} {
		if bytes.Contains(print, []byte(gone)) {
			t.Errorf("the print still has %q", gone)
		}
	}
	// ISO/IEC 10918-1, table B.1: APP0 to APP15 are 0xE0 to 0xEF, COM is 0xFE.
	for at := 2; at+4 <= len(print) && print[at] == 0xFF && print[at+1] != 0xDA; {
		if m := print[at+1]; m >= 0xE0 && m <= 0xEF || m == 0xFE {
			t.Errorf("the print has a segment %#x", m)
		}
		at += 2 + int(binary.BigEndian.Uint16(print[at+2:]))
	}
	if len(print) > 300_000 {
		t.Errorf("the print has %d bytes", len(print))
	}
}

func TestWhatIsSeeThroughBecomesWhite(t *testing.T) {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewRGBA(image.Rect(0, 0, 10, 10))); err != nil {
		t.Fatal(err)
	}
	p, got, _ := printed(t, b.Bytes(), 100)
	if p.Kind != "png" || !near(got.At(5, 5), color.White) {
		t.Errorf("a see-through %s prints as %v", p.Kind, got.At(5, 5))
	}
	if got.Bounds().Dx() != 10 {
		t.Errorf("a small photo was made %v", got.Bounds())
	}
}

func TestWhatIsNoPhotoIsRefused(t *testing.T) {
	var huge bytes.Buffer
	if err := png.Encode(&huge, image.NewGray(image.Rect(0, 0, 1, 1))); err != nil {
		t.Fatal(err)
	}
	claims := huge.Bytes()
	binary.BigEndian.PutUint32(claims[16:], 50_000) // width and height in IHDR (PNG, 11.2.2)
	binary.BigEndian.PutUint32(claims[20:], 50_000)
	binary.BigEndian.PutUint32(claims[29:], crcOf(claims[12:29]))
	for name, content := range map[string][]byte{"nothing": nil, "words": []byte("cut-out.jpg"), "a drawing": []byte("<svg/>"),
		"a GIF": []byte("GIF89a\x01\x00\x01\x00\x00\x00\x00;"), "more pixels than are read": claims} {
		if _, err := Read(content); err == nil {
			t.Errorf("%s is read as a photo", name)
		} else if strings.Contains(err.Error(), "image:") {
			t.Errorf("%s: %v is no answer for a person", name, err)
		}
	}
	whole := camera(t, stored(1, 400, 300), 1)
	p, err := Read(whole[:len(whole)-len(whole)/3])
	if err != nil {
		t.Fatal(err)
	}
	if err := p.Print(&bytes.Buffer{}, 100); err == nil || !strings.Contains(err.Error(), "cut short") {
		t.Errorf("a photo cut short prints: %v", err)
	}
}

// FuzzRead: whatever is sent, nothing breaks, and what is read can be asked for
// its size.
func FuzzRead(f *testing.F) {
	f.Add(camera(f, stored(6, 40, 30), 6))
	f.Add([]byte("\x89PNG\r\n\x1a\n"))
	f.Add(WithEXIF([]byte("\xff\xd8\xff\xd9"), 9, "yesterday"))
	f.Fuzz(func(t *testing.T, content []byte) {
		p, err := Read(content)
		if err != nil {
			return
		}
		if w, h := p.Upright(); w*h != p.Width*p.Height || w*h > MostPixels {
			t.Fatalf("%d × %d upright, %d × %d in the file", w, h, p.Width, p.Height)
		}
		if p.Width*p.Height <= 10_000 {
			_ = p.Print(&bytes.Buffer{}, 50)
		}
	})
}

func ExampleSHA256() {
	fmt.Println(SHA256([]byte("abc"))) // FIPS 180-4; the digest of "abc" as NIST prints it in its examples
	// Output: ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad
}
