package web

// Commissioning for a program: begin a run, follow it, end it, read past ones.

import (
	"net/http"
	"slices"
	"strings"

	"chargewright/store"
)

// runState is a run as a program reads it.
type runState struct {
	Act        string      `json:"act"`
	Point      string      `json:"point"`
	Who        string      `json:"who"`
	Identity   string      `json:"identity"`
	Address    string      `json:"address"`
	Link       string      `json:"link"`
	Password   string      `json:"password,omitempty"` // only in the answer to who began the run
	Pace       float64     `json:"pace"`
	Now        string      `json:"now"`
	Over       bool        `json:"over"`
	Entered    bool        `json:"entered"`
	Wrong      string      `json:"wrong"`
	Steps      []stepState `json:"steps"`
	Settings   []setState  `json:"settings"`
	TurnedAway []string    `json:"turnedAway"`
}

type stepState struct {
	Key     string   `json:"key"`
	Step    string   `json:"step"`
	Outcome string   `json:"outcome"`
	Value   *float64 `json:"value"`
	Limit   *float64 `json:"limit"`
	Margin  *float64 `json:"margin"`
	Unit    string   `json:"unit"`
	Why     string   `json:"why"`
	Next    string   `json:"next"`
	Source  string   `json:"source"`
}

type setState struct {
	Name   string `json:"name"`
	Before string `json:"before"`
	After  string `json:"after"`
	Why    string `json:"why"`
}

// state is a run for a program, its password left out.
func (c CommissioningRun) state() *runState {
	out := &runState{Act: c.Act, Point: c.Point, Who: c.Who, Identity: c.Identity, Address: c.Address, Link: c.Secured, Pace: c.Pace, Now: c.Now, Over: c.Over, Entered: c.Kept, Wrong: c.Wrong,
		Steps: []stepState{}, Settings: []setState{}, TurnedAway: append([]string{}, c.TurnedAway...)}
	for _, s := range c.Steps {
		unit := s.Value.Unit
		if unit == "" {
			unit = s.Limit.Unit
		}
		out.Steps = append(out.Steps, stepState{s.Key, s.What, s.Outcome, s.Value.Pointer(), s.Limit.Pointer(), s.Margin.Pointer(), unit, s.Why.String(), s.Next, s.Source.String()})
	}
	for _, s := range c.Settings {
		out.Settings = append(out.Settings, setState(s))
	}
	return out
}

func (s *Server) apiRun(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	out := struct {
		Can bool      `json:"can"` // a run can be begun here
		Run *runState `json:"run"` // the one under way, or the last
	}{Can: s.Commissioner != nil}
	if s.Commissioner != nil {
		if run, begun := s.Commissioner.Run(o.ID); begun {
			out.Run = run.state()
		}
	}
	return give(w, http.StatusOK, out)
}

func (s *Server) apiBeginRun(w http.ResponseWriter, r *http.Request) error {
	o, over, err := s.toChange(w, r)
	if over || err != nil {
		return err
	}
	var wish commissioningWish
	if err := take(r, &wish); err != nil {
		return err
	}
	point, err := o.commissionedPoint(wish.Point)
	if err != nil {
		return err
	}
	wish.steps, wish.registers = asSent("steps", wish.Steps), asSent("registers", wish.Registers)
	a := s.act(r, o.ID, "commissioning of point "+point)
	under := func() (CommissioningRun, bool) {
		if s.Commissioner == nil {
			return CommissioningRun{}, false
		}
		return s.Commissioner.Run(o.ID)
	}
	status := http.StatusCreated
	if run, begun := under(); begun && run.Act == a.ID {
		status = http.StatusOK // it was begun before
	}
	problems, err := s.beginRun(o, a, wish, nil)
	if err != nil {
		return err
	}
	if len(problems) > 0 {
		return refuse(http.StatusUnprocessableEntity, "%s", strings.Join(problems, "\n"))
	}
	run, begun := under()
	switch {
	case begun && run.Act == a.ID:
	case slices.ContainsFunc(o.Acts, func(known store.Act) bool { return known.ID == a.ID }):
		return refuse(http.StatusConflict, "The run of that key is over: its outcome is among the past runs.")
	default:
		return refuse(http.StatusConflict, "A run of %s is under way in this job. Points of one job share a supply: each is proved by itself.", run.Point)
	}
	out := run.state()
	if run.Who == s.Who(r) {
		out.Password = run.Password
	}
	return give(w, status, out)
}

// asSent is a text as a table; none is no table.
func asSent(name, text string) table {
	if text == "" {
		return table{}
	}
	return table{name, []byte(text)}
}

func (s *Server) apiEndRun(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	if s.Commissioner == nil {
		return refuse(http.StatusForbidden, "A charge point is commissioned where the server is.")
	}
	run, begun := s.Commissioner.Run(o.ID)
	if !begun {
		return refuse(http.StatusConflict, "No run of this job has begun.")
	}
	s.Commissioner.End(o.ID)
	return give(w, http.StatusOK, done{run.Act, o.ID})
}

func (s *Server) apiPastRuns(w http.ResponseWriter, r *http.Request) error {
	o, over, err := s.toRead(w, r)
	if over || err != nil {
		return err
	}
	runs := []pastRun{}
	for _, p := range o.Job.Points {
		if want := r.URL.Query().Get("point"); want != "" && want != p.Name {
			continue
		}
		runs = append(runs, o.ran(p.Name)...)
	}
	return give(w, http.StatusOK, map[string]any{"runs": runs})
}
