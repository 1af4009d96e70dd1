package store

// What comes in, held to the one set of bounds.

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"chargewright/bounds"
	"chargewright/job"
	"chargewright/works"
)

// within holds an act to the bounds that it can be held to by itself.
func (a Act) within() error {
	where := fmt.Sprintf("act %s (%.80s)", a.ID, a.What)
	if err := bounds.Entries.Hold(len(a.Entries), where); err != nil {
		return err
	}
	if a.Photo != nil {
		if err := bounds.Photo.Hold(len(a.Photo.Content), where); err != nil {
			return err
		}
		if err := bounds.Name.Hold(utf8.RuneCountInString(a.Photo.Element), where); err != nil {
			return err
		}
	}
	for _, text := range []string{a.What, a.When, a.Device, a.Undoes, a.Key, a.Sign} {
		if err := bounds.Text.Hold(utf8.RuneCountInString(text), where); err != nil {
			return err
		}
	}
	if err := bounds.Name.Hold(utf8.RuneCountInString(a.Who), where); err != nil {
		return err
	}
	for _, e := range a.Entries {
		if err := entryWithin(e, where); err != nil {
			return err
		}
	}
	return nil
}

// entryWithin holds one entry. What it follows are IDs, as many as there were
// versions of one fact.
func entryWithin(e job.Entry, where string) error {
	if err := bounds.Nesting.Hold(1+strings.Count(e.Path, "/"), where); err != nil {
		return err
	}
	for _, name := range append(strings.Split(e.Path, "/"), e.Who, e.ID) {
		if err := bounds.Name.Hold(utf8.RuneCountInString(name), where); err != nil {
			return err
		}
	}
	where = fmt.Sprintf("%s: %s", where, e.Path)
	for _, text := range []string{e.Value, e.When, e.Instrument} {
		if err := bounds.Text.Hold(utf8.RuneCountInString(text), where); err != nil {
			return err
		}
	}
	for id := range strings.FieldsSeq(e.Follows) {
		if err := bounds.Name.Hold(len(id), where); err != nil {
			return err
		}
	}
	return bounds.Entries.Hold(strings.Count(e.Follows, " "), where)
}

// Within holds acts, and what a job of which some are there would hold with them,
// to the bounds of every way in.
func Within(there, more []Act) error {
	for _, a := range more {
		if err := a.within(); err != nil {
			return err
		}
	}

	seen := tally{at: map[string]bool{}}
	for _, a := range there {
		seen.add(a)
	}
	things, photos := seen.things, seen.photos
	for _, a := range more {
		seen.add(a)
	}
	if seen.things > things { // a job that was larger before there was a bound may be worked on
		if err := bounds.Things.Hold(seen.things, ""); err != nil {
			return err
		}
	}
	if seen.photos > photos {
		return bounds.Photos.Hold(seen.photos, "")
	}
	return nil
}

// tally counts the things that were ever put into a job, taken out again or not.
type tally struct {
	at             map[string]bool // of paths up to each last name: looked at
	things, photos int
}

func (t *tally) add(a Act) {
	brought := a.PhotoName()
	for _, e := range a.Entries {
		t.lie(e.Path)
	}
	if brought != "" {
		t.lie(works.Under(photosList, brought))
	}
}

// lie counts the items on a path that were not counted yet.
func (t *tally) lie(path string) {
	for end := len(path); end > 0; end = strings.LastIndexByte(path[:end], '/') {
		if t.at[path[:end]] {
			return
		}
		t.at[path[:end]] = true
		up := strings.LastIndexByte(path[:end], '/')
		if up < 0 {
			return
		}
		if f := job.FieldAt(path[:up]); f != nil && f.List() {
			if t.things++; path[:up] == photosList {
				t.photos++
			}
		}
	}
}
