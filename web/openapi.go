package web

// The OpenAPI 3.1 document, made from the list of addresses.

import (
	"net/http"
	"regexp"
	"strings"
)

type object = map[string]any

func (s *Server) apiDescription(w http.ResponseWriter, r *http.Request) error {
	return give(w, http.StatusOK, describe(s.api()))
}

var inPath = regexp.MustCompile(`\{(\w+)\}`)

// describe writes the list of addresses as an OpenAPI document.
func describe(endpoints []endpoint) object {
	paths := object{}
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
			parameters = append(parameters, object{"name": "after", "in": "query", "schema": object{"type": "integer"}, "description": "a place in the journal; 0 for all of it"})
		}
		if e.Method == "POST" && e.Path != "/api/v1/acts" {
			parameters = append(parameters,
				object{"name": "Idempotency-Key", "in": "header", "schema": text, "description": "sent again with the same key, it is done once"},
				object{"name": "If-Match", "in": "header", "schema": text, "description": "the entity tag that was seen"})
		}
		status := "200"
		if e.Gives == "Done" {
			status = "201"
		}
		op := object{"summary": e.Summary, "operationId": e.Method + strings.NewReplacer("/api/v1", "", "/", "-", "{", "", "}", "").Replace(e.Path),
			"responses": object{
				status:    object{"description": "done", "content": content(e.Gives)},
				"default": object{"description": "what went wrong", "content": object{"application/problem+json": object{"schema": ref("Problem")}}},
			}}
		if parameters != nil {
			op["parameters"] = parameters
		}
		if e.Takes != "" {
			op["requestBody"] = object{"required": true, "content": content(e.Takes)}
		}
		at[strings.ToLower(e.Method)] = op
	}
	return object{
		"openapi":    "3.1.0",
		"info":       object{"title": "Chargewright", "version": "1", "description": "One record of a charge-point job. A verdict is never that something is safe: it says which rule is met, by how much, or that something is not known."},
		"paths":      paths,
		"components": object{"schemas": schemas},
	}
}

func ref(name string) object { return object{"$ref": "#/components/schemas/" + name} }

func content(of string) object {
	if strings.Contains(of, "/") {
		return object{of: object{}}
	}
	return object{"application/json": object{"schema": ref(of)}}
}

var text = object{"type": "string"}

func some(of object) object { return object{"type": "array", "items": of} }

// record is an object of these members, those without a question mark required.
func record(members object) object {
	properties, required := object{}, []string{}
	for name, of := range members {
		if plain, optional := strings.CutSuffix(name, "?"); optional {
			properties[plain] = of
			continue
		}
		properties[name] = of
		required = append(required, name)
	}
	o := object{"type": "object", "properties": properties}
	if len(required) > 0 {
		o["required"] = required
	}
	return o
}

// schemas are what is taken and given.
var schemas = func() object {
	number := object{"type": []string{"number", "null"}}
	whole := object{"type": "integer"}
	yesNo := object{"type": "boolean"}
	entry := record(object{"id": text, "path": text, "value": text, "who?": text, "when?": text, "instrument?": text, "follows?": text})
	photo := record(object{"element": text, "type": text, "content?": text})
	act := record(object{"place?": whole, "id": text, "job": text, "what": text, "who?": text, "when": text, "device?": text, "undoes?": text, "entries?": some(ref("Entry")), "photo?": photo})
	return object{
		"Problem": record(object{"title": text, "status": whole, "detail": text, "instance?": text}),
		"Me":      record(object{"who": text}),
		"Entry":   entry,
		"Act":     act,
		"Acts":    record(object{"acts": some(ref("Act"))}),
		"Kept":    record(object{"kept": whole, "known": whole}),
		"Done":    record(object{"act": text, "job": text}),
		"NewJob":  record(object{"name": text}),
		"Jobs":    record(object{"jobs": some(record(object{"id": text, "name": text, "stage": text, "address": text, "invented": yesNo}))}),
		"Job": record(object{"id": text, "name": text, "edition": text, "stage": text, "invented": yesNo, "facts": some(ref("Entry")),
			"differences": some(record(object{"Path": text, "Entries": some(ref("Entry"))})), "faults": some(text)}),
		"NewEntries": record(object{"what?": text, "entries": some(record(object{"path": text, "value": text, "instrument?": text}))}),
		"NewReading": record(object{"at": text, "reading": text, "value": text, "instrument?": text, "function?": text, "note?": text}),
		"Findings": record(object{"job": text, "edition": text, "findings": some(record(object{"clause": text, "subject": text, "what": text, "value": number,
			"unit": text, "limit": number, "margin": number, "verdict": object{"enum": []string{"meets", "fails", "not known", "judge on site"}}, "why": text, "next": text, "source": text}))}),
		"Expectations": record(object{"job": text, "expectations": some(record(object{"reading": text, "at": text, "low": number, "mid": number, "high": number, "unit": text, "limit": number}))}),
		"Papers":       record(object{"papers": some(text)}),
	}
}()
