package drawing

import (
	_ "embed"
	"encoding/binary"
	"strings"
	"sync"
)

// One typeface family serves every drawing and paper: its figures are all of
// one width, its zero is not a capital O and its one is not an l, and it has
// the signs of the trade (Ω Δ ≤ ≥ ² · − → √). Licence: fonts/LICENCE.txt.
var (
	//go:embed fonts/Go-Regular.ttf
	regularFile []byte
	//go:embed fonts/Go-Bold.ttf
	boldFile []byte
)

// FontFamily is the name under which screens and papers know the typeface.
const FontFamily = "Go"

// FontFile returns the TrueType file of the typeface, for embedding.
func FontFile(bold bool) []byte {
	if bold {
		return boldFile
	}
	return regularFile
}

// capHeight and descent are how far capitals reach above the baseline, and
// letters like g below it, over the size of the text.
const (
	capHeight = 0.73
	descent   = 0.22
)

// face is what is read of a font file: the advance of each character.
type face struct {
	advance map[rune]float64 // per unit of text size
}

var (
	regular = sync.OnceValue(func() face { return readFace(regularFile) })
	bold    = sync.OnceValue(func() face { return readFace(boldFile) })
)

func faceOf(isBold bool) face {
	if isBold {
		return bold()
	}
	return regular()
}

// readFace reads the advances of a TrueType file: its tables head, hhea and
// hmtx, and the character map of format 4 (OpenType, cmap and hmtx tables).
func readFace(b []byte) face {
	u16 := func(at int) int { return int(binary.BigEndian.Uint16(b[at:])) }
	u32 := func(at int) int { return int(binary.BigEndian.Uint32(b[at:])) }
	table := map[string]int{}
	for i := range u16(4) {
		at := 12 + 16*i
		table[string(b[at:at+4])] = u32(at + 8)
	}
	em := float64(u16(table["head"] + 18))
	measured := u16(table["hhea"] + 34) // glyphs beyond have the advance of the last
	advance := func(glyph int) float64 {
		return float64(u16(table["hmtx"]+4*min(glyph, measured-1))) / em
	}
	f := face{advance: map[rune]float64{}}
	cmap := table["cmap"]
	for i := range u16(cmap + 2) {
		sub := cmap + u32(cmap+4+8*i+4)
		if u16(sub) != 4 {
			continue
		}
		segments := u16(sub+6) / 2
		ends, starts := sub+14, sub+16+2*segments
		deltas, offsets := starts+2*segments, starts+4*segments
		for s := range segments {
			for c := u16(starts + 2*s); c <= u16(ends+2*s) && c != 0xFFFF; c++ {
				glyph := c
				if o := u16(offsets + 2*s); o != 0 {
					glyph = u16(offsets + 2*s + o + 2*(c-u16(starts+2*s)))
					if glyph == 0 {
						continue
					}
				}
				f.advance[rune(c)] = advance((glyph + u16(deltas+2*s)) & 0xFFFF)
			}
		}
	}
	return f
}

// Printable returns text as the typeface can print it: characters it lacks
// become the sign □, and spaces of other widths a plain one. Line ends stay.
func Printable(text string) string {
	advance := regular().advance
	return strings.Map(func(r rune) rune {
		switch r {
		case '\u2002', '\u2003', '\u2009', '\u202f', '\u00a0', '\t':
			return ' '
		}
		if _, ok := advance[r]; !ok && r != '\n' {
			return '□'
		}
		return r
	}, text)
}

// Measure returns the width of text set in the given size.
func Measure(text string, size float64, bold bool) float64 {
	advance := faceOf(bold).advance
	var w float64
	for _, r := range text {
		a, ok := advance[r]
		if !ok {
			a = advance['□']
		}
		w += a
	}
	return w * size
}

// Wrap breaks text into lines no wider than width, at spaces where it can, and
// within a word only where the word alone is wider. Line ends in the text stay.
func Wrap(text string, width, size float64, bold bool) []string {
	return WrapAfter(0, text, width, size, bold)
}

// WrapAfter is Wrap for a text whose first line has something of width taken
// before it.
func WrapAfter(taken float64, text string, width, size float64, bold bool) []string {
	var lines []string
	for _, paragraph := range strings.Split(text, "\n") {
		lines = append(lines, wrapParagraph(taken, paragraph, width, size, bold)...)
		taken = 0
	}
	return lines
}

// units are the words that stay on the line of the number before them.
var units = map[string]bool{"Ω": true, "kΩ": true, "MΩ": true, "A": true, "mA": true, "kA": true, "V": true, "kV": true,
	"W": true, "kW": true, "kWh": true, "m": true, "mm": true, "mm²": true, "°C": true, "s": true, "ms": true, "%": true,
	"A²s": true, "Ω·m": true, "K·m/W": true, "mΩ/m": true}

// words splits text at spaces, a number and its unit kept together.
func words(text string) []string {
	var out []string
	for _, w := range strings.Fields(text) {
		bare := strings.TrimRight(w, ".,;:)")
		if n := len(out); n > 0 && units[bare] && endsInDigit(out[n-1]) {
			out[n-1] += " " + w
			continue
		}
		out = append(out, w)
	}
	return out
}

func endsInDigit(s string) bool { return s[len(s)-1] >= '0' && s[len(s)-1] <= '9' }

func wrapParagraph(taken float64, text string, width, size float64, bold bool) []string {
	var lines []string
	line, room := "", width-taken
	for _, word := range words(text) {
		joined := word
		if line != "" {
			joined = line + " " + word
		}
		if Measure(joined, size, bold) <= room {
			line = joined
			continue
		}
		if line != "" || room < width {
			lines, room = append(lines, line), width
		}
		for Measure(word, size, bold) > width {
			head := fitting(word, width, size, bold)
			lines = append(lines, word[:head])
			word = word[head:]
		}
		line = word
	}
	if line != "" || len(lines) == 0 {
		lines = append(lines, line)
	}
	return lines
}

// fitting returns how many bytes of word fit into width, one character at least.
func fitting(word string, width, size float64, bold bool) int {
	end := 0
	for i, r := range word {
		next := i + len(string(r))
		if end > 0 && Measure(word[:next], size, bold) > width {
			break
		}
		end = next
	}
	return end
}
