package job

// The fields of a job, read once from the struct tags of Job.
//
//	field:"words"      the field's name in the file
//	also:"words"       another spelling that is accepted
//	help:"words"       what it is
//	like:"25 m"        how it is written
//	key:"yes"          this field names an item of a list
//	short:"yes"        the struct may be written as this field alone
//	one:"person"       an item of this list, where dropping an s will not do
//	allowed:"1 3"      the only values
//	words:"A|B"        the only words
//	above, least, most numbers beyond which the value can only be a slip
//	size:"any"         a csa that need not be a standard size
//	rated:"nominal"    the rating of a device, of the ratings they are made in
//	date:"day"         a date; date:"time" a date with or without the time
//	code:"IP"          written by a pattern of its own: a degree of protection

import (
	"cmp"
	"fmt"
	"math"
	"reflect"
	"strings"

	"chargewright/quantity"
	"chargewright/reading"
	"chargewright/works"
)

// form is how a field is laid out.
type form uint8

const (
	scalarForm form = iota // one value
	recordForm             // fields of its own
	listForm               // a list of records
	textsForm              // a list of words
)

// Part is the fields of a job, of one part of it, or of an item of a list, in
// order. It is never changed.
type Part struct {
	Fields []*Field
	Key    *Field // names an item of a list; nil if items are counted
	path   string // pattern of the part's own path
	typ    reflect.Type
	byName map[string]*Field
	short  *Field // may stand for the whole; nil if none
}

// Field is what a fact may be: what it is called, how it is written, and what
// can only be a slip. It is never changed.
type Field struct {
	Path   string // pattern of the paths it stands at, with * for the name of an item: circuits/*/legs/*/length
	Name   string
	Help   string
	One    string   // what an item of the list is called
	Kind   Kind     // of a single value
	Words  []string // the only values, where there are few
	Like   string   // how it is written
	Wanted string   // the same in words: "write a length in metres, like 25 m"
	Units  []string // of a quantity, the likeliest first
	Of     *Part    // fields of a part or of an item; nil for a value and for a list of words

	Above, Least, Most string // beyond these a value can only be a slip; empty for no bound

	also   []string
	index  []int
	place  int // among the fields of its struct
	form   form
	codec  *codec // of values and words
	limits limits

	assumable bool
}

// Kind is what a single value looks like.
type Kind string

// The kinds of single value.
const (
	Quantity Kind = "quantity"
	Number   Kind = "number"
	YesOrNo  Kind = "yes or no"
	Word     Kind = "word"
	Day      Kind = "day"
	Time     Kind = "time"
	Text     Kind = "text"
)

// List reports that the field is a list, of items or of words.
func (f *Field) List() bool { return f.form >= listForm }

// Stated reports that the fact says how it is known.
func (f *Field) Stated() bool { return f.form == recordForm && f.Of.isStated() }

// Single reports that the field holds one value.
func (f *Field) Single() bool { return f.form == scalarForm || f.Stated() }

// Named returns the field of that name, nil where there is none.
func (s *Part) Named(name string) *Field {
	if f := s.byName[name]; f != nil && f.Name == name {
		return f
	}
	return nil
}

// Fields returns every field of a job that holds a value or a list of words, in
// order. The parts of a fact that says how it is known are no fields of their
// own.
func Fields() []*Field { return jobShape.leaves(nil) }

func (s *Part) leaves(out []*Field) []*Field {
	for _, f := range s.Fields {
		if f.Single() || f.Of == nil {
			out = append(out, f)
		} else {
			out = f.Of.leaves(out)
		}
	}
	return out
}

// jobShape is the shape of a whole job file. It is never changed.
var jobShape = shapeOf(reflect.TypeFor[Job](), "")

func shapeOf(t reflect.Type, path string) *Part {
	s := &Part{path: path, typ: t, byName: map[string]*Field{}}
	s.take(t, nil)
	return s
}

// take adds the fields of t, found at index in the struct.
func (s *Part) take(t reflect.Type, index []int) {
	for i := range t.NumField() {
		sf := t.Field(i)
		at := append(append([]int(nil), index...), i)
		if sf.Anonymous {
			s.take(sf.Type, at)
			continue
		}
		name := sf.Tag.Get("field")
		if name == "" {
			continue
		}
		f := &Field{Path: works.Under(s.path, name), Name: name, Help: sf.Tag.Get("help"), Like: sf.Tag.Get("like"), One: sf.Tag.Get("one"), index: at,
			place: len(s.Fields)}
		if also := sf.Tag.Get("also"); also != "" {
			f.also = strings.Split(also, "|")
		}
		if f.One == "" {
			f.One = strings.TrimSuffix(name, "s")
		}
		switch {
		case codecs[sf.Type] != nil:
			f.codec = codecs[sf.Type]
		case sf.Type.Kind() == reflect.Struct:
			f.form, f.Of = recordForm, shapeOf(sf.Type, f.Path)
		case sf.Type == reflect.TypeFor[[]string]():
			f.form, f.codec = textsForm, codecs[reflect.TypeFor[string]()]
		case sf.Type.Kind() == reflect.Slice && sf.Type.Elem().Kind() == reflect.Struct:
			f.form, f.Of = listForm, shapeOf(sf.Type.Elem(), works.Under(f.Path, "*"))
		default:
			panic(fmt.Sprintf("job: field %s.%s is of a type no codec reads", t.Name(), sf.Name))
		}
		if only := sf.Tag.Get("words"); only != "" {
			values := strings.Split(only, "|")
			f.codec = plainWord(func(text string) (string, error) {
				for _, v := range values {
					if reading.Plain(v) == reading.Plain(text) {
						return v, nil
					}
				}
				return "", wish("")
			}, func() []string { return values })
		}
		f.limits = limitsOf(f, sf)
		f.describe()
		f.assumable = f.mayBeAssumed(sf.Tag.Get("key") != "")
		if sf.Tag.Get("key") != "" {
			s.Key = f
		}
		if sf.Tag.Get("short") != "" {
			s.short = f
		}
		s.Fields = append(s.Fields, f)
		for _, n := range append([]string{name}, f.also...) {
			s.byName[n] = f
		}
	}
}

// describe says of a single value how it is written.
func (f *Field) describe() {
	c, l, ok := f.scalar()
	if !ok || f.form == textsForm {
		return
	}
	switch {
	case c.sort == yesNoSort:
		f.Kind, f.Words = YesOrNo, []string{"yes", "no"}
	case c.sort == wordSort:
		f.Kind, f.Words = Word, c.words()
	case l.allowed != nil:
		f.Kind, f.Words = Word, l.allowed
	case c.sort == quantitySort:
		f.Kind = Quantity
		says, like, _ := strings.Cut(c.wanted, "like ")
		f.Like = cmp.Or(f.Like, like)
		f.Wanted, f.Units = says+"like "+f.Like, quantity.Units(f.Like)
	case l.date == "day":
		f.Kind = Day
	case l.date != "":
		f.Kind = Time
	case c.sort == numberSort, c.sort == wholeSort:
		f.Kind = Number
	default:
		f.Kind = Text
	}
	f.Above, f.Least, f.Most = l.above.String(), l.least.String(), l.most.String()
}

// names returns the names of the fields, in order.
func (s *Part) names() []string {
	names := make([]string, len(s.Fields))
	for i, f := range s.Fields {
		names[i] = f.Name
	}
	return names
}

// value returns the field of the struct v.
func (f *Field) value(v reflect.Value) reflect.Value { return v.FieldByIndex(f.index) }

// isStated reports that the shape is that of a fact with how it is known.
func (s *Part) isStated() bool { return s.short != nil }

// scalar returns the codec and limits of a field that may be written as one
// value.
func (f *Field) scalar() (*codec, limits, bool) {
	switch {
	case f.codec != nil:
		return f.codec, f.limits, true
	case f.form == recordForm && f.Of.short != nil:
		return f.Of.short.codec, f.limits, true
	}
	return nil, limits{}, false
}

// number reads text as a value of the field, for its limits.
func (f *Field) number(text string) float64 {
	c, _, ok := f.scalar()
	if !ok {
		panic("job: " + f.Name + " has a limit but no value")
	}
	n, err := c.read(c.fresh(), text)
	if err != nil || math.IsNaN(n) {
		panic(fmt.Sprintf("job: limit %q of %s is no number: %v", text, f.Name, err))
	}
	return n
}
