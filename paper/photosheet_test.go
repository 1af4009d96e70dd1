package paper

import (
	"bytes"
	"errors"
	"image"
	_ "image/jpeg"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"chargewright/document"
	"chargewright/job"
	"chargewright/photo"
	"chargewright/quantity"
	"chargewright/works"
)

// photographed is the job made by hand with photos of invented things: the
// cut-out by a camera held on its side, the board held upside down. Each file
// says so, and names a place by GPS.
func photographed(t testing.TB, chosen ...string) (packed, map[string][]byte) {
	t.Helper()
	p := byHand(t)
	files := map[string][]byte{}
	for _, one := range []works.Photo{
		{Name: "cut-out.jpg", Of: job.OfCutOut, Caption: "fuse carrier and its seal, earthing conductor at the right", Taken: "2026-11-25 09:12", By: "Ann"},
		{Name: "board.jpg", Of: "board main board", Caption: "ways before the work", Taken: "2026-11-25T09:14:00Z", By: "Ann"},
		{Name: "point.jpg", Of: "point CP1"},
	} {
		content, err := os.ReadFile(filepath.Join("testdata", "photos", one.Name))
		if err != nil {
			t.Fatal(err)
		}
		files[one.Name] = content
		if one.Name != "point.jpg" {
			one.SHA256 = photo.SHA256(content)
		}
		if slices.Contains(chosen, one.Name) {
			one.OnPapers = quantity.Known(true)
		}
		p.m.Job.Photos = append(p.m.Job.Photos, one)
	}
	return p, files
}

func TestPhotosStayOffThePapersUnlessChosen(t *testing.T) {
	p, files := photographed(t)
	none, err := Pack(p.m, p.fs, p.es, files, made)
	if err != nil || content(none, "photo-sheet.pdf") != nil {
		t.Errorf("a photo sheet is made though no photo is chosen (%v)", err)
	}
	p, files = photographed(t, "board.jpg")
	all, err := Pack(p.m, p.fs, p.es, files, made)
	if err != nil || content(all, "photo-sheet.pdf") == nil || content(all, "photo-sheet.json") == nil {
		t.Fatalf("the photo chosen is on no sheet: %v", err)
	}
	for _, f := range all {
		if strings.HasSuffix(f.Name, ".pdf") && f.Name != "photo-sheet.pdf" && bytes.Contains(f.Content, []byte("/DCTDecode")) {
			t.Errorf("%s holds a photo", f.Name)
		}
	}
	if data := content(all, "photo-sheet.json"); bytes.Contains(data, []byte("cut-out.jpg")) || !bytes.Contains(data, []byte("board.jpg")) {
		t.Errorf("the data of the sheet: %s", data)
	}
}

// TestAnotherProgramTakesThePhotosOutAgain: pdfimages finds as many photos as
// were chosen, upright and no larger than is wanted; pdftotext finds each
// caption and sum; nothing of what the cameras wrote is left.
func TestAnotherProgramTakesThePhotosOutAgain(t *testing.T) {
	qpdf, pdftotext, pdfimages := tool(t, "qpdf", "qpdf"), tool(t, "pdftotext", "poppler-utils"), tool(t, "pdfimages", "poppler-utils")
	p, files := photographed(t, "cut-out.jpg", "board.jpg", "point.jpg")
	for name, file := range files {
		if !bytes.Contains(file, []byte("Exif\x00\x00")) || !bytes.Contains(file, []byte("Invented Camera")) {
			t.Fatalf("%s says nothing of its camera: the test tests nothing", name)
		}
	}
	pack, err := Pack(p.m, p.fs, p.es, files, made, PhotoSheet)
	if err != nil {
		t.Fatal(err)
	}
	sheet := content(pack, "photo-sheet.pdf")
	dir := t.TempDir()
	file := filepath.Join(dir, "photo-sheet.pdf")
	save(t, file, sheet)
	if out := run(t, qpdf, "--check", file); strings.Contains(out, "WARNING") {
		t.Error(out)
	}
	text := strings.Join(strings.Fields(run(t, pdftotext, "-raw", file, "-")), " ")
	for _, want := range []string{"1 Fuse carrier and its seal, earthing conductor at the right", "Cut-out · taken 2026-11-25 09:12 · by Ann", "2 Ways before the work", "Board main board · taken 2026-11-25 09:14",
		"3 No caption", "Point CP1", "(not in the job record)", document.Draft, "page 1 of 1"} {
		if !strings.Contains(text, want) {
			t.Errorf("the text has no %q:\n%s", want, text)
		}
	}
	for name, content := range files {
		sum := photo.SHA256(content)
		if !strings.Contains(text, sum[:32]) || !strings.Contains(text, sum[32:]) {
			t.Errorf("the text has no SHA-256 of %s", name)
		}
	}
	run(t, pdfimages, "-j", file, filepath.Join(dir, "photo"))
	var got []string
	found, _ := filepath.Glob(filepath.Join(dir, "photo-*.jpg"))
	for _, f := range found {
		content, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		c, _, err := image.DecodeConfig(bytes.NewReader(content))
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, itoa(c.Width)+" × "+itoa(c.Height))
		for _, gone := range []string{"Exif", "Invented Camera", "2026:11:25"} {
			if bytes.Contains(content, []byte(gone)) {
				t.Errorf("%s still has %q", filepath.Base(f), gone)
			}
		}
	}
	// In the files: 1400 × 1050 on its side, 1600 × 1200 upside down, 900 × 1200.
	if want := []string{"900 × 1200", "1200 × 900", "900 × 1200"}; !slices.Equal(got, want) {
		t.Errorf("pdfimages finds %q, want %q", got, want)
	}
	if len(sheet) > 900_000 {
		t.Errorf("three photos make a sheet of %d bytes", len(sheet))
	}
}

// TestWhatKeepsAPhotoFromPaperIsSaidAtOnce, each with its photo and field.
func TestWhatKeepsAPhotoFromPaperIsSaidAtOnce(t *testing.T) {
	p, files := photographed(t, "cut-out.jpg", "board.jpg", "point.jpg")
	files["cut-out.jpg"] = append(slices.Clone(files["cut-out.jpg"]), 0)
	files["point.jpg"] = []byte("a text called a photo")
	delete(files, "board.jpg")
	_, err := Pack(p.m, p.fs, p.es, files, made)
	var problems PhotoProblems
	if !errors.As(err, &problems) || len(problems) != 3 {
		t.Fatalf("three wrong photos: %v", err)
	}
	for i, want := range []PhotoProblem{{Photo: "cut-out.jpg", Field: "SHA-256", Want: "another photo"}, {Photo: "board.jpg", Field: "name", Want: "not here", Gone: true}, {Photo: "point.jpg", Field: "name", Want: "JPEG or PNG"}} {
		if got := problems[i]; got.Photo != want.Photo || got.Field != want.Field || got.Gone != want.Gone || !strings.Contains(got.Want, want.Want) {
			t.Errorf("problem %d = %v, want %v", i+1, got, want)
		}
	}
	if _, err := Pack(p.m, p.fs, p.es, nil, made, "design-sheet"); err != nil {
		t.Errorf("a paper without photos wants them: %v", err)
	}
}

func TestThePhotoSheetInWords(t *testing.T) {
	p, files := photographed(t, "cut-out.jpg", "board.jpg", "point.jpg")
	d, _, err := photoSheet(p.m, files, made)
	if err != nil {
		t.Fatal(err)
	}
	inWords(t, PhotoSheet, d)
	textsApart(t, p.name, d)
}

// TestManyPhotosFillPages: rows stay whole, and the sheet stays small.
func TestManyPhotosFillPages(t *testing.T) {
	p, files := photographed(t)
	one := p.m.Job.Photos[1]
	one.OnPapers, one.Caption = quantity.Known(true), strings.Repeat("a long caption that takes lines ", 12)
	p.m.Job.Photos = slices.Repeat([]works.Photo{one}, 13)
	d, _, err := photoSheet(p.m, files, made)
	if err != nil {
		t.Fatal(err)
	}
	textsApart(t, "13 photos", d)
	pages := d.Pages()
	if len(pages) < 3 || len(pages) > 6 {
		t.Errorf("13 photos fill %d pages", len(pages))
	}
	var b bytes.Buffer
	if err := d.PDF(&b); err != nil || b.Len() > 1_000_000 {
		t.Errorf("13 times the same photo make %d bytes, %v: it is held once", b.Len(), err)
	}
}
