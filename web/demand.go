package web

// The maximum demand of a job, by the published allowances.

import (
	"net/http"
	"strconv"

	"chargewright/demand"
	"chargewright/finding"
)

// lineRow is the current in one line, without the points and with them.
type lineRow struct{ Line, Before, InFull, Held string }

func (s *Server) demand(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	e := demand.ByAllowance(o.Model)
	page := struct {
		frame
		Known    bool
		Lines    []lineRow
		Rule     finding.Finding
		Estimate demand.Estimate
	}{frame: o.frame(s, r, "Maximum demand", "more"), Known: e.Known(), Rule: e.Finding(o.Model), Estimate: e}
	lines := 1
	if n, ok := o.Job.Supply.Phases.Get(); ok {
		lines = n
	}
	for i := range lines {
		page.Lines = append(page.Lines, lineRow{"L" + strconv.Itoa(i+1), e.Existing[i].String(), e.InFull[i].String(), e.Held[i].String()})
	}
	return render(w, http.StatusOK, "demand.html", page)
}
