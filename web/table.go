package web

// A table that comes with a form: chosen as a file, or carried along by the
// page that answered it before. Nothing of it is stored here.

import (
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"errors"
	"io"
	"net/http"
	"strings"
)

// mostTable is the greatest table that is read, in bytes.
const mostTable = 8 << 20

// table is one uploaded table; no name is none.
type table struct {
	Name string
	text []byte
}

// tableOf returns the table in a field of a form: the file, or else what the
// page carried along.
func tableOf(r *http.Request, field string) (table, error) {
	f, head, err := r.FormFile(field)
	switch {
	case errors.Is(err, http.ErrMissingFile) || errors.Is(err, http.ErrNotMultipart):
		return carried(r.PostFormValue(field+"-name"), r.PostFormValue(field+"-carried"))
	case err != nil:
		return table{}, unread(err)
	}
	defer f.Close()
	return readTable(head.Filename, f)
}

func readTable(name string, from io.Reader) (table, error) {
	text, err := io.ReadAll(io.LimitReader(from, mostTable+1))
	switch {
	case err != nil:
		return table{}, unread(err)
	case len(text) > mostTable:
		return table{}, refuse(http.StatusRequestEntityTooLarge, "%s is larger than %d MiB.", name, mostTable>>20)
	case !strings.HasPrefix(http.DetectContentType(text), "text/"):
		return table{}, refuse(http.StatusUnsupportedMediaType, "%s is no table of text: save it as CSV first.", name)
	}
	return table{name, text}, nil
}

// unread says that an upload broke off, unless it was too large.
func unread(err error) error {
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		return err
	}
	return refuse(http.StatusUnprocessableEntity, "What was sent could not be read: choose the file again.")
}

// carried unpacks what Carried packed.
func carried(name, packed string) (table, error) {
	if packed == "" {
		return table{}, nil
	}
	z, err := gzip.NewReader(base64.NewDecoder(base64.StdEncoding, strings.NewReader(packed)))
	if err != nil {
		return table{}, unread(err)
	}
	return readTable(name, z)
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
