package web

// The OpenAPI 3.1 document, made from the list of addresses and the Go types
// that are taken and given there.

import (
	"encoding"
	"net/http"
	"reflect"
	"regexp"
	"strings"
)

type object = map[string]any

func (s *Server) apiDescription(w http.ResponseWriter, r *http.Request) error {
	return Give(w, http.StatusOK, describe(s.api()))
}

var inPath = regexp.MustCompile(`\{(\w+)\}`)

var text = object{"type": "string"}

// describe writes the list of addresses as an OpenAPI document.
func describe(endpoints []endpoint) object {
	paths, known := object{}, schemas{}
	for _, e := range endpoints {
		at, _ := paths[e.Path].(object)
		if at == nil {
			at = object{}
			paths[e.Path] = at
		}
		var parameters []object
		for _, p := range inPath.FindAllStringSubmatch(e.Path, -1) {
			parameters = append(parameters, object{"name": p[1], "in": "path", "required": true, "schema": text})
		}
		if strings.HasSuffix(e.Path, "/acts") && e.Method == "GET" {
			parameters = append(parameters, object{"name": "after", "in": "query", "schema": object{"type": "integer"},
				"description": "a place in the journal; 0 for all of it"})
		}
		status := "200"
		if _, made := e.Gives.(begun); made {
			status = "201"
		}
		op := object{"summary": e.Summary,
			"operationId": e.Method + strings.NewReplacer("/api/v1", "", "/", "-", "{", "", "}", "").Replace(e.Path),
			"responses": object{
				status: object{"description": "done", "content": known.content(e.Gives)},
				"default": object{"description": "what went wrong",
					"content": object{"application/problem+json": object{"schema": known.of(reflect.TypeFor[problem]())}}},
			}}
		if parameters != nil {
			op["parameters"] = parameters
		}
		if e.Takes != nil {
			op["requestBody"] = object{"required": true, "content": known.content(e.Takes)}
		}
		at[strings.ToLower(e.Method)] = op
	}
	return object{
		"openapi": "3.1.0",
		"info": object{"title": "Chargewright", "version": "1", "description": "One record of a charge-point job. " +
			"A verdict is never that something is safe: it says which rule is met, by how much, or that something is not known."},
		"paths":      paths,
		"components": object{"schemas": known},
	}
}

// schemas are the structs that are taken and given, by name.
type schemas map[string]any

// content describes a body: a media type, or JSON in the shape of a value.
func (s schemas) content(of any) object {
	if media, ok := of.(string); ok {
		return object{media: object{}}
	}
	return object{"application/json": object{"schema": s.of(reflect.TypeOf(of))}}
}

// of returns the schema of a type as encoding/json writes it: its own fields,
// or those of the shape it says it is published in.
func (s schemas) of(t reflect.Type) object {
	if as, ok := t.MethodByName("Published"); ok {
		return s.shape(t.Name(), as.Type.Out(0))
	}
	if t.Implements(reflect.TypeFor[encoding.TextMarshaler]()) {
		return text
	}
	switch t.Kind() {
	case reflect.Pointer:
		return object{"anyOf": []object{s.of(t.Elem()), {"type": "null"}}}
	case reflect.Slice:
		if t.Elem().Kind() == reflect.Uint8 {
			return text // base64
		}
		return object{"type": "array", "items": s.of(t.Elem())}
	case reflect.Struct:
		return s.shape(t.Name(), t)
	case reflect.Bool:
		return object{"type": "boolean"}
	case reflect.Int, reflect.Int64:
		return object{"type": "integer"}
	case reflect.Float64:
		return object{"type": "number"}
	}
	return text
}

// shape names the fields of a struct; those that may be left out are not
// required.
func (s schemas) shape(name string, t reflect.Type) object {
	name = strings.ToUpper(name[:1]) + name[1:]
	ref := object{"$ref": "#/components/schemas/" + name}
	if _, known := s[name]; known {
		return ref
	}
	properties, required := object{}, []string{}
	s[name] = object{"type": "object", "properties": properties}
	for _, f := range reflect.VisibleFields(t) {
		called, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		if called == "" {
			called = f.Name
		}
		properties[called] = s.of(f.Type)
		if options != "omitempty" {
			required = append(required, called)
		}
	}
	if len(required) > 0 {
		s[name].(object)["required"] = required
	}
	return ref
}
