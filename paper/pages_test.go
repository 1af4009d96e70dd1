package paper

import (
	"testing"

	"chargewright/document"
)

func TestPagesHoldTheirTextsApart(t *testing.T) {
	for _, p := range append(examples(t), byHand(t), strained(t), manyCircuits(t, 40)) {
		_, docs := documents(p)
		for _, d := range docs {
			textsApart(t, p.name, d)
		}
	}
}

func textsApart(t *testing.T, name string, d *document.Document) {
	t.Helper()
	for i, page := range d.Pages() {
		texts := page.Scene.Texts()
		for k, a := range texts {
			l, top, r, b := a.Box()
			if l < 10 || r > page.Scene.Width-10 || top < 8 || b > page.Scene.Height-4 {
				t.Errorf("%s, %s, page %d: %q runs off the page", name, d.Title, i+1, a.Text)
			}
			if points := a.Size / 25.4 * 72; points < 8.4 {
				t.Errorf("%s, %s, page %d: %q is set in %.1f point", name, d.Title, i+1, a.Text, points)
			}
			for _, other := range texts[k+1:] {
				l2, top2, r2, b2 := other.Box()
				const slack = 0.05
				if l < r2-slack && l2 < r-slack && top < b2-slack && top2 < b-slack {
					t.Errorf("%s, %s, page %d: %q and %q overlap", name, d.Title, i+1, a.Text, other.Text)
				}
			}
		}
	}
}
