package web

// Who speaks in what a device sends. See store.SpokenBy.

import (
	"errors"
	"net/http"
	"strings"

	"chargewright/job"
	"chargewright/store"
)

// speak sets who says what in acts that came from a device: who is signed in,
// or who signed it on a device of theirs. An entry under the mark of another
// that says something else is refused: what follows the one would follow both.
func (s *Server) speak(r *http.Request, acts []store.Act) error {
	p := PersonOf(r)
	if p == nil {
		return nil
	}
	before := map[string][]store.Act{}
	marks := map[string]map[string]job.Entry{}
	for i, a := range acts {
		if before[a.Job] == nil {
			there, err := s.Store.Acts(r.Context(), a.Job, 0)
			if err != nil {
				return err
			}
			before[a.Job], marks[a.Job] = there, map[string]job.Entry{}
			for _, k := range there {
				note(marks[a.Job], k)
			}
		}
		who := p.Name
		if a.Who != p.Name && s.SignerOf != nil && a.SignedRight() {
			signer, err := s.SignerOf(r.Context(), a.Key)
			if err != nil && !errors.Is(err, store.ErrNotFound) {
				return err
			}
			if err == nil && signer == a.Who {
				who = signer
			}
		}
		var held *job.Record
		for _, e := range a.Entries {
			if was, there := marks[a.Job][e.ID]; there && (was.Path != e.Path || was.Value != e.Value || was.When != e.When || was.Follows != e.Follows) {
				return Refuse(http.StatusUnprocessableEntity, "act %s, entry at %s: its mark is that of another entry", a.ID, spoken(e.Path))
			}
			if held == nil && e.Who != "" && e.Who != who {
				held = store.Record(before[a.Job])
			}
		}
		if held == nil {
			held = job.NewRecord()
		}
		spoken := a.SpokenBy(who, held)
		if spoken.Brought = ""; who != p.Name {
			spoken.Brought = p.Name
		}
		acts[i] = spoken
		before[a.Job] = append(before[a.Job], spoken)
		note(marks[a.Job], spoken)
	}
	return nil
}

// note keeps the marks of an act's entries. Sent again it is the same act.
func note(marks map[string]job.Entry, a store.Act) {
	for _, e := range a.Entries {
		if _, there := marks[e.ID]; !there && strings.TrimSpace(e.ID) != "" {
			marks[e.ID] = e
		}
	}
}
