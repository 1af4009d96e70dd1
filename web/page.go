package web

// One wrapper answers for every page: it renders what worked, and says what
// did not in words a person can act on.

import (
	"bytes"
	"context"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"chargewright/bounds"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/store"
	"chargewright/trade"
)

//go:embed *.html
var templateFiles embed.FS

// framed is the frame with what many pages share. Parsed once.
var framed = template.Must(template.New("frame.html").Funcs(template.FuncMap{
	"mark":     markHTML,
	"sheet":    sheetURL,
	"spoken":   spoken,
	"within":   within,
	"clock":    clock,
	"day":      func(t time.Time) string { return clock(Stamp(t)) },
	"capital":  capital,
	"keys":     keys,
	"ways":     trade.HowKnown("").Values,
	"fours":    fours,
	"question": questionOf,
	"now":      func(r *job.Record, path string) string { return r.Now(path).Value },
}).ParseFS(templateFiles, "frame.html", "shared.html", "judged.html", "stations.html", "tables.html"))

// Pages are templates by their file's name, each laid into the frame.
type Pages map[string]*template.Template

// Lay lays every template of a room into the frame.
func Lay(files fs.FS) Pages {
	all := Pages{}
	names, _ := fs.Glob(files, "*.html")
	for _, name := range names {
		all[name] = template.Must(template.Must(framed.Clone()).ParseFS(files, name))
	}
	return all
}

var templates = Lay(templateFiles)

// Frame is what every page shows around its own matter.
type Frame struct {
	Title string
	Here  string // which entry of the bar this page belongs to
	Who   string
	// Away and Waiting are set where the browser answers for itself.
	Away    bool
	Waiting int
	Version string // of the pages, where the server made this one
	Again   int    // seconds until the page is shown anew; 0 for never
	Form    string // by which a form on this page is known when it is sent
	Notice  string // what everybody must know: that nothing can be entered
	Person  *Person

	Body        string // how the page is laid out: the main screen of a job, a reading; nothing for what scrolls
	Job         string // ID; nothing outside a job
	Name        string
	Invented    bool
	Edition     string
	Stage       string
	Differences int
	Faults      []job.Problem
	Done        *store.Act // what was just entered, to be taken back with one tap
	Rail        []*stretch // the line, beside the page where there is room
	Saved       string     // when the job was last added to
	Taken, Read int        // of the readings: taken, and all
}

// Frame returns the frame of a page.
func (s *Server) Frame(r *http.Request, title string) Frame {
	f := Frame{Title: title, Who: s.Who(r), Form: newID(), Person: PersonOf(r)}
	if s.Away != nil {
		f.Away, f.Waiting = true, s.Away()
	} else {
		f.Version = version
	}
	if only, can := s.Store.(interface{ OnlyRead() string }); can {
		f.Notice = only.OnlyRead()
	}
	return f
}

// render writes a page whole or not at all.
func render(w http.ResponseWriter, status int, name string, page any) error {
	return templates.Render(w, status, name, page)
}

// Render writes a page whole or not at all.
func (all Pages) Render(w http.ResponseWriter, status int, name string, page any) error {
	return all.part(w, status, name, "frame.html", page)
}

// renderPart writes one part of a page.
func renderPart(w http.ResponseWriter, status int, name, part string, page any) error {
	return templates.part(w, status, name, part, page)
}

func (all Pages) part(w http.ResponseWriter, status int, name, part string, page any) error {
	var b bytes.Buffer
	if err := all[name].ExecuteTemplate(&b, part, page); err != nil {
		return fmt.Errorf("render %s: %w", name, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_, err := w.Write(b.Bytes())
	return err
}

// refusal is an answer that is safe to show to anyone.
type refusal struct {
	status int
	says   string
}

func (r *refusal) Error() string { return r.says }

// Refuse is an error whose words are safe to show to anyone.
func Refuse(status int, format string, args ...any) error {
	return &refusal{status, fmt.Sprintf(format, args...)}
}

// wrong is a refusal of what was entered.
func wrong(err error) error { return Refuse(http.StatusUnprocessableEntity, "%v", err) }

// explain returns what may be said of an error, with its status.
func explain(err error) (status int, lines []string) {
	var r *refusal
	var ps job.Problems
	var tooLarge *http.MaxBytesError
	var passed *bounds.Passed
	var shut *closed
	switch {
	case errors.As(err, &shut) && shut.locked:
		return http.StatusForbidden, []string{shut.Error()}
	case errors.As(err, &r):
		return r.status, strings.Split(r.says, "\n")
	case errors.As(err, &ps):
		for _, p := range ps {
			lines = append(lines, p.Error())
		}
		return http.StatusUnprocessableEntity, lines
	case errors.Is(err, store.ErrNotFound):
		return http.StatusNotFound, []string{"Nothing of that name is here.", "Go back, or find it from the jobs."}
	case errors.Is(err, store.ErrNoRoom):
		return http.StatusInsufficientStorage, []string{"There is no room left where the jobs are kept, so this was not kept. What you saved before is still there.",
			"Free some room there, or wait for signal, then send it again from here: this page still has it."}
	case errors.Is(err, store.ErrOnlyRead), errors.Is(err, store.ErrDamaged):
		return http.StatusInsufficientStorage, []string{"The jobs can be read now and not added to, so this was not kept: their disk cannot be written, " +
			"or their file is damaged. What you saved before is still there.",
			"Write down what you entered. When the disk is mended, send it again from here: this page still has it."}
	case errors.As(err, &passed) && (passed.Bound == bounds.Photo || passed.Bound == bounds.JobFile):
		return http.StatusRequestEntityTooLarge, []string{capital(passed.Error()) + "."}
	case errors.As(err, &passed):
		return http.StatusUnprocessableEntity, []string{capital(passed.Error()) + "."}
	case errors.As(err, &tooLarge):
		return http.StatusRequestEntityTooLarge, []string{fmt.Sprintf("That is larger than %d MiB.", tooLarge.Limit>>20)}
	}
	return http.StatusInternalServerError, []string{"Something broke on our side. What you saved before is still there."}
}

// titleOf is the title of a page that could not do what was asked, as a mate
// would say it; what to do stands below it.
func titleOf(status int) string {
	switch status {
	case http.StatusNotFound:
		return "That is not here"
	case http.StatusUnprocessableEntity, http.StatusBadRequest:
		return "Not entered: look at this first"
	case http.StatusForbidden, http.StatusUnauthorized:
		return "That is not yours to do here"
	case http.StatusConflict:
		return "Something changed in between"
	case http.StatusRequestEntityTooLarge:
		return "Too large to take in"
	case http.StatusInsufficientStorage:
		return "No room on this device"
	case http.StatusServiceUnavailable:
		return "Not to be had just now"
	case http.StatusTooManyRequests:
		return "Too many tries: wait a little"
	}
	return "That did not work"
}

// Page turns a handler that returns errors into one that answers them.
func (s *Server) Page(h func(http.ResponseWriter, *http.Request) error) http.Handler {
	return s.guarded(h, func(w http.ResponseWriter, r *http.Request, err error, status int, lines []string) {
		page := struct {
			Frame
			Lines  []string
			Typed  []typedField // what a form sent that was not entered
			Resend url.Values   // the same, to be sent again
			Locked bool         // the device's lock opens it
		}{s.Frame(r, titleOf(status)), lines, typedIn(r), nil, false}
		var again *resend
		var shut *closed
		switch {
		case errors.As(err, &shut):
			page.Resend, page.Locked, page.Title = shut.form, shut.locked, "Without the server no more"
			if shut.locked {
				page.Title = "Locked"
			}
		case errors.As(err, &again):
			page.Resend = again.form
		case status >= http.StatusInternalServerError && r.MultipartForm == nil: // a file is chosen anew
			page.Resend = withoutSecrets(r.PostForm)
		}
		if err := render(w, status, "problem.html", page); err != nil {
			http.Error(w, strings.Join(lines, "\n"), status)
		}
	})
}

// typedField is a field of a form with what was typed in it.
type typedField struct{ Label, Value string }

// typedIn is what a person typed into a form, in words, without secrets and
// without what the form holds for itself.
func typedIn(r *http.Request) []typedField {
	var out []typedField
	for _, name := range slices.Sorted(maps.Keys(r.PostForm)) {
		kind, path, _ := strings.Cut(name, " ") // "value supply/Ze", or "value" of the form's one path
		if path == "" && kind == "value" {
			path = r.PostForm.Get("path")
		}
		if inForm[kind] || strings.HasPrefix(name, "pass") {
			continue
		}
		label := name
		switch f := job.FieldAt(path); {
		case path == "" || f == nil:
		case kind == "value":
			label = spoken(path)
		default:
			label = spoken(path) + ", " + kind
		}
		for _, v := range r.PostForm[name] {
			if strings.TrimSpace(v) != "" {
				out = append(out, typedField{capital(label), v})
			}
		}
	}
	return out
}

// inForm is what forms hold for themselves.
var inForm = map[string]bool{"act": true, "next": true, "follows": true, "of": true, "path": true, "list": true, "item": true,
	"seen": true, "saw": true, "assumed": true, "all": true, "here": true, "undo": true, "keep": true, "body": true, "session": true, "passkey": true}

func withoutSecrets(form url.Values) url.Values {
	out := url.Values{}
	for name, values := range form {
		if strings.HasPrefix(name, "pass") {
			return nil // it is to be typed again
		}
		out[name] = values
	}
	return out
}

// guarded calls a handler and answers its errors, and its broken promises.
func (s *Server) guarded(h func(http.ResponseWriter, *http.Request) error, answer func(http.ResponseWriter, *http.Request, error, int, []string)) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			if broken := recover(); broken != nil {
				s.Log.Error("a page broke", "path", r.URL.Path, "why", broken)
				err := errors.New("it broke")
				status, lines := explain(err)
				answer(w, r, err, status, lines)
			}
		}()
		err := h(w, r)
		if err == nil {
			return
		}
		if r.Context().Err() != nil && errors.Is(err, context.Canceled) {
			return // nobody is there to be told
		}
		status, lines := explain(err)
		if status == http.StatusInternalServerError {
			s.Log.Error("a request failed", "path", r.URL.Path, "err", err)
		}
		answer(w, r, err, status, lines)
	})
}

// marks are the verdicts' shapes, each a piece of the line: whole, cut,
// stopped by a bar, or looked at.
var marks = func() map[finding.Verdict]template.HTML {
	m := map[finding.Verdict]template.HTML{}
	for v, d := range map[finding.Verdict]string{
		finding.Meets:       `<path d="M0 8H32"/>`,
		finding.NotKnown:    `<path d="M0 8H11M21 8H32"/>`,
		finding.Fails:       `<path d="M0 8H22"/><path class="bar" d="M26 0V16"/>`,
		finding.JudgeOnSite: `<path d="M0 8H6M26 8H32"/><path class="eye" d="M6.5 8Q16-2.5 25.5 8Q16 18.5 6.5 8Z"/><circle cx="16" cy="8" r="2.6"/>`,
	} {
		m[v] = template.HTML(`<svg class="mark" viewBox="0 0 32 16" aria-hidden="true" focusable="false">` + d + `</svg>`)
	}
	return m
}()

func markHTML(v finding.Verdict) template.HTML { return marks[v] }

// picture returns a scene for a page. Beside words that say the same, a screen
// reader passes it over.
func picture(s drawing.Scene, silent bool) template.HTML {
	svg := string(s.SVG())
	if silent {
		head, rest, _ := strings.Cut(svg, ">")
		head = `<svg viewBox="` + between(head, `viewBox="`, `"`) + `" aria-hidden="true" focusable="false" class="picture"`
		for _, tag := range []string{"title", "desc"} {
			if from, to := strings.Index(rest, "<"+tag), strings.Index(rest, "</"+tag+">"); from >= 0 && to > from {
				rest = rest[:from] + rest[to+len(tag)+3:]
			}
		}
		svg = head + ">" + rest
	}
	return template.HTML(svg) // made of shapes and escaped texts by package drawing
}

func between(s, from, to string) string {
	_, s, _ = strings.Cut(s, from)
	s, _, _ = strings.Cut(s, to)
	return s
}

// keys are the keys of the keypad for gloves, in three rows; one of them is
// what a reading or a fact may need before its figures.
func keys(before string) []string {
	return []string{"1", "2", "3", "⌫", "4", "5", "6", ".", before, "7", "8", "9", "0"}
}

// clock prints a time of the journal as a person reads it.
func clock(when string) string {
	if len(when) >= 16 {
		return strings.Replace(when[:16], "T", " ", 1)
	}
	return when
}
