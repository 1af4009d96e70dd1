package web

// Places in a job: the paths of entries, in words and in addresses.

import (
	"net/url"
	"strings"

	"chargewright/job"
	"chargewright/works"
)

// above returns the path of what holds the last name of a path.
func above(path string) string {
	i := strings.LastIndexByte(path, '/')
	return path[:max(i, 0)]
}

// last returns the last name of a path.
func last(path string) string {
	all := works.NamesOf(path)
	return all[len(all)-1]
}

// spoken says a path in words: "circuit van point, leg yard wall, length".
func spoken(path string) string {
	all := works.NamesOf(path)
	var out []string
	s := job.PartAt("")
	for i := 0; i < len(all) && s != nil; i++ {
		f := s.Named(all[i])
		if f == nil {
			return strings.Join(all, ", ")
		}
		word := f.Name
		if f.List() && i+1 < len(all) {
			i++
			word = f.One + " " + all[i]
			if f.Of == nil {
				word = f.Name + ": " + all[i]
			}
			if i == 1 && (f.Name == "readings" || f.Name == "notes") {
				word = f.One
			}
		}
		out = append(out, word)
		s = f.Of
	}
	return strings.Join(out, ", ")
}

// within says a path in words as seen from an item: "device, rating".
func within(of, path string) string {
	rest, inside := strings.CutPrefix(path, of+"/")
	if !inside {
		return spoken(path)
	}
	return strings.Join(works.NamesOf(rest), ", ")
}

// sheetURL is the address of the sheet of an element.
func sheetURL(job, of string) string {
	return "/jobs/" + job + "/sheet?of=" + url.QueryEscape(of)
}

// encoded and decoded write a name of any letters where only few may stand.
func encoded(name string) string { return url.QueryEscape(name) }

func decoded(text string) (string, error) { return url.QueryUnescape(text) }

// identifier makes an identifier of a name, as the drawing does.
func identifier(text string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(text) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	return strings.Trim(b.String(), "-")
}
