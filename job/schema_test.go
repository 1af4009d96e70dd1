package job

import (
	"bytes"
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

const schemaFile = "job.schema.json"

// The published schema is the one the reader's tags make.
func TestPublishedSchema(t *testing.T) {
	got, err := Schema()
	if err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile(schemaFile, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(schemaFile)
	if err != nil || !bytes.Equal(got, want) {
		t.Errorf("%s is not what the tags say (%v): go test ./job -run Schema -update", schemaFile, err)
	}
}

// compiled returns the schema, checked against JSON Schema 2020-12 itself.
func compiled(t *testing.T) *jsonschema.Schema {
	t.Helper()
	text, err := Schema()
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource(schemaFile, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(schemaFile)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// asJSON returns a job file as an editor's schema checker sees it.
func asJSON(t *testing.T, text string) any {
	t.Helper()
	var v any
	if err := yaml.Unmarshal([]byte(text), &v); err != nil {
		t.Fatal(err)
	}
	j, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	out, err := jsonschema.UnmarshalJSON(bytes.NewReader(j))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// What Read accepts, the schema accepts, in the spelling of the tables.
func TestSchemaAccepts(t *testing.T) {
	s := compiled(t)
	text := strings.ReplaceAll(string(sample(t)), "value: > 200 MΩ", `value: "> 200 MΩ"`)
	for what, text := range map[string]string{
		"the sample":            text,
		"the sample, rewritten": string(Write(mustRead(t, text))),
		"the starter":           string(Starter("van point")),
		"an empty job":          string(Write(&Job{})),
	} {
		if err := s.Validate(asJSON(t, text)); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// Slips that a schema can see are seen while the file is being written.
func TestSchemaRefuses(t *testing.T) {
	s := compiled(t)
	for _, text := range []string{
		"supply: { earting: TT }",
		"supply: { earthing: TNX }",
		"supply: { phases: 2 }",
		"supply: { looped: maybe }",
		"supply: { Ze: low }",
		"supply: { Ze: { value: 0.2 Ω, known by: guess } }",
		"site: { visited: 25/11/2026 }",
		"boards: { name: main board }",
		"boards: [ { place: loft } ]",
		"loads: [ { name: lathe, power factor: 1.2 } ]",
		"points: [ { name: CP1, IP: high } ]",
		"site: { hazards: [ pit, pit ] }",
	} {
		if s.Validate(asJSON(t, text)) == nil {
			t.Errorf("the schema accepts %s", text)
		}
		if _, err := Read("x.yaml", []byte(text)); err == nil {
			t.Errorf("Read accepts %s", text)
		}
	}
}
