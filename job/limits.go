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
	ratings            bool
	date               string
	code               string
	like               string
}

// bound is a number as it is written.
type bound struct {
	number float64
	text   string
}

// String is the bound as it is written; nothing for none.
func (b *bound) String() string {
	if b == nil {
		return ""
	}
	return b.text
}

// nominalSizes is the nominal cross-sectional areas of conductors, in mm².
// Source: IEC 60228, classes 1 and 2, 0.5 to 1000 mm².
var nominalSizes = []float64{0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120, 150, 185, 240, 300, 400, 500, 630, 800, 1000}

// nominalRatings is the rated currents in A, up to 125 A, in which overcurrent
// devices are made or were. Sources: IEC 60059 (R10 series, rounded as the
// product standards print it); BS EN 60898-1 preferred values and 45 A; BS 88-2,
// BS 1361, BS 3036 tables; the rest common practice, no source. From memory;
// a test holds them against the tables of package standard.
var nominalRatings = []float64{0.5, 1, 1.6, 2, 2.5, 3, 4, 5, 6, 6.3, 8, 10, 12, 12.5, 13, 15, 16, 20, 25, 30, 32, 35, 40, 45, 50, 60, 63, 70, 80, 90, 100,
	110, 125}

func limitsOf(f *Field, sf reflect.StructField) limits {
	l := limits{date: sf.Tag.Get("date"), code: sf.Tag.Get("code"), like: f.Like}
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
	l.ratings = sf.Tag.Get("rated") == "nominal"
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
		return "no conductor is made in that size; " + near(quantity.SquareMillimetres(number), nominalSizes)
	case l.ratings && number <= nominalRatings[len(nominalRatings)-1] && !slices.Contains(nominalRatings, number):
		return "no device is made in that rating; " + near(quantity.Amperes(number), nominalRatings)
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

// near names the values of a list on either side of q.
func near[Q interface {
	~float64
	String() string
}](q Q, list []float64) string {
	i, _ := slices.BinarySearch(list, float64(q))
	switch i {
	case 0:
		return "the smallest is " + Q(list[0]).String()
	case len(list):
		return "the largest is " + Q(list[i-1]).String()
	}
	return fmt.Sprintf("near it are %s and %s", Q(list[i-1]), Q(list[i]))
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

// ReadWhen reads a day, or a day and a time; zoned reports that its zone is said.
func ReadWhen(text string) (t time.Time, zoned, ok bool) {
	t, ok = parseWhen(text)
	_, err := time.Parse(time.RFC3339, text)
	return t, err == nil, ok
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

// codes are what is written by a pattern of its own: the degrees of protection
// of IEC 60529 and IEC 62262, names of photo files, and SHA-256 in hexadecimal.
// A photo's name leads into no other folder.
var codes = map[string]struct {
	pattern *regexp.Regexp
	wanted  string
}{
	"IP": {regexp.MustCompile(`^IP ?[0-6X][0-9X][A-DHMSW]*$`), "IP and two figures are wanted, like IP54"},
	"IK": {regexp.MustCompile(`^IK ?(0\d|10|11)\+*$`), "IK and two figures are wanted, like IK08"},
	"photo": {regexp.MustCompile(`^[0-9A-Za-z][0-9A-Za-z _.()-]{0,90}\.([Jj][Pp][Ee]?[Gg]|[Pp][Nn][Gg])$`),
		"the name of a JPEG or PNG file without its folder, in plain letters and figures, is wanted, like cut-out-1.jpg"},
	"SHA-256": {regexp.MustCompile(`^[0-9A-Fa-f]{64}$`), "64 letters and figures from 0 to f are wanted, as sha256sum prints them"},
}

// checkCode returns what would be right when text is not written by its
// pattern.
func checkCode(text, kind string) string {
	c := codes[kind]
	if c.pattern.MatchString(text) || c.pattern.MatchString(strings.ToUpper(text)) {
		return ""
	}
	return c.wanted
}
