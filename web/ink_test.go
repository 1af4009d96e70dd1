package web

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// luminance is the relative luminance of a colour, W3C WCAG 2.2, "relative
// luminance".
func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	hex = strings.TrimPrefix(hex, "#")
	if len(hex) == 3 {
		hex = hex[:1] + hex[:1] + hex[1:2] + hex[1:2] + hex[2:] + hex[2:]
	}
	var part [3]float64
	for i := range part {
		n, err := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
		if err != nil {
			t.Fatal(err)
		}
		if v := float64(n) / 255; v <= 0.04045 {
			part[i] = v / 12.92
		} else {
			part[i] = math.Pow((v+0.055)/1.055, 2.4)
		}
	}
	return 0.2126*part[0] + 0.7152*part[1] + 0.0722*part[2]
}

// TestInksCanBeRead: every pair of inks that meets on a screen, light and dark,
// by W3C WCAG 2.2: 1.4.6 for words (7:1), 1.4.3 for words on the wash of a
// chosen row (4.5:1), 1.4.11 for edges and marks (3:1).
func TestInksCanBeRead(t *testing.T) {
	css, err := assets.ReadFile("assets/page.css")
	if err != nil {
		t.Fatal(err)
	}
	schemes := regexp.MustCompile(`:root \{[^}]*--ink:[^}]*\}`).FindAllString(string(css), -1)
	if len(schemes) != 2 {
		t.Fatalf("%d schemes of inks, want light and dark", len(schemes))
	}
	for i, scheme := range schemes {
		ink := map[string]float64{}
		for _, m := range regexp.MustCompile(`--(\w+): (#\w+)`).FindAllStringSubmatch(scheme, -1) {
			ink[m[1]] = luminance(t, m[2])
		}
		for _, tt := range []struct {
			over, under string
			least       float64
		}{
			{"ink", "paper", 7}, {"soft", "paper", 7}, {"alarm", "paper", 7}, {"paper", "ink", 7},
			{"ink", "wash", 7}, {"soft", "wash", 4.5}, {"alarm", "wash", 4.5}, {"line", "paper", 3}, {"ink", "pale", 3}, {"alarm", "pale", 3},
		} {
			a, b := ink[tt.over], ink[tt.under]
			if contrast := (max(a, b) + 0.05) / (min(a, b) + 0.05); contrast < tt.least {
				t.Errorf("%s on %s, %s: %.2f, want %v", tt.over, tt.under, []string{"light", "dark"}[i], contrast, tt.least)
			}
		}
	}
}
