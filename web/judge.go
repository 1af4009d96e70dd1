package web

// What a reading says: its dot on the band, and the words that go with it.

import (
	"html/template"

	"chargewright/drawing"
	"chargewright/prove"
)

// judged is a reading held against what was expected of it.
type judged struct {
	Value string
	Band  template.HTML
	Says  string
	Means string
}

// judge holds a value against an expectation.
func (o *opened) judge(e prove.Expectation, value string) judged {
	e.Taken = value
	scene := drawing.BandPicture(e)
	return judged{Value: value, Band: picture(scene, true), Says: scene.Description, Means: e.Means}
}
