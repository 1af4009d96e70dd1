package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image/png"
	"math"
	"net/http"
	"testing"
)

// TestTheIconsAreWhatTheManifestSays fetches every icon of the manifest.
func TestTheIconsAreWhatTheManifestSays(t *testing.T) {
	h := Secure(served(t).Handler())
	_, text := get(t, h, "/manifest.webmanifest")
	var manifest struct {
		Icons []struct{ Src, Type, Sizes, Purpose string }
	}
	if err := json.Unmarshal([]byte(text), &manifest); err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, icon := range manifest.Icons {
		resp, body := get(t, h, icon.Src)
		if resp.StatusCode != http.StatusOK || resp.Header.Get("Content-Type") != icon.Type {
			t.Errorf("%s answers %s as %s, want %s", icon.Src, resp.Status, resp.Header.Get("Content-Type"), icon.Type)
			continue
		}
		if icon.Type != "image/png" {
			continue
		}
		seen[icon.Sizes+" "+icon.Purpose] = true
		drawn, err := png.Decode(bytes.NewReader([]byte(body)))
		if err != nil {
			t.Fatal(err)
		}
		side := drawn.Bounds().Dx()
		if size := fmt.Sprintf("%dx%d", side, drawn.Bounds().Dy()); size != icon.Sizes {
			t.Errorf("%s is %s, want %s", icon.Src, size, icon.Sizes)
		}
		black, furthest := 0, 0.0
		for y := range side {
			for x := range side {
				if r, _, _, _ := drawn.At(x, y).RGBA(); r < 0x8000 {
					black++
					furthest = max(furthest, math.Hypot(float64(2*x+1-side), float64(2*y+1-side))/2/float64(side))
				}
			}
		}
		if black < side*side/50 {
			t.Errorf("%s is all but empty", icon.Src)
		}
		// W3C, Web Application Manifest, icon masks: the safe zone is a circle
		// in the middle, of two fifths of the icon's side.
		if icon.Purpose == "maskable" && furthest > 0.4 {
			t.Errorf("%s reaches %.2f of its side from the middle, want at most 0.4", icon.Src, furthest)
		}
	}
	for _, want := range []string{"192x192 any", "512x512 any", "512x512 maskable"} {
		if !seen[want] {
			t.Errorf("the manifest has no icon of %s", want)
		}
	}
}
