package drawing

import (
	"bytes"
	"encoding/base64"
	"encoding/xml"
	"io"
	"strings"
	"testing"
)

// TestAPhotoGoesIntoAnSVGWhole: another reader of XML finds its bytes again,
// where it was moved to, under its name.
func TestAPhotoGoesIntoAnSVGWhole(t *testing.T) {
	picture := []byte{0xFF, 0xD8, '<', '"', 0, 0xFF, 0xD9}
	s := Scene{Name: "photo", Width: 100, Height: 100, Shapes: Scene{Shapes: []Shape{Image{XY{1, 2}, 30, 40, picture, "seal <whole>"}}}.At(10, 20)}
	var at []string
	var content []byte
	title := false
	for d := xml.NewDecoder(bytes.NewReader(s.SVG())); ; {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			for _, a := range e.Attr {
				if e.Name.Local != "image" {
					continue
				}
				if code, ok := strings.CutPrefix(a.Value, "data:image/jpeg;base64,"); ok {
					content, _ = base64.StdEncoding.DecodeString(code)
				} else if a.Name.Local == "x" || a.Name.Local == "y" {
					at = append(at, a.Value)
				}
			}
		case xml.CharData:
			title = title || string(e) == "seal <whole>"
		}
	}
	if !bytes.Equal(content, picture) || strings.Join(at, " ") != "11 22" || !title {
		t.Errorf("the SVG has %x at %q, named %v", content, at, title)
	}
}
