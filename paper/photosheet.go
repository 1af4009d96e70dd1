package paper

// The photo sheet: photos that a person chose, each with its caption, what it
// is of, when and by whom it was taken, and the SHA-256 of its file. What is
// printed is made anew from the picture alone: upright, smaller, and without
// what the camera wrote into the file. It is made only when a photo is chosen.

import (
	"bytes"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"chargewright/document"
	"chargewright/model"
	"chargewright/photo"
	"chargewright/works"
)

// mostPixels is how long a side of a printed photo may be: at half the width
// of A4, 350 to the inch.
const mostPixels = 1200

// PhotoProblem is what keeps a chosen photo from being printed. It is safe to
// show to anyone.
type PhotoProblem struct {
	Photo string
	Field string // of the photo in the record
	Want  string
	Gone  bool // its file was not handed in
}

func (p PhotoProblem) Error() string {
	return fmt.Sprintf("photo %q, %s: %s", p.Photo, p.Field, p.Want)
}

// PhotoProblems is everything that keeps chosen photos from being printed. As
// an error it reads one line each.
type PhotoProblems []PhotoProblem

func (ps PhotoProblems) Error() string {
	var lines []string
	for _, p := range ps {
		lines = append(lines, p.Error())
	}
	return strings.Join(lines, "\n")
}

// printedPhoto is a photo on the sheet as a program reads it.
type printedPhoto struct {
	Name    string `json:"name"`
	Of      string `json:"of"`
	Caption string `json:"caption"`
	Taken   string `json:"taken"`
	By      string `json:"by"`
	SHA256  string `json:"sha256"` // of the photo's file, not of its print
	InJob   bool   `json:"sha256InJob"`
}

// photoSheet makes the sheet and its data, from the files of the photos by
// name.
func photoSheet(m *model.Model, files map[string][]byte, made time.Time) (*document.Document, []printedPhoto, error) {
	chosen := m.Job.Chosen()
	became := printsOf(chosen, files)
	var prints document.Prints
	var data []printedPhoto
	var wrong PhotoProblems
	for i, p := range chosen {
		one := became[i]
		if one.problem != nil {
			wrong = append(wrong, *one.problem)
			continue
		}
		one.print.Caption = fmt.Sprintf("%d  %s", i+1, one.print.Caption)
		prints = append(prints, one.print)
		data = append(data, printedPhoto{p.Name, p.Of, p.Caption, p.Taken, p.By, one.sum, p.SHA256 != ""})
	}
	if wrong != nil {
		return nil, nil, wrong
	}
	d := newDocument(m, made, "Photo sheet", "Photos chosen for the papers. Each is turned upright and made smaller, and carries nothing that the camera "+
		"wrote into its file. "+
		"SHA-256 is that of the file itself, which is kept with the job. A photo shows what was in front of it; it proves no rule.")
	d.Sections = []document.Section{{Blocks: []document.Block{prints}}}
	return d, data, nil
}

// printed is what became of one photo.
type printed struct {
	print   document.Print
	sum     string
	problem *PhotoProblem
}

// printsOf makes the prints of photos, a few at a time: each takes a while, and
// while it does as much memory as it has pixels.
func printsOf(photos []works.Photo, files map[string][]byte) []printed {
	out := make([]printed, len(photos))
	room := make(chan struct{}, min(4, runtime.NumCPU()))
	var all sync.WaitGroup
	for i, p := range photos {
		room <- struct{}{}
		all.Go(func() {
			defer func() {
				if broken := recover(); broken != nil { // by a file that no reader of pictures was made for
					out[i].problem = &PhotoProblem{Photo: p.Name, Field: "name", Want: "its file cannot be printed: it is damaged"}
				}
				<-room
			}()
			out[i].print, out[i].sum, out[i].problem = printOf(p, files)
		})
	}
	all.Wait()
	return out
}

// printOf makes the print of one photo, and returns the sum of its file.
func printOf(p works.Photo, files map[string][]byte) (document.Print, string, *PhotoProblem) {
	content, there := files[p.Name]
	if !there {
		return document.Print{}, "", &PhotoProblem{p.Name, "name", "its file is not here; the file is wanted, or on papers: no", true}
	}
	sum := photo.SHA256(content)
	if p.SHA256 != "" && !strings.EqualFold(p.SHA256, sum) {
		return document.Print{}, "", &PhotoProblem{Photo: p.Name, Field: "SHA-256",
			Want: "its file has " + sum + ": it is another photo than the one recorded, or was changed since"}
	}
	read, err := photo.Read(content)
	var b bytes.Buffer
	if err == nil {
		err = read.Print(&b, mostPixels)
	}
	if err != nil {
		return document.Print{}, "", &PhotoProblem{Photo: p.Name, Field: "name", Want: "its file cannot be printed: " + err.Error()}
	}
	out := document.Print{JPEG: b.Bytes(), Caption: capital(clip(orElse(strings.Join(strings.Fields(p.Caption), " "), "no caption"), 300))}
	out.Width, out.Height = read.Upright()
	taken := ""
	if p.Taken != "" {
		taken = "taken " + clock(p.Taken)
	}
	by := ""
	if p.By != "" {
		by = "by " + p.By
	}
	out.Lines = []string{strings.Join(slices.DeleteFunc([]string{capital(clip(orElse(p.Of, "what it is of: not known"), 120)), taken, clip(by, 80)},
		func(s string) bool { return s == "" }), " · ")}
	out.Small = []string{"SHA-256 " + sum[:32], sum[32:]}
	if p.SHA256 == "" {
		out.Small[1] += " (not in the job record)"
	}
	return out, sum, nil
}

// clock prints a time of the record as a person reads it, to the minute.
func clock(when string) string {
	if len(when) >= 16 {
		return when[:10] + " " + when[11:16]
	}
	return when
}
