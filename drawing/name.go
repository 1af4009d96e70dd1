package drawing

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Named puts the kind of a thing before its name, unless the name says it:
// "Point CP1", "Main board". A kind with a capital begins a line or a heading.
func Named(kind, name string) string {
	lower := strings.ToLower(name)
	if !strings.Contains(lower, strings.ToLower(kind)) && !(kind == "Board" && strings.Contains(lower, "consumer unit")) {
		return strings.TrimSpace(kind + " " + name)
	}
	if first, _ := utf8.DecodeRuneInString(kind); unicode.IsLower(first) {
		return name
	}
	first, size := utf8.DecodeRuneInString(name)
	return string(unicode.ToUpper(first)) + name[size:]
}

// Names lists names, numbered ones that follow on in short: "CP1 to CP12".
func Names(names []string) string {
	var out []string
	for i := 0; i < len(names); {
		j := i
		for j+1 < len(names) && follows(names[j], names[j+1]) {
			j++
		}
		switch {
		case j-i >= 2:
			out = append(out, names[i]+" to "+names[j])
		default:
			out = append(out, names[i:j+1]...)
		}
		i = j + 1
	}
	return strings.Join(out, ", ")
}

// follows reports whether b is a with its last number one higher.
func follows(a, b string) bool {
	stemA, numberA := numbered(a)
	stemB, numberB := numbered(b)
	return numberA >= 0 && stemA == stemB && numberB == numberA+1
}

func numbered(s string) (string, int) {
	i := len(s)
	for i > 0 && s[i-1] >= '0' && s[i-1] <= '9' {
		i--
	}
	n := -1
	if i < len(s) && len(s)-i < 6 {
		fmt.Sscanf(s[i:], "%d", &n)
	}
	return s[:i], n
}
