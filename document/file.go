package document

import (
	"archive/zip"
	"bytes"
	"fmt"
	"path"
	"time"
)

// File is one file of the pack.
type File struct {
	Folder  string // that it lies in, empty for none
	Name    string
	Content []byte
}

// Path is folder and name.
func (f File) Path() string { return path.Join(f.Folder, f.Name) }

// Zip puts files into one, dated, in their order.
func Zip(files []File, made time.Time) ([]byte, error) {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, f := range files {
		to, err := w.CreateHeader(&zip.FileHeader{Name: f.Path(), Method: zip.Deflate, Modified: made.UTC()})
		if err != nil {
			return nil, fmt.Errorf("zip %s: %w", f.Name, err)
		}
		if _, err := to.Write(f.Content); err != nil {
			return nil, fmt.Errorf("zip %s: %w", f.Name, err)
		}
	}
	if err := w.Close(); err != nil {
		return nil, fmt.Errorf("zip: %w", err)
	}
	return b.Bytes(), nil
}
