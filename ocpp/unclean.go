package ocpp

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"strconv"
	"strings"
	"time"
)

// A message that is not as the schema has it is still read as far as it can be:
// what a point says of its current counts though its connector came as text.
// What was mended or could not be read is counted and told.

// soil counts something in a message that was not as the schema has it.
func (s *Station) soil(f Frame, what string) {
	what = f.Action + ": " + what
	s.mu.Lock()
	const most = 50 // kinds
	first := s.soiled[what] == 0 && len(s.soiled) < most
	if first || s.soiled[what] > 0 {
		s.soiled[what]++
	}
	s.mu.Unlock()
	if first {
		s.Journal.note(fromLink, nil, "read with care: "+what)
	}
}

// Unclean returns what was not as the schema has it, and how often.
func (s *Station) Unclean() map[string]int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return maps.Clone(s.soiled)
}

// stamp reads a time of a message; zero if it is none.
func (s *Station) stamp(f Frame, text string) time.Time {
	t := ReadTime(text)
	if t.IsZero() && text != "" {
		s.soil(f, "its time could not be read")
	}
	return t
}

// read reads a payload into v. A number that came as text, or the other way, is
// mended; any other value of a wrong kind is left out.
func read(s *Station, f Frame, v any) error {
	err := json.Unmarshal(f.Payload, v)
	var tree any
	const most = 20 // fields of wrong kinds in one message
	for n := 0; err != nil && n < most; n++ {
		var wrong *json.UnmarshalTypeError
		if !errors.As(err, &wrong) || wrong.Field == "" || wrong.Type == nil {
			break
		}
		if tree == nil {
			d := json.NewDecoder(bytes.NewReader(f.Payload))
			d.UseNumber()
			if d.Decode(&tree) != nil {
				break
			}
		}
		path := strings.Split(wrong.Field, ".")
		how := mend(tree, path, wrong.Type.Kind())
		if how == "" {
			break
		}
		s.soil(f, path[len(path)-1]+" "+how)
		whole, werr := json.Marshal(tree)
		if werr != nil {
			break
		}
		reflect.ValueOf(v).Elem().SetZero()
		err = json.Unmarshal(whole, v)
	}
	if err != nil {
		return &formError{fmt.Sprintf("%s could not be read: %v", f.Action, err)}
	}
	return nil
}

// mend puts every value at a path right where it can be, takes it out where it
// cannot, and says what was done; nothing where there was nothing to do.
func mend(node any, path []string, want reflect.Kind) (how string) {
	switch at := node.(type) {
	case []any:
		for _, one := range at {
			if did := mend(one, path, want); did != "" {
				how = did
			}
		}
	case map[string]any:
		for name, value := range at {
			if !strings.EqualFold(name, path[0]) {
				continue
			}
			if len(path) > 1 {
				switch value.(type) {
				case map[string]any, []any:
					how = mend(value, path[1:], want)
					continue
				}
				delete(at, name) // where more was wanted within it
				how = "could not be read"
				continue
			}
			right, did := mended(value, want)
			if did == "" {
				continue
			}
			if how = did; right == nil {
				delete(at, name)
			} else {
				at[name] = right
			}
		}
	}
	return how
}

// mended is a value of the wanted kind, or nothing where it cannot be one.
func mended(value any, want reflect.Kind) (right any, how string) {
	const unread = "could not be read"
	switch v := value.(type) {
	case json.Number:
		switch {
		case want == reflect.String:
			return v.String(), "came as a number"
		case want >= reflect.Int && want <= reflect.Uint64:
			if _, err := v.Int64(); err == nil {
				return nil, "" // it is not this one
			}
			if n, err := v.Float64(); err == nil && n == float64(int64(n)) {
				return json.Number(strconv.FormatInt(int64(n), 10)), "came with a fraction"
			}
			return nil, unread
		case want == reflect.Float64:
			return nil, ""
		}
		return nil, unread
	case string:
		switch {
		case want == reflect.String:
			return nil, ""
		case want == reflect.Bool && (v == "true" || v == "false"):
			return v == "true", "came as text"
		case want >= reflect.Int && want <= reflect.Float64:
			n, err := strconv.ParseFloat(strings.TrimSpace(v), 64)
			if err != nil || n != n || n-n != 0 || want <= reflect.Uint64 && n != float64(int64(n)) {
				return nil, unread
			}
			return json.Number(strconv.FormatFloat(n, 'f', -1, 64)), "came as text"
		}
		return nil, unread
	case nil:
		return nil, ""
	case bool:
		if want == reflect.Bool {
			return nil, ""
		}
		if want == reflect.String {
			return strconv.FormatBool(v), "came as true or false"
		}
		return nil, unread
	}
	if want == reflect.Slice || want == reflect.Map || want == reflect.Struct {
		if _, list := value.([]any); list != (want == reflect.Slice) {
			return nil, unread
		}
		return nil, ""
	}
	return nil, unread
}
