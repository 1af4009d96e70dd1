package job

// The published schema of the job file, for editors.

import (
	"bytes"
	"encoding/json"
	"regexp"
	"strings"
)

// object is a JSON object that keeps the order of its members.
type object []member

type member struct {
	name  string
	value any
}

// MarshalJSON writes the members in order.
func (o object) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, m := range o {
		if i > 0 {
			b.WriteByte(',')
		}
		name, err := json.Marshal(m.name)
		if err != nil {
			return nil, err
		}
		value, err := json.Marshal(m.value)
		if err != nil {
			return nil, err
		}
		b.Write(name)
		b.WriteByte(':')
		b.Write(value)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// Schema returns the JSON Schema (2020-12) of the job file, made from the same
// tags as the reader. It is there to help while writing: Read forgives more in
// the spelling of a word, and alone judges units, names and what feeds what.
func Schema() ([]byte, error) {
	root := object{
		{"$schema", "https://json-schema.org/draft/2020-12/schema"},
		{"title", "Job file"},
		{"description", "Everything known about one job. A field that is left out, or left empty, is not known."},
	}
	d := &definitions{seen: map[string]bool{}, all: object{{"assumed", object{{"description", "a value that nobody has seen yet, and why it was taken: " +
		"TN-S (assumed, the usual one here)"}, {"type", "string"}, {"pattern", `\(assumed(,.*)?\)$`}}}}}
	root = append(root, d.record(jobShape)...)
	root = append(root, member{"$defs", d.all})
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(root); err != nil {
		return nil, err
	}
	return unescapeHTML(b.Bytes()), nil
}

// unescapeHTML puts back the signs that a nested MarshalJSON writes as escapes.
func unescapeHTML(text []byte) []byte {
	return []byte(strings.NewReplacer(`\u003c`, "<", `\u003e`, ">", `\u0026`, "&").Replace(string(text)))
}

// definitions is the schemas of the records that fields refer to.
type definitions struct {
	all  object
	seen map[string]bool
}

// ref returns a reference to the schema of a record.
func (d *definitions) ref(s *Part) object {
	name := s.typ.Name()
	if !d.seen[name] {
		d.seen[name] = true
		i := len(d.all)
		d.all = append(d.all, member{name: name})
		d.all[i].value = d.record(s)
	}
	return object{{"$ref", "#/$defs/" + name}}
}

func (d *definitions) record(s *Part) object {
	var properties object
	for _, f := range s.Fields {
		for _, name := range append([]string{f.Name}, f.also...) {
			properties = append(properties, member{name, d.field(f)})
		}
	}
	o := object{{"type", []string{"object", "null"}}, {"properties", properties}, {"additionalProperties", false}}
	if s.Key != nil {
		o = append(o, member{"required", []string{s.Key.Name}})
	}
	return o
}

func (d *definitions) field(f *Field) object {
	o := object{{"description", f.Help}}
	switch f.form {
	case scalarForm:
		schema := scalarSchema(f)
		if f.assumable && f.Kind != Quantity && (f.Kind != Text || f.limits.code != "") { // those take any text behind the value
			schema = object{{"anyOf", []object{schema, {{"$ref", "#/$defs/assumed"}}}}}
		}
		return append(o, schema...)
	case recordForm:
		if f.Of.isStated() {
			return append(o, member{"anyOf", []object{scalarSchema(f), d.record(f.Of)}})
		}
		return append(o, d.ref(f.Of)...)
	case listForm:
		return append(o, member{"type", []string{"array", "null"}}, member{"items", d.ref(f.Of)})
	}
	return append(o, member{"type", []string{"array", "null"}}, member{"items", object{{"type", "string"}}}, member{"uniqueItems", true})
}

// Patterns of values that are not one of a few words. A quantity starts with a
// number; what follows is for the reader to judge.
const (
	quantityPattern = `^\s*[-+−]?[0-9]*\.?[0-9]+`
	dayPattern      = `^[0-9]{4}-[0-9]{2}-[0-9]{2}$`
	timePattern     = `^[0-9]{4}-[0-9]{2}-[0-9]{2}([ T][0-9]{2}:[0-9]{2}.*)?$`
)

func scalarSchema(f *Field) object {
	var o object
	c, l, _ := f.scalar()
	switch c.sort {
	case quantitySort:
		o = object{{"type", []string{"string", "number", "null"}}, {"pattern", quantityPattern}}
	case numberSort:
		o = object{{"type", []string{"number", "null"}}}
	case wholeSort:
		o = object{{"type", []string{"integer", "null"}}}
	case yesNoSort:
		return object{{"enum", []any{true, false, "yes", "no", nil}}}
	case wordSort:
		return wordSchema(c.words())
	default:
		o = object{{"type", []string{"string", "number", "null"}}}
	}
	switch {
	case l.allowed != nil:
		var values []any
		for _, a := range l.allowed {
			values = append(values, json.Number(a))
		}
		return object{{"enum", append(values, nil)}}
	case l.date == "day":
		o = object{{"type", []string{"string", "null"}}, {"pattern", dayPattern}}
	case l.date == "time":
		o = object{{"type", []string{"string", "null"}}, {"pattern", timePattern}}
	case l.code != "":
		o = object{{"type", []string{"string", "null"}}, {"pattern", strings.ReplaceAll(codes[l.code].pattern.String(), `\d`, "[0-9]")}}
	}
	if c.sort == numberSort || c.sort == wholeSort {
		if l.above != nil {
			o = append(o, member{"exclusiveMinimum", l.above.number})
		}
		if l.least != nil {
			o = append(o, member{"minimum", l.least.number})
		}
		if l.most != nil {
			o = append(o, member{"maximum", l.most.number})
		}
	}
	if f.Like != "" {
		o = append(o, member{"examples", []string{f.Like}})
	}
	return o
}

// wordSchema offers the words as the tables spell them; the reader forgives
// other spellings that an editor may underline.
func wordSchema(words []string) object {
	values := make([]any, 0, 2*len(words)+1)
	for _, w := range words {
		values = append(values, w)
		if digits.MatchString(w) {
			values = append(values, json.Number(w)) // YAML takes a bare figure for a number
		}
	}
	return object{{"enum", append(values, nil)}}
}

var digits = regexp.MustCompile(`^[0-9]+$`)
