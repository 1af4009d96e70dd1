package ocpp

import (
	"bytes"
	"encoding/json"
	"regexp"
	"strings"
)

// Passwords, keys and Wi-Fi secrets are never kept: a message is cleared of
// them before it is noted anywhere. Of a point's settings only those that a run
// reads or sets are kept with their values; of an address only where it leads.

// withheld stands where a secret stood.
const withheld = "(withheld)"

// secretName matches the names of settings and fields that hold a secret.
var secretName = regexp.MustCompile(`(?i)pass ?(word|phrase|code|key)|passwd|secret|authoris?z?ation ?key|pre.?shared|\bpsk\b|` +
	`wi.?fi.*(key|pin)|wlan.*(key|pin)|\bapn.?pw|private ?key|\bpin\b|pin.?code|access ?token|bearer`)

// hoursName matches the settings, named by each maker, for the hours in which a
// point charges by default and for the delay of its start.
var hoursName = regexp.MustCompile(`(?i)hours|off.?peak|charg.*schedule|timer|random.*(delay|max)|delay.*(random|max)`)

// address matches an address: its scheme, and the rest.
var address = regexp.MustCompile(`(?i)\b([a-z][a-z0-9+.-]*:\\?/\\?/)([^\s"'<>]+)`)

// IsSecret reports whether a setting of that name holds a secret.
func IsSecret(name string) bool { return secretName.MatchString(name) }

// keepsValue reports whether a setting of that name is kept with its value.
func keepsValue(name string) bool {
	if IsSecret(name) {
		return false
	}
	for _, of := range names {
		for _, known := range of {
			if name == known {
				return true
			}
		}
	}
	return hoursName.MatchString(name)
}

// whereOnly cuts user and query from every address in a text. Where it cannot be
// told which is which, nothing of it is left.
func whereOnly(text string) string {
	return address.ReplaceAllStringFunc(text, func(one string) string {
		part := address.FindStringSubmatch(one)
		end := strings.IndexAny(part[2]+"/", `/\?#`)
		host, path := part[2][:end], part[2][end:]
		if strings.Contains(path, "@") {
			return part[1] + withheld
		}
		path = path[:strings.IndexAny(path+"?", "?#")]
		return part[1] + host[strings.LastIndex(host, "@")+1:] + path
	})
}

// WithoutSecrets returns raw with every secret withheld. What holds none comes
// back letter for letter. Text that is no JSON but speaks of a secret is
// withheld whole.
func WithoutSecrets(raw []byte) []byte {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	var v any
	if err := dec.Decode(&v); err != nil || dec.More() {
		if secretName.Match(raw) {
			return []byte("(not kept: it is no JSON and may hold a secret)")
		}
		return []byte(whereOnly(string(raw)))
	}
	v, found := clearSecrets(v, 0)
	if !found {
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

// clearSecrets returns v with its secrets withheld, and whether there were any.
// JSON within a text is looked through like that around it.
func clearSecrets(v any, depth int) (clear any, found bool) {
	const deepest = 64
	if depth > deepest {
		return withheld, true // nobody nests so deep but to hide
	}
	into := func(v any) any {
		v, some := clearSecrets(v, depth+1)
		found = found || some
		return v
	}
	switch v := v.(type) {
	case string:
		if inner := []byte(v); len(v) > 1 && strings.ContainsAny(v[:1], "{[\"") && json.Valid(inner) {
			out := WithoutSecrets(inner)
			return string(out), !bytes.Equal(out, inner)
		}
		out := whereOnly(v)
		return out, out != v
	case []any:
		for i, item := range v {
			v[i] = into(item)
		}
	case map[string]any:
		if name, setting := nameIn(v); IsSecret(name) || setting && !keepsValue(name) {
			for _, field := range valueFields {
				if text, there := v[field]; there && text != "" {
					v[field], found = withheld, true
				}
			}
			if list, ok := v["variableAttribute"].([]any); ok {
				for _, item := range list {
					if attribute, ok := item.(map[string]any); ok && attribute["value"] != nil {
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
			v[name] = into(inner)
		}
	}
	return v, found
}

// nameIn returns the name a setting's object carries: "key" in 1.6, component
// and variable in 2.0.1. What a point tells of an event is no setting.
func nameIn(v map[string]any) (name string, setting bool) {
	if name, ok := v["key"].(string); ok {
		return name, true
	}
	variable, ok := v["variable"].(map[string]any)
	if !ok {
		return "", false
	}
	component, _ := v["component"].(map[string]any)
	of, _ := component["name"].(string)
	name, _ = variable["name"].(string)
	_, event := v["trigger"]
	return of + "." + name, !event
}
