package web

// The OpenAPI 3.1 document, made from the list of addresses.

import (
	"net/http"
	"regexp"
	"slices"
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
		for _, q := range asks[e.Method+" "+e.Path] {
			parameters = append(parameters, object{"name": q[0], "in": "query", "schema": text, "description": q[1]})
		}
		if e.Method == "POST" && e.Path != "/api/v1/acts" && !storesNothing(e.Path) {
			parameters = append(parameters,
				object{"name": "Idempotency-Key", "in": "header", "schema": text, "description": "sent again with the same key, it is done once"},
				object{"name": "If-Match", "in": "header", "schema": text, "description": "the entity tag that was seen"})
		}
		status := "200"
		if (e.Gives == "Done" || e.Gives == "Issue" || e.Gives == "BegunRun") && e.Takes != "" {
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

// asks are what may be asked for in the query of an address.
var asks = func() map[string][][2]string {
	all := map[string][][2]string{

		"GET /api/v1/jobs/{job}/choose": {{"aim", "first, life or fewest"}, {"years", "that losses count, for the life cost"}, {"tariff", "price of one kWh, for the life cost"}, {"hours", "a year at full load that lose as much as the real use"}},
		"GET /api/v1/jobs/{job}/fault":  {{"touching", "conductors that touch: two or three of L1, L2, L3, N and PE, like L1-PE"}, {"at", "a board, a point or origin"}},
		"GET /api/v1/jobs/{job}/earthing": {{"target", "resistance to reach, 200 Ω if not said"}, {"soil", "resistivity, of the lower layer where there are two; the job's own if not said"},
			{"upper", "resistivity of an upper layer"}, {"thickness", "of the upper layer, 1 m if not said"}},
	}
	all["GET /api/v1/jobs/{job}/commissioning/past"] = [][2]string{{"point", "of this point alone"}}
	runs := [][2]string{{"runs", "how many, 5 if not said; 0 for none"}, {"seed", "of the first run"}, {"zone", "time zone of the site"}}
	recorded := [][2]string{{"file", "name of the recording"}, {"clock", "time zone of the file's times, where it is not the site's"}}
	for _, c := range columnKinds {
		recorded = append(recorded, [2]string{c.Name, c.Label + ": heading of its column"})
	}
	choices := slices.Clone(runs)
	for _, c := range limitFields {
		choices = append(choices, [2]string{c.Name, c.Label})
	}
	choices = append(choices, [2]string{"surplus", "yes to charge from surplus power alone"})
	all["GET /api/v1/jobs/{job}/demand"], all["POST /api/v1/jobs/{job}/demand"] = runs, slices.Concat(runs, recorded)
	all["GET /api/v1/jobs/{job}/limit"], all["POST /api/v1/jobs/{job}/limit"] = choices, slices.Concat(choices, recorded)
	return all
}()

// several is any number of something, none told as null.
func several(of object) object { return object{"type": []string{"array", "null"}, "items": of} }

// schemas are what is taken and given.
var schemas = func() object {
	number := object{"type": []string{"number", "null"}}
	whole := object{"type": "integer"}
	yesNo := object{"type": "boolean"}
	entry := record(object{"id": text, "path": text, "value": text, "who?": text, "when?": text, "instrument?": text, "follows?": text})
	photo := record(object{"element": text, "type": text, "bytes?": whole, "content?": text})
	act := record(object{"place?": whole, "id": text, "job": text, "what": text, "who?": text, "when": text, "device?": text, "undoes?": text, "entries?": some(ref("Entry")), "photo?": photo})
	texts := several(text)
	setBy := record(object{"name": text, "before": text, "after": text, "why": text})
	run := record(object{"act": text, "point": text, "who": text, "identity": text, "address": text, "link": text, "password?": text, "pace": object{"type": "number"}, "now": text, "over": yesNo, "entered": yesNo, "wrong": text,
		"steps":    some(record(object{"key": text, "step": text, "outcome": text, "value": number, "limit": number, "margin": number, "unit": text, "why": text, "next": text, "source": text})),
		"settings": some(setBy), "turnedAway": some(text)})
	figure := object{"type": "number"}
	setting := record(object{"path": text, "value": text})
	measure := record(object{"measure": text, "permitted": yesNo, "chosen": whole, "cost": figure, "needs": text, "why": text})
	lost := record(object{"terminalVolts": figure, "lineNeutralVolts": several(figure), "pointVolts": object{"type": []string{"object", "null"}}, "electrodeNeeded": yesNo, "electrodeOhms": number})
	leg := record(object{"leg": text, "length": figure, "clips?": whole, "every?": figure, "upright?": figure, "cut?": figure, "holds?": text, "limit?": text})
	return object{
		"Choice": record(object{"aim": object{"type": "object"}, "settings": several(setting), "parts": several(record(object{"of": text, "reasons": some(text), "flips": some(text), "settings": some(setting)})),
			"circuits": several(record(object{"circuit": text, "cable": text, "device": text, "RCD?": text, "cost": figure, "binding": text, "margins": several(object{"type": "object"}), "flips": several(object{"type": "object"})})),
			"phases":   several(object{"type": "object"}), "limiter?": record(object{"name?": text, "needed": yesNo, "limit?": figure, "failSafe": figure, "why": text}), "boards": several(object{"type": "object"}), "surge": several(object{"type": "object"}),
			"earthing": several(measure), "notKnown": texts, "assumed": texts, "cost": figure, "bound": figure, "different": whole, "proof": object{"type": "object"}, "asChosen": ref("Findings")}),
		"NewChoice": record(object{"aim?": text, "years?": figure, "tariff?": figure, "hours?": figure, "parts?": some(text)}),
		"Flow": record(object{"job": text, "originVolts": several(figure), "at": several(record(object{"at": text, "volts": some(number), "amperes": some(figure), "neutral": figure, "neutralThirdHarmonic": figure, "lossWatts": figure})),
			"lossWatts": figure, "notKnown": texts}),
		"Fault":   record(object{"fault": text, "greatestAmperes": figure, "leastAmperes": figure, "loopOhms": figure, "touchVolts": figure, "notKnown": texts}),
		"LostPEN": record(object{"job": text, "limitVolts": figure, "pointsOff": lost, "pointsOn": lost, "notKnown": texts}),
		"Demand": record(object{"job": text, "edition": text, "estimates": some(record(object{"how": text, "known": yesNo, "existing": some(figure), "pointsInFull": some(figure), "held": some(figure), "why": texts, "source": text, "missing": texts})),
			"findings": several(object{"type": "object"}), "notification": text, "reasons": texts, "missing": texts, "form": some(text)}),
		"Limits": record(object{"job": text, "edition": text, "proofs": several(record(object{"limiter": text, "line": whole, "withinSeconds": number, "afterLossSeconds": figure, "assumptions": texts, "worst": object{"type": []string{"object", "null"}}, "notKnown": texts})),
			"findings": several(object{"type": "object"}), "day": texts, "study": object{"type": []string{"object", "null"}}}),
		"Pilot":        record(object{"point?": text, "state?": text, "high?": text, "low?": text, "duty?": text, "frequency?": text, "cable?": text, "steady?": yesNo, "levels?": object{"type": "object", "additionalProperties": text}}),
		"Meter":        record(object{"address": text, "map": text, "unit?": whole}),
		"MeterReading": record(object{"at": text, "voltage": some(number), "current": some(number), "power": some(number), "total": number, "energy": number}),
		"Heard":        record(object{"lines": whole, "messages": whole, "heard": some(record(object{"rule": text, "line": whole, "times": whole, "happened": text, "detail?": text, "try": text, "clause": text, "row?": text, "confidence": text}))}),
		"Options":      record(object{"options": several(record(object{"name": text, "known": yesNo, "cost": figure, "against": figure, "needs": text, "leaves": text}))}),
		"Earthing": record(object{"measures": several(measure), "ground": record(object{"soil": figure, "target": figure, "electrodes": several(record(object{"kind": text, "length": figure, "number": whole, "resistance": figure, "cost": figure})),
			"single": text, "layers?": some(record(object{"length": figure, "resistance": figure})), "near": some(text), "notKnown": some(text)})}),
		"Routes": record(object{"routes": several(record(object{"circuit": text, "cable": text, "cut": figure, "bend?": figure, "gland?": text, "ends": text, "legs": several(leg), "notKnown?": some(text)})),
			"leads": several(record(object{"limiter": text, "says": text}))}),
		"Problem": record(object{"title": text, "status": whole, "detail": text, "instance?": text}),
		"Me":      record(object{"who": text, "account": yesNo, "signs": yesNo, "known": yesNo}),
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
		"NewReading": record(object{"at": text, "reading": text, "value": text, "instrument?": text, "function?": text, "leadsNulled?": yesNo, "temperature?": text, "note?": text}),
		"Finding": record(object{"clause": text, "subject": text, "what": text, "value": number,
			"unit": text, "limit": number, "margin": number, "verdict": object{"enum": []string{"meets", "fails", "not known", "judge on site"}}, "why": text, "next": text, "source": text}),
		"Findings":     record(object{"job": text, "edition": text, "findings": some(ref("Finding"))}),
		"Expectations": record(object{"job": text, "expectations": some(record(object{"reading": text, "at": text, "low": number, "mid": number, "high": number, "unit": text, "limit": number}))}),
		"Papers":       record(object{"papers": some(text)}),
		"NewRun": record(object{"point": text, "identity?": text, "card?": text, "unknownCard?": text, "link?": object{"enum": []string{plainLink, madeHere, ofThePoint}}, "password?": text, "leaveOut?": some(text),
			"meter?": text, "map?": text, "registers?": text, "unit?": whole, "minutes?": whole, "steps?": text, "pretended?": yesNo, "ocpp?": text, "faults?": some(text)}),
		"BegunRun": run,
		"Run":      record(object{"can": yesNo, "run": object{"anyOf": []object{run, {"type": "null"}}}}),
		"PastRuns": record(object{"runs": some(record(object{"point": text, "when": text, "who": text, "over": text, "pretended": yesNo, "ended": text, "about": text, "says": some(record(object{"what": text, "value": text})),
			"steps": several(record(object{"key": text, "what": text, "outcome": text, "seen": text, "why": text})), "settings": several(setBy)}))}),
		"IssuedList": record(object{"issued": some(record(object{"name": text, "kind": text, "number": text, "issue": whole, "when": text, "later": whole, "kept": yesNo, "unchanged": yesNo, "current": yesNo,
			"says": some(record(object{"what": text, "lines": some(text)}))}))}),
		"Verified":     record(object{"sealed": yesNo, "signature": yesNo, "unchanged": yesNo, "ours": yesNo, "superseded": yesNo, "says": some(record(object{"what": text, "lines": some(text)}))}),
		"NewIssue":     record(object{"passphrase": text}),
		"Issue":        record(object{"name": text, "kind": text, "number": text, "issue": whole, "when": text}),
		"Table":        record(object{"name": text, "text": text}),
		"NewStatement": newStatementSchema,
		"Statement":    statementSchema,
		"Recording": record(object{"name": text, "text": text, "clock?": text,
			"columns?": record(object{"time?": text, "date?": text, "clock?": text, "current?": some(text)})}),
		"NewClamp": record(object{"way": object{"enum": []string{byThree, byOne, byRecordings}}, "line?": object{"enum": []string{"L1", "L2", "L3"}}, "before?": some(text), "during?": some(text), "takes?": text,
			"clamp?": some(text), "pointReadings?": some(text), "site?": ref("Recording"), "point?": ref("Recording"), "zone?": text}),
		"Clamp": record(object{"verdict": text, "confidence": figure, "expected": text, "seen": text, "share": several(figure), "spread": several(figure), "delaySeconds": figure,
			"noiseAmperes": several(figure), "steps": whole, "why": text, "next": text, "finding": ref("Finding")}),
		"Photos": record(object{"photos": some(record(object{"name": text, "of": text, "caption": text, "onPapers": yesNo, "taken": text, "by": text, "sha256": text,
			"act?": text, "type?": text, "bytes?": whole}))}),
		"PhotoChoice": record(object{"onPapers?": yesNo, "caption?": text}),
	}
}()
