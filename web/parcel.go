package web

// A job with its photos as one ZIP, taken out here and brought in elsewhere.
// It holds job.yaml and, under photos, the file of each photo as it was taken.
// What is brought in is a stranger's: nothing of it is written to any path, and
// no more is unpacked than is let in packed.

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"mime"
	"net/http"
	"path"
	"slices"
	"strings"
	"time"

	"chargewright/bounds"
	"chargewright/job"
	"chargewright/photo"
	"chargewright/store"
	"chargewright/works"
)

const (
	jobInParcel    = "job.yaml"
	photosInParcel = "photos"

	mostParcel    = 256 << 20 // packed, and unpacked
	mostInParcel  = 2_000     // files
	mostInMemory  = 32 << 20  // of a form, where the rest can go to a file
	zipBeginsWith = "PK\x03\x04"
)

// parcel hands out the job file with its photos.
func (s *Server) parcel(w http.ResponseWriter, r *http.Request) error {
	o, err := s.open(r)
	if err != nil {
		return err
	}
	content, err := s.parcelOf(r.Context(), o)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": o.fileStem() + ".zip"}))
	_, err = w.Write(content)
	return err
}

// fileStem is what the files of a job are called, without an ending.
func (o *opened) fileStem() string {
	if name := identifier(o.Job.Name); name != "" {
		return name
	}
	return "job"
}

func (s *Server) parcelOf(ctx context.Context, o *opened) ([]byte, error) {
	acts, err := s.photoActs(ctx, o)
	if err != nil {
		return nil, err
	}
	total := 0
	for _, p := range o.Job.Photos {
		a, here := acts[p.Name]
		if !here && s.Away != nil {
			return nil, Refuse(http.StatusConflict, "The picture of %s is not on this device. Take the job out with its photos when the server can be reached.", p.Name)
		}
		if here {
			total += a.Photo.Bytes
		}
	}
	if total > mostParcel-bounds.JobFile.Most() {
		return nil, Refuse(http.StatusRequestEntityTooLarge,
			"The photos of this job come to %d MiB; %d MiB are the most in one ZIP. Each can be opened and kept from its sheet, and the job file by itself.",
			total>>20, (mostParcel-bounds.JobFile.Most())>>20)
	}
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	put := func(name string, method uint16, content []byte) error {
		to, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: method, Modified: s.Now().UTC().Truncate(time.Second)})
		if err == nil {
			_, err = to.Write(content)
		}
		return err
	}
	if err := put(jobInParcel, zip.Deflate, job.Write(o.Job)); err != nil {
		return nil, err
	}
	for _, p := range o.Job.Photos { // one at a time: each is large
		one, err := s.photoFiles(ctx, o, []works.Photo{p})
		if err != nil {
			return nil, err
		}
		if content, here := one[p.Name]; here {
			if err := put(path.Join(photosInParcel, p.Name), zip.Store, content); err != nil { // packed already
				return nil, err
			}
		}
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// parcelActs is a ZIP as the first acts of a new job: the job file's, and one
// for each photo.
func (s *Server) parcelActs(r *http.Request, what string, from io.ReaderAt, size int64) ([]store.Act, error) {
	text, photos, err := unpack(from, size)
	if err != nil {
		return nil, err
	}
	first, err := s.fileAct(r, what, text)
	if err != nil {
		return nil, err
	}
	j, err := store.Record([]store.Act{first}).Job(jobInParcel)
	if err != nil {
		return nil, err
	}
	acts := []store.Act{first}
	acts[0].Entries = nil
	byPhoto := map[string][]job.Entry{}
	for _, e := range first.Entries {
		if names := works.NamesOf(e.Path); names[0] == photosList && len(names) > 1 && photos[names[1]] != nil {
			byPhoto[names[1]] = append(byPhoto[names[1]], e)
			continue
		}
		acts[0].Entries = append(acts[0].Entries, e)
	}
	var wrong job.Problems
	for i, p := range j.Photos {
		content := photos[p.Name]
		if content == nil {
			continue // listed, and its picture is not here: the page says so
		}
		delete(photos, p.Name)
		read, err := photo.Read(content)
		if err != nil {
			wrong = append(wrong, parcelProblem(path.Join(photosInParcel, p.Name), err.Error()))
			continue
		}
		if sum := photo.SHA256(content); p.SHA256 != "" && !strings.EqualFold(sum, p.SHA256) {
			wrong = append(wrong, parcelProblem(path.Join(photosInParcel, p.Name),
				fmt.Sprintf("its SHA-256 is %s; the job file says %s: it is another photo, or was changed", sum, p.SHA256)))
		}
		a := first
		a.ID, a.What, a.Entries = fmt.Sprintf("%s-p%d", first.ID, i+1), "photo of "+p.Of+" brought in", byPhoto[p.Name]
		a.Photo = &store.Photo{Element: p.Of, Type: "image/" + read.Kind, Content: content}
		if a.Photo.Element == "" {
			a.Photo.Element = job.OfJob
		}
		acts = append(acts, a)
	}
	for _, name := range slices.Sorted(maps.Keys(photos)) {
		wrong = append(wrong, parcelProblem(path.Join(photosInParcel, name), "the job file lists no photo of that name"))
	}
	if wrong != nil {
		return nil, wrong
	}
	if err := store.Within(nil, acts); err != nil {
		return nil, err
	}
	return acts, nil
}

// parcelProblem says what is wrong with one file of a ZIP.
func parcelProblem(file, want string) job.Problem { return job.Problem{File: file, Want: want} }

// parcelFault is the one fault that ends the reading of a ZIP.
func parcelFault(file, want string) error { return job.Problems{parcelProblem(file, want)} }

// unpack reads a ZIP: the text of its job file, and its photos by name.
func unpack(from io.ReaderAt, size int64) (text []byte, photos map[string][]byte, err error) {
	z, err := zip.NewReader(from, size)
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return nil, nil, Refuse(http.StatusUnprocessableEntity, "The ZIP cannot be read: it is damaged, or was cut short.")
	}
	if len(z.File) > mostInParcel {
		return nil, nil, Refuse(http.StatusRequestEntityTooLarge, "The ZIP holds %d files; %d are the most.", len(z.File), mostInParcel)
	}
	photos = map[string][]byte{}
	left := int64(mostParcel)
	for _, f := range z.File {
		name := f.Name
		switch {
		case strings.HasSuffix(name, "/") && fs.ValidPath(strings.TrimSuffix(name, "/")):
			continue
		case !fs.ValidPath(name) || strings.ContainsAny(name, `\:`):
			return nil, nil, parcelFault(fmt.Sprintf("%.80q", name), "a file's name leads out of the ZIP; only job.yaml and photos are wanted")
		case strings.HasPrefix(name, "__MACOSX/") || strings.HasPrefix(path.Base(name), "."):
			continue // put there by the system that made the ZIP
		case !f.Mode().IsRegular():
			return nil, nil, parcelFault(name, "it is no plain file")
		}
		folder, base := path.Split(name)
		isPhoto := path.Base(folder) == photosInParcel && strings.Count(name, "/") <= 2 && len(base) < 200
		most := bounds.Photo
		switch {
		case isPhoto:
		case path.Ext(base) == ".yaml" || path.Ext(base) == ".yml":
			if most = bounds.JobFile; text != nil {
				return nil, nil, parcelFault(name, "the ZIP holds a second job file; one is wanted")
			}
		default:
			return nil, nil, parcelFault(name, "it is neither the job file (.yaml) nor in the folder photos")
		}
		if err := most.Hold(int(min(f.UncompressedSize64, mostParcel)), ""); err != nil {
			return nil, nil, parcelFault(name, err.Error())
		}
		content, err := readMember(f, min(int64(most.Most()), left))
		if err != nil {
			return nil, nil, err
		}
		left -= int64(len(content))
		if !isPhoto {
			text = bytes.TrimSpace(content)
			continue
		}
		if photos[base] != nil {
			return nil, nil, parcelFault(name, "the ZIP holds it twice")
		}
		photos[base] = content
	}
	if text == nil {
		return nil, nil, Refuse(http.StatusUnprocessableEntity, "The ZIP holds no job file (.yaml).")
	}
	return text, photos, nil
}

// readMember unpacks one file, no more of it than most.
func readMember(f *zip.File, most int64) ([]byte, error) {
	from, err := f.Open()
	if err != nil {
		return nil, parcelFault(f.Name, "it is packed in a way that is not read here")
	}
	defer from.Close()
	content, err := io.ReadAll(io.LimitReader(from, most+1))
	if err != nil {
		return nil, parcelFault(f.Name, "it is damaged, or was cut short")
	}
	if int64(len(content)) > most {
		return nil, parcelFault(f.Name, fmt.Sprintf("unpacked, the ZIP is larger than %d MiB", mostParcel>>20))
	}
	return content, nil
}
