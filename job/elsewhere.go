package job

// What is typed in one field and belongs in two, or in another: "6 mm² SWA" as
// a csa, "B40" as a type, "32 A" as a power.

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"chargewright/standard"
)

// mostElsewhere is the longest text that is taken apart.
const mostElsewhere = 40

// elsewhere says where a text belongs that does not suit field w, from what the
// fields beside it take; right, as it is, where none takes it.
func elsewhere(w *where, text, right string) string {
	if len(text) > mostElsewhere {
		return right
	}
	own, beside := w.field, jobShape
	if w.up != nil {
		beside = w.up.field.Of
	}
	if beside == nil {
		return right
	}
	for _, f := range beside.Fields {
		if shown, fits := f.Takes(text); fits && f != own {
			return fmt.Sprintf("%s; %s goes under %s", right, shown, f.Name)
		}
	}
	for i := range text {
		before, after := text[:i], text[i:]
		if i == 0 || !parts(before, after) {
			continue
		}
		for _, two := range [][2]string{{before, after}, {after, before}} {
			here, fits := own.Takes(strings.TrimSpace(two[0]))
			if !fits {
				continue
			}
			for _, f := range beside.Fields {
				if there, fits := f.Takes(strings.TrimSpace(two[1])); fits && f != own {
					return fmt.Sprintf("it is two facts: %s here, and %s under %s", here, there, f.Name)
				}
			}
		}
	}
	return right
}

// parts reports whether a text may be two facts that meet here: at a space, or
// where letters and figures meet.
func parts(before, after string) bool {
	a, _ := utf8.DecodeLastRuneInString(before)
	b, _ := utf8.DecodeRuneInString(after)
	return unicode.IsSpace(b) || unicode.IsSpace(a) || unicode.IsDigit(a) != unicode.IsDigit(b)
}

// Takes reports whether the field is a quantity or one of a few words and text
// is right for it, and how it is then written.
func (f *Field) Takes(text string) (shown string, fits bool) {
	if f.form == recordForm && f.Of.isStated() {
		f = f.Of.short
	}
	if f.form != scalarForm || f.codec == nil || f.codec.sort != quantitySort && f.codec.sort != wordSort || text == "" {
		return "", false
	}
	fact := f.codec.fresh()
	number, err := f.codec.read(fact, text)
	if err != nil || f.limits.check(text, number) != "" {
		return "", false
	}
	shown = f.codec.write(fact)
	switch standard.Family(shown) { // the letter alone does not tell a breaker from an RCBO
	case standard.BreakerB, standard.BreakerC, standard.BreakerD:
		shown += " (" + strings.Replace(shown, "60898", "61009", 1) + " if it is an RCBO)"
	}
	return shown, true
}
