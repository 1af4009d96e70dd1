package web

// The fields of a job, from the schema that package job publishes.

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"

	"chargewright/job"
)

// shape is the fields of one part of a job, in order. Items of a list go by
// the field that Key names; those of a list without one go by a number of ours.
type shape struct {
	Fields []*field
	Key    string
}

// field is one field as a form needs it.
type field struct {
	Name   string
	Help   string
	Kind   string   // quantity, number, yes or no, word, day, time or text
	Words  []string // the only values, of a word
	Like   string   // how it is written
	Stated bool     // says how it is known
	List   bool
	Of     *shape // fields of a part, or of an item of a list; nil for a list of words
}

func (s *shape) named(name string) *field {
	for _, f := range s.Fields {
		if f.Name == name {
			return f
		}
	}
	return nil
}

// one returns what an item of a list is called.
func (f *field) one() string {
	if f.Name == "people" {
		return "person"
	}
	return strings.TrimSuffix(f.Name, "s")
}

// single reports that the field holds one value.
func (f *field) single() bool { return !f.List && (f.Of == nil || f.Stated) }

// published is the shape of a whole job. It is never changed.
var published = func() *shape {
	text, err := job.Schema()
	if err != nil {
		panic(fmt.Sprintf("web: %v", err))
	}
	s, err := readShape(text)
	if err != nil {
		panic(fmt.Sprintf("web: the published schema of a job is not read: %v", err))
	}
	return s
}()

// schema is what a form needs of a JSON Schema.
type schema struct {
	Description string                     `json:"description"`
	Type        kinds                      `json:"type"`
	Enum        []any                      `json:"enum"`
	Pattern     string                     `json:"pattern"`
	Examples    []string                   `json:"examples"`
	Properties  json.RawMessage            `json:"properties"`
	Required    []string                   `json:"required"`
	Items       json.RawMessage            `json:"items"`
	AnyOf       []schema                   `json:"anyOf"`
	Ref         string                     `json:"$ref"`
	Defs        map[string]json.RawMessage `json:"$defs"`
}

// kinds is the types a value may have: one, or a list of them.
type kinds []string

func (k *kinds) UnmarshalJSON(text []byte) error {
	var one string
	if json.Unmarshal(text, &one) == nil {
		*k = kinds{one}
		return nil
	}
	return json.Unmarshal(text, (*[]string)(k))
}

func readShape(text []byte) (*shape, error) {
	var s schema
	if err := json.Unmarshal(text, &s); err != nil {
		return nil, err
	}
	return shaper(s.Defs).shape(s.Properties)
}

// shaper makes shapes, following references to the schema's own definitions.
type shaper map[string]json.RawMessage

// schema reads one schema, or the one it refers to under its own description.
func (defs shaper) schema(raw json.RawMessage) (schema, error) {
	var s schema
	if err := json.Unmarshal(raw, &s); err != nil || s.Ref == "" {
		return s, err
	}
	of, err := defs.schema(defs[strings.TrimPrefix(s.Ref, "#/$defs/")])
	if s.Description != "" {
		of.Description = s.Description
	}
	return of, err
}

// shape reads the properties of an object in their order. Another spelling of
// a field stands right after it with the same words and is passed over.
func (defs shaper) shape(properties json.RawMessage) (*shape, error) {
	dec := json.NewDecoder(bytes.NewReader(properties))
	if _, err := dec.Token(); err != nil {
		return nil, err
	}
	out := &shape{}
	var before json.RawMessage
	for dec.More() {
		name, err := dec.Token()
		if err != nil {
			return nil, err
		}
		var raw json.RawMessage
		if err := dec.Decode(&raw); err != nil {
			return nil, err
		}
		if bytes.Equal(raw, before) {
			continue
		}
		before = raw
		s, err := defs.schema(raw)
		if err != nil {
			return nil, err
		}
		f, err := defs.field(fmt.Sprint(name), s)
		if err != nil {
			return nil, fmt.Errorf("%v: %w", name, err)
		}
		out.Fields = append(out.Fields, f)
	}
	return out, nil
}

func (defs shaper) field(name string, s schema) (*field, error) {
	f := &field{Name: name, Help: s.Description}
	var err error
	switch {
	case len(s.AnyOf) > 0: // a value, or the value with how it is known
		f.Stated = true
		f.value(s.AnyOf[0])
		f.Of, err = defs.shape(s.AnyOf[1].Properties)
	case len(s.Properties) > 0:
		f.Of, err = defs.shape(s.Properties)
	case len(s.Items) > 0:
		f.List = true
		var item schema
		if item, err = defs.schema(s.Items); err == nil && len(item.Properties) > 0 {
			if f.Of, err = defs.shape(item.Properties); err == nil && len(item.Required) > 0 {
				f.Of.Key = item.Required[0]
			}
		}
	default:
		f.value(s)
	}
	return f, err
}

func (f *field) value(s schema) {
	if len(s.Examples) > 0 {
		f.Like = s.Examples[0]
	}
	for _, v := range s.Enum {
		switch v := v.(type) {
		case bool:
			f.Kind = "yes or no"
		case string:
			f.Words = append(f.Words, v)
		case float64:
			if text := fmt.Sprint(v); len(f.Words) == 0 || f.Words[len(f.Words)-1] != text {
				f.Words = append(f.Words, text)
			}
		}
	}
	kind := ""
	if len(s.Type) > 0 {
		kind = s.Type[0]
	}
	switch {
	case f.Kind != "":
		f.Words = []string{"yes", "no"}
	case len(f.Words) > 0:
		f.Kind = "word"
	case strings.HasPrefix(s.Pattern, `^\s*[-+`):
		f.Kind = "quantity"
	case strings.Contains(s.Pattern, "[ T]"):
		f.Kind = "time"
	case strings.HasPrefix(s.Pattern, "^[0-9]{4}-"):
		f.Kind = "day"
	case kind == "number" || kind == "integer":
		f.Kind = "number"
	default:
		f.Kind = "text"
	}
}

// fieldAt returns the field that a path leads to, through items of lists.
func fieldAt(path string) *field {
	s, all := published, job.NamesOf(path)
	for i := 0; i < len(all); i++ {
		if s == nil {
			return nil
		}
		f := s.named(all[i])
		switch {
		case f == nil:
			return nil
		case f.List && i == len(all)-2: // an item itself
			return nil
		case i == len(all)-1:
			return f
		case f.List:
			i++
		}
		s = f.Of
	}
	return nil
}

// shapeAt returns the fields of the part or item that a path leads to.
func shapeAt(path string) *shape {
	s, all := published, job.NamesOf(path)
	if path == "" {
		return s
	}
	for i := 0; i < len(all); i++ {
		f := s.named(all[i])
		if f == nil || f.Of == nil {
			return nil
		}
		if f.List {
			i++
			if i == len(all) {
				return nil
			}
		}
		s = f.Of
	}
	return s
}
