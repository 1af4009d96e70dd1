package job

// The shape of the job file, read once from the struct tags of Job.
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
	"fmt"
	"math"
	"reflect"
	"strings"
)

// form is how a field is laid out.
type form uint8

const (
	scalarForm form = iota // one value
	recordForm             // fields of its own
	listForm               // a list of records
	textsForm              // a list of words
)

// shape is the fields of one struct.
type shape struct {
	typ    reflect.Type
	fields []*field
	byName map[string]*field
	key    *field // names an item of a list; nil if items are counted
	short  *field // may stand for the whole; nil if none
}

// field is one field of a struct, embedded structs' fields included.
type field struct {
	name   string
	also   []string
	help   string
	like   string
	one    string
	index  []int
	place  int // among the fields of its struct
	form   form
	codec  *codec // of scalars and texts
	of     *shape // of records and lists
	limits limits
}

// jobShape is the shape of a whole job file. It is never changed.
var jobShape = shapeOf(reflect.TypeFor[Job]())

func shapeOf(t reflect.Type) *shape {
	s := &shape{typ: t, byName: map[string]*field{}}
	s.take(t, nil)
	return s
}

// take adds the fields of t, found at index in the struct.
func (s *shape) take(t reflect.Type, index []int) {
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
		f := &field{name: name, help: sf.Tag.Get("help"), like: sf.Tag.Get("like"), one: sf.Tag.Get("one"), index: at, place: len(s.fields)}
		if also := sf.Tag.Get("also"); also != "" {
			f.also = strings.Split(also, "|")
		}
		if f.one == "" {
			f.one = strings.TrimSuffix(name, "s")
		}
		switch {
		case codecs[sf.Type] != nil:
			f.codec = codecs[sf.Type]
		case sf.Type.Kind() == reflect.Struct:
			f.form, f.of = recordForm, shapeOf(sf.Type)
		case sf.Type == reflect.TypeFor[[]string]():
			f.form, f.codec = textsForm, codecs[reflect.TypeFor[string]()]
		case sf.Type.Kind() == reflect.Slice && sf.Type.Elem().Kind() == reflect.Struct:
			f.form, f.of = listForm, shapeOf(sf.Type.Elem())
		default:
			panic(fmt.Sprintf("job: field %s.%s is of a type no codec reads", t.Name(), sf.Name))
		}
		if only := sf.Tag.Get("words"); only != "" {
			values := strings.Split(only, "|")
			f.codec = plainWord(func(text string) (string, error) {
				for _, v := range values {
					if plain(v) == plain(text) {
						return v, nil
					}
				}
				return "", wish("")
			}, func() []string { return values })
		}
		f.limits = limitsOf(f, sf)
		if sf.Tag.Get("key") != "" {
			s.key = f
		}
		if sf.Tag.Get("short") != "" {
			s.short = f
		}
		s.fields = append(s.fields, f)
		for _, n := range append([]string{name}, f.also...) {
			s.byName[n] = f
		}
	}
}

// names returns the names of the fields, in order.
func (s *shape) names() []string {
	names := make([]string, len(s.fields))
	for i, f := range s.fields {
		names[i] = f.name
	}
	return names
}

// value returns the field of the struct v.
func (f *field) value(v reflect.Value) reflect.Value { return v.FieldByIndex(f.index) }

// isStated reports that the shape is that of a fact with how it is known.
func (s *shape) isStated() bool { return s.short != nil }

// scalar returns the codec and limits of a field that may be written as one
// value.
func (f *field) scalar() (*codec, limits, bool) {
	switch {
	case f.codec != nil:
		return f.codec, f.limits, true
	case f.form == recordForm && f.of.short != nil:
		return f.of.short.codec, f.limits, true
	}
	return nil, limits{}, false
}

// number reads text as a value of the field, for its limits.
func (f *field) number(text string) float64 {
	c, _, ok := f.scalar()
	if !ok {
		panic("job: " + f.name + " has a limit but no value")
	}
	n, err := c.read(c.fresh(), text)
	if err != nil || math.IsNaN(n) {
		panic(fmt.Sprintf("job: limit %q of %s is no number: %v", text, f.name, err))
	}
	return n
}
