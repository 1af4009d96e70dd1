package job

// Values that can only be slips of the pen: a power factor above 1, a leg of
// 0 m, a height of 900 m. What is merely unwise is not refused here.

import (
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"time"

	"chargewright/quantity"
)

// limits is what a field's value must keep to.
type limits struct {
	allowed            []string
	above, least, most *bound
	sizes              bool
	date               string
	code               string
	like               string
}

// bound is a number as it is written.
type bound struct {
	number float64
	text   string
}

// nominalSizes is the nominal cross-sectional areas of conductors, in mm².
// Source: IEC 60228, classes 1 and 2, 0.5 to 1000 mm².
var nominalSizes = []float64{0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120, 150, 185, 240, 300, 400, 500, 630, 800, 1000}

func limitsOf(f *field, sf reflect.StructField) limits {
	l := limits{date: sf.Tag.Get("date"), code: sf.Tag.Get("code"), like: f.like}
	if a := sf.Tag.Get("allowed"); a != "" {
		l.allowed = strings.Fields(a)
	}
	read := func(tag string) *bound {
		if text := sf.Tag.Get(tag); text != "" {
			return &bound{f.number(text), text}
		}
		return nil
	}
	l.above, l.least, l.most = read("above"), read("least"), read("most")
	l.sizes = sf.Type == reflect.TypeFor[quantity.Maybe[quantity.SquareMillimetres]]() && sf.Tag.Get("size") != "any"
	return l
}

// check returns what would be right when text, which reads as number, is
// outside the limits.
func (l limits) check(text string, number float64) (want string) {
	switch {
	case l.allowed != nil && !slices.Contains(l.allowed, fmt.Sprint(number)):
		return oneOf(l.allowed) + " is wanted"
	case l.above != nil && !(number > l.above.number):
		return "more than " + l.above.text + " is wanted" + l.withUnit(text)
	case l.least != nil && !(number >= l.least.number):
		return l.least.text + " or more is wanted" + l.withUnit(text)
	case l.most != nil && !(number <= l.most.number):
		return "at most " + l.most.text + " is wanted" + l.withUnit(text)
	case l.sizes && !slices.Contains(nominalSizes, number):
		return "no conductor is made in that size; " + nearSizes(number)
	case l.date != "":
		return checkDate(text, l.date)
	case l.code != "":
		return checkCode(text, l.code)
	}
	return ""
}

// withUnit reminds of the unit where none was written.
func (l limits) withUnit(text string) string {
	if l.like == "" {
		return ""
	}
	if strings.ContainsFunc(text, func(r rune) bool { return r > '9' }) {
		return ", like " + l.like
	}
	return "; with its unit, like " + l.like
}

// nearSizes names the nominal sizes on either side.
func nearSizes(csa float64) string {
	show := func(i int) string { return quantity.SquareMillimetres(nominalSizes[i]).String() }
	i, _ := slices.BinarySearch(nominalSizes, csa)
	switch i {
	case 0:
		return "the smallest is " + show(0)
	case len(nominalSizes):
		return "the largest is " + show(i-1)
	}
	return fmt.Sprintf("near it are %s and %s", show(i-1), show(i))
}

// Layouts of dates with a time, beside the day alone.
var timeLayouts = []string{"2006-01-02 15:04", "2006-01-02 15:04:05", time.RFC3339, "2006-01-02T15:04", "2006-01-02T15:04:05"}

// checkDate returns what would be right when text is no date.
func checkDate(text, kind string) string {
	if _, ok := parseWhen(text); ok && (kind == "time" || len(text) == len(time.DateOnly)) {
		return ""
	}
	if kind == "time" {
		return "a date is wanted, year first, with the time if known, like 2026-11-25 14:05"
	}
	return "a date is wanted, year first, like 2026-11-25"
}

// parseWhen reads a day, or a day and a time.
func parseWhen(text string) (time.Time, bool) {
	if t, err := time.Parse(time.DateOnly, text); err == nil {
		return t, true
	}
	for _, layout := range timeLayouts {
		if t, err := time.Parse(layout, text); err == nil {
			return t, true
		}
	}
	return time.Time{}, false
}

// The codes of IEC 60529 and IEC 62262.
var codes = map[string]*regexp.Regexp{
	"IP": regexp.MustCompile(`^IP ?[0-6X][0-9X][A-DHMSW]*$`),
	"IK": regexp.MustCompile(`^IK ?(0\d|10|11)\+*$`),
}

// checkCode returns what would be right when text is no degree of protection.
func checkCode(text, kind string) string {
	if codes[kind].MatchString(strings.ToUpper(text)) {
		return ""
	}
	if kind == "IP" {
		return "IP and two figures are wanted, like IP54"
	}
	return "IK and two figures are wanted, like IK08"
}
