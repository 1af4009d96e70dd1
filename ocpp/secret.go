package ocpp

import (
	"bytes"
	"encoding/json"
	"regexp"
)

// Passwords, keys and Wi-Fi secrets are never kept: a message is cleared of
// them before it is noted anywhere.

// withheld stands where a secret stood.
const withheld = "(withheld)"

// secretName matches the names of settings and fields that hold a secret.
var secretName = regexp.MustCompile(`(?i)pass ?(word|phrase|code|key)|passwd|secret|authoris?z?ation ?key|pre.?shared|\bpsk\b|` +
	`wi.?fi.*(key|pin)|wlan.*(key|pin)|\bapn.?pw|private ?key|\bpin\b|pin.?code|access ?token`)

// IsSecret reports whether a setting of that name holds a secret.
func IsSecret(name string) bool { return secretName.MatchString(name) }

// WithoutSecrets returns raw with every secret withheld. What holds none comes
// back letter for letter. Text that is no JSON but speaks of a secret is
// withheld whole.
func WithoutSecrets(raw []byte) []byte {
	if !secretName.Match(raw) {
		return raw
	}
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	var v any
	if err := dec.Decode(&v); err != nil {
		return []byte("(not kept: it is no JSON and may hold a secret)")
	}
	if !clearSecrets(v, 0) {
		return raw
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return []byte(withheld)
	}
	return bytes.TrimRight(b.Bytes(), "\n")
}

// valueFields are the fields that carry the value of a named setting.
var valueFields = []string{"value", "attributeValue", "actualValue"}

// clearSecrets withholds the secrets in v and reports whether there were any.
func clearSecrets(v any, depth int) bool {
	const deepest = 64
	if depth > deepest {
		return false
	}
	found := false
	switch v := v.(type) {
	case []any:
		for _, item := range v {
			found = clearSecrets(item, depth+1) || found
		}
	case map[string]any:
		if IsSecret(nameIn(v)) {
			for _, field := range valueFields {
				if _, there := v[field]; there {
					v[field], found = withheld, true
				}
			}
			if list, ok := v["variableAttribute"].([]any); ok {
				for _, item := range list {
					if attribute, ok := item.(map[string]any); ok {
						attribute["value"], found = withheld, true
					}
				}
			}
		}
		for name, inner := range v {
			if _, text := inner.(string); text && IsSecret(name) {
				v[name], found = withheld, true
				continue
			}
			found = clearSecrets(inner, depth+1) || found
		}
	}
	return found
}

// nameIn returns the name a setting's object carries: "key" in 1.6,
// "variable": {"name"} in 2.0.1.
func nameIn(v map[string]any) string {
	if name, ok := v["key"].(string); ok {
		return name
	}
	if variable, ok := v["variable"].(map[string]any); ok {
		name, _ := variable["name"].(string)
		return name
	}
	return ""
}
