package web

// Any issued file held to its seal: where the firm's key and register are, also
// to those.

import (
	"errors"
	"io"
	"net/http"

	"chargewright/document"
	"chargewright/seal"
)

func (s *Server) verify(w http.ResponseWriter, r *http.Request) error {
	return s.renderVerify(w, r, http.StatusOK, nil, nil)
}

func (s *Server) renderVerify(w http.ResponseWriter, r *http.Request, status int, found []seal.Verified, problems []string) error {
	return render(w, status, "verify.html", struct {
		Frame
		Found    []seal.Verified
		Problems []string
		Keyed    bool
	}{s.Frame(r, "Verify a certificate"), found, problems, s.Issuer != nil})
}

// verifyFiles answers what is known of the files. Nothing is stored.
func (s *Server) verifyFiles(w http.ResponseWriter, r *http.Request) error {
	var tooLarge *http.MaxBytesError
	if err := r.ParseMultipartForm(mostTables + mostForm); errors.As(err, &tooLarge) {
		return err
	}
	var files []document.File
	if r.MultipartForm != nil { // all of it in memory: it is no larger than what is parsed
		for _, head := range r.MultipartForm.File["file"] {
			f, err := head.Open()
			if err != nil {
				return err
			}
			text, err := io.ReadAll(f)
			f.Close()
			if err != nil {
				return err
			}
			if head.Filename != "" {
				files = append(files, document.File{Name: head.Filename, Content: text})
			}
		}
	}
	if len(files) == 0 {
		return s.renderVerify(w, r, http.StatusUnprocessableEntity, nil, []string{"Choose the PDF of a certificate first."})
	}
	found, err := s.verified(files)
	if err != nil {
		return err
	}
	return s.renderVerify(w, r, http.StatusOK, found, nil)
}

// verified is what is known of files here.
func (s *Server) verified(files []document.File) ([]seal.Verified, error) {
	if s.Issuer == nil {
		return seal.Verify(files, nil, nil, nil), nil
	}
	return s.Issuer.Verify(files)
}
