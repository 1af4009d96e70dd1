//go:build !js

package web

// The icon in pixels, for what takes no SVG. A device that has taken the pages
// in has its icons already, so the part for the browser draws none.

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"

	"golang.org/x/image/vector"
)

// icons are the addresses of the icons in pixels, and how each is drawn: how
// many pixels wide, and how large the picture is in them. Of a maskable icon a
// device cuts off what is further than two fifths of its side from the middle
// (W3C, Web Application Manifest, icon masks), so its picture is smaller.
var icons = map[string]func() []byte{
	"/assets/icon-180.png":          func() []byte { return iconPNG(180, 0.9) },
	"/assets/icon-192.png":          func() []byte { return iconPNG(192, 1) },
	"/assets/icon-512.png":          func() []byte { return iconPNG(512, 1) },
	"/assets/icon-maskable-512.png": func() []byte { return iconPNG(512, 0.85) },
}

func iconPNG(side int, scale float64) []byte {
	one := scale * float64(side) / iconSide
	at := func(v float64) float32 { return float32(float64(side)/2 + (v-iconSide/2)*one) }
	shapes := vector.NewRasterizer(side, side)
	for _, r := range iconBars {
		shapes.MoveTo(at(r.x), at(r.y))
		shapes.LineTo(at(r.x+r.width), at(r.y))
		shapes.LineTo(at(r.x+r.width), at(r.y+r.height))
		shapes.LineTo(at(r.x), at(r.y+r.height))
		shapes.ClosePath()
	}
	const corners = 64 // as good as round
	for i := range corners {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / corners)
		x, y := at(iconDot.x+iconDot.radius*cos), at(iconDot.y+iconDot.radius*sin)
		if i == 0 {
			shapes.MoveTo(x, y)
		} else {
			shapes.LineTo(x, y)
		}
	}
	shapes.ClosePath()
	drawn := image.NewGray(image.Rect(0, 0, side, side))
	draw.Draw(drawn, drawn.Bounds(), image.White, image.Point{}, draw.Src)
	shapes.Draw(drawn, drawn.Bounds(), image.NewUniform(color.Black), image.Point{})
	var b bytes.Buffer
	if err := png.Encode(&b, drawn); err != nil {
		panic(err) // a picture in memory is always written
	}
	return b.Bytes()
}
