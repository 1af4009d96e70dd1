package web

// Tables that come with a form: chosen as files, or carried along by the page
// that answered it before. Nothing of them is stored here.

import (
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"errors"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"chargewright/ledger"
)

// Bounds of what is read, in bytes: of one table, and of all in one form.
const (
	mostTable  = 8 << 20
	mostTables = 3 * mostTable
)

// table is one uploaded table; no name is none.
type table struct {
	Name string
	text []byte
}

// handed is the table as it is handed on.
func (t table) handed() ledger.Table {
	if t.Name == "" {
		return ledger.Table{}
	}
	return ledger.Table{Name: t.Name, Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(t.text)), nil }}
}

// Carried packs the table into a field of the answering page, so that the form
// can be sent again without choosing the file again.
func (t table) Carried() string {
	if t.Name == "" {
		return ""
	}
	var b bytes.Buffer
	to64 := base64.NewEncoder(base64.StdEncoding, &b)
	z := gzip.NewWriter(to64)
	z.Write(t.text) // into memory: it cannot fail
	z.Close()
	to64.Close()
	return b.String()
}

// sent reads the tables of a form. One that cannot be read is left out, and
// what is wrong with it is kept, so that the others are not lost.
type sent struct {
	r      *http.Request
	left   int // bytes that may still be read
	status int // of the first fault
	wrong  []string
}

// sentWith reads a form. An error means that nothing of it could be read.
func sentWith(r *http.Request) (*sent, error) {
	err := r.ParseMultipartForm(mostTables + mostForm) // all of it in memory: a browser's worker has no files
	if err != nil && !errors.Is(err, http.ErrNotMultipart) {
		var tooLarge *http.MaxBytesError
		if errors.As(err, &tooLarge) {
			return nil, err
		}
		return nil, Refuse(http.StatusUnprocessableEntity, "What was sent could not be read: send it again.")
	}
	return &sent{r: r, left: mostTables}, nil
}

// refuse keeps what is wrong.
func (s *sent) refuse(err error) {
	status, lines := explain(err)
	if s.status == 0 {
		s.status = status
	}
	s.wrong = append(s.wrong, lines...)
}

// all returns the tables in a field: those in hand that are not put away, then
// those just chosen. A table takes the place of one of the same name.
func (s *sent) all(field string) []table {
	var out []table
	names, packed := s.r.PostForm[field+"-name"], s.r.PostForm[field+"-carried"]
	for i := range min(len(names), len(packed), mostOffered) {
		if slices.Contains(s.r.PostForm[field+"-away"], strconv.Itoa(i)) {
			continue
		}
		s.keep(&out, names[i], func() (io.ReadCloser, error) {
			return gzip.NewReader(base64.NewDecoder(base64.StdEncoding, strings.NewReader(packed[i])))
		})
	}
	if s.r.MultipartForm == nil {
		return out
	}
	for _, head := range s.r.MultipartForm.File[field] {
		s.keep(&out, head.Filename, func() (io.ReadCloser, error) { return head.Open() })
	}
	return out
}

// keep reads a table and puts it among the others.
func (s *sent) keep(to *[]table, name string, open func() (io.ReadCloser, error)) {
	f, err := open()
	if err != nil {
		s.refuse(Refuse(http.StatusUnprocessableEntity, "%s could not be read: send it again.", name))
		return
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, int64(min(mostTable, s.left))+1))
	var tooLarge *http.MaxBytesError
	switch {
	case err == nil:
		err = s.usable(name, text)
	case !errors.As(err, &tooLarge):
		err = Refuse(http.StatusUnprocessableEntity, "%s could not be read: send it again.", name)
	}
	if err != nil {
		s.refuse(err)
		return
	}
	s.left -= len(text)
	if at := slices.IndexFunc(*to, func(t table) bool { return t.Name == name }); at >= 0 {
		(*to)[at].text = text
		return
	}
	*to = append(*to, table{name, text})
}

// usable says why a text is no table that is read here.
func (s *sent) usable(name string, text []byte) error {
	switch {
	case len(text) > mostTable:
		return Refuse(http.StatusRequestEntityTooLarge, "%s is larger than %d MiB.", name, mostTable>>20)
	case len(text) > s.left:
		return Refuse(http.StatusRequestEntityTooLarge, "%s is not taken: all tables together are larger than %d MiB.", name, mostTables>>20)
	case !strings.HasPrefix(http.DetectContentType(text), "text/"):
		return Refuse(http.StatusUnsupportedMediaType, "%s is no table of text: save it as CSV first.", name)
	}
	return nil
}

// one returns the table in a field that holds one.
func (s *sent) one(field string) table {
	all := s.all(field)
	if len(all) == 0 {
		return table{}
	}
	return all[len(all)-1]
}

// refused is everything that was wrong, or nothing.
func (s *sent) refused() error {
	if len(s.wrong) == 0 {
		return nil
	}
	return Refuse(s.status, "%s", strings.Join(s.wrong, "\n"))
}

// tableOf returns the table in a field of a form: the file, or else what the
// page carried along.
func tableOf(r *http.Request, field string) (table, error) {
	in, err := sentWith(r)
	if err != nil {
		return table{}, err
	}
	return in.one(field), in.refused()
}

// slot is the place of a form where tables go.
type slot struct {
	Field, Label, Hint string
	Many               bool
	Held               []table
}

func (s slot) one() table {
	if len(s.Held) == 0 {
		return table{}
	}
	return s.Held[len(s.Held)-1]
}

// fill puts the tables of a form into the slot.
func (s *slot) fill(from *sent) {
	switch {
	case s.Many:
		s.Held = from.all(s.Field)
	default:
		if t := from.one(s.Field); t.Name != "" {
			s.Held = []table{t}
		}
	}
}

// Accept is which files are offered to be chosen.
func (s slot) Accept() string {
	const books = ".xlsx,.ods,"
	if s.Many {
		return books + ".csv,.log,.txt,.json,text/csv,text/plain,application/json"
	}
	return books + ".csv,text/csv,text/plain"
}

// choice is the choice of a column of a table that was sent.
type choice struct {
	Name, Label   string
	Chosen, Found string // as chosen; as it is found without a choice, or nothing
}

// columnField is a choice of a column with what there is to choose.
type columnField struct {
	ID       string
	Choice   choice
	Headings []string
}

// mostOffered is how many headings, or points, a page offers; a table with more
// is none of ours.
const mostOffered = 200

// offered is the headings that can be chosen, each once.
func offered(all []string) []string {
	var out []string
	for _, h := range all[:min(len(all), mostOffered)] {
		if h != "" && !slices.Contains(out, h) {
			out = append(out, h)
		}
	}
	return out
}
