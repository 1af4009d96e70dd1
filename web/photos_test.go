package web

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/jpeg"
	"io"
	"io/fs"
	"log/slog"
	"maps"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"slices"
	"strings"
	"testing"

	"chargewright/bounds"
	"chargewright/job"
	"chargewright/photo"
	"chargewright/store"
)

// turned is a photo of an invented cut-out, by a camera held on its side.
func turned(t testing.TB) []byte {
	t.Helper()
	content, err := os.ReadFile("../paper/testdata/photos/cut-out.jpg")
	if err != nil {
		t.Fatal(err)
	}
	return content
}

// grey is a small photo of nothing, a different one for each shade.
func grey(t testing.TB, shade uint8) []byte {
	t.Helper()
	m := image.NewGray(image.Rect(0, 0, 64, 48))
	for i := range m.Pix {
		m.Pix[i] = shade
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// postFile posts a form with a file in it.
func postFile(t testing.TB, h http.Handler, address, field, name string, content []byte, form url.Values) (*http.Response, string) {
	t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for k, v := range form {
		if err := w.WriteField(k, v[0]); err != nil {
			t.Fatal(err)
		}
	}
	part, err := w.CreateFormFile(field, name)
	if err != nil {
		t.Fatal(err)
	}
	part.Write(content)
	w.Close()
	r := httptest.NewRequest("POST", address, &b)
	r.Header.Set("Content-Type", w.FormDataContentType())
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, r)
	return rec.Result(), rec.Body.String()
}

// addPhoto adds a photo by the form of a sheet, and returns its name.
func addPhoto(t testing.TB, h http.Handler, job, act, of, caption string, content []byte) string {
	t.Helper()
	resp, body := postFile(t, h, "/jobs/"+job+"/photo", "photo", "IMG.jpg", content, url.Values{"act": {act}, "of": {of}, "caption": {caption}})
	if resp.StatusCode != http.StatusSeeOther {
		t.Fatalf("the photo answers %s: %s", resp.Status, body)
	}
	for _, p := range photosNow(t, h, job) {
		if p.Act == doneIn(resp) {
			return p.Name
		}
	}
	t.Fatalf("no photo came with form %s", act)
	return ""
}

// broughtBy returns the act that brought a photo.
func broughtBy(t testing.TB, h http.Handler, job, name string) string {
	t.Helper()
	for _, p := range photosNow(t, h, job) {
		if p.Name == name {
			return p.Act
		}
	}
	t.Fatalf("there is no photo %s", name)
	return ""
}

func photosNow(t testing.TB, h http.Handler, job string) []photoOut {
	t.Helper()
	_, body := get(t, h, "/api/v1/jobs/"+job+"/photos")
	var in struct{ Photos []photoOut }
	if err := json.Unmarshal([]byte(body), &in); err != nil {
		t.Fatalf("%v: %s", err, body)
	}
	return in.Photos
}

func papersNow(t testing.TB, h http.Handler, job string) string {
	t.Helper()
	_, body := get(t, h, "/jobs/"+job+"/papers")
	return body
}

// TestAPhotoIsOnPaperOnlyWhenChosen goes all the way round: added, chosen,
// printed, taken off, taken out, brought back.
func TestAPhotoIsOnPaperOnlyWhenChosen(t *testing.T) {
	s := served(t, "terrace/job.yaml")
	h, id := s.Handler(), jobOf(t, s)
	content := turned(t)
	name := addPhoto(t, h, id, "act-1", "cut-out", "  seal\nof the cut-out ", content)
	act := broughtBy(t, h, id, name)
	if got := photosNow(t, h, id)[0]; got != (photoOut{Name: name, Of: job.OfCutOut, Caption: "seal of the cut-out", Taken: "2026-11-25 09:12", SHA256: photo.SHA256(content), Act: act, Type: "image/jpeg", Bytes: len(content)}) {
		t.Errorf("the photo stands as %+v", got)
	}
	if strings.Contains(papersNow(t, h, id), "photo-sheet") {
		t.Error("a photo sheet can be made though nothing was chosen")
	}
	if _, page := get(t, h, "/jobs/"+id+"/sheet?of=cut-out"); !strings.Contains(page, `alt="seal of the cut-out"`) || !strings.Contains(page, "On no paper") {
		t.Error("the sheet does not show the photo with its caption, on no paper")
	}
	if _, page := get(t, h, "/jobs/"+id+"/sheet?of=meter"); strings.Contains(page, "<img") {
		t.Error("the photo is on another element's sheet")
	}
	for size, most := range map[string]int{"": len(content), "?size=small": 100_000} {
		resp, picture := get(t, h, "/jobs/"+id+"/photo/"+act+size)
		if c, _, err := image.DecodeConfig(strings.NewReader(picture)); err != nil || resp.Header.Get("Content-Type") != "image/jpeg" || len(picture) > most || (size == "") != (picture == string(content)) || size != "" && (c.Width != 480 || c.Height != 640) {
			t.Errorf("the photo at %q has %d bytes, %d × %d, %v", size, len(picture), c.Width, c.Height, err)
		}
	}
	choose := func(act, value string) {
		resp, body := post(t, h, "/jobs/"+id+"/fact", url.Values{"act": {act}, "path": {"photos/" + name + "/on papers"}, "value": {value}, "next": {"/jobs/" + id + "/sheet?of=cut-out"}})
		if resp.StatusCode != http.StatusSeeOther || !strings.HasPrefix(resp.Header.Get("Location"), "/jobs/"+id+"/sheet?of=cut-out&done=") {
			t.Fatalf("the switch answers %s, to %s: %s", resp.Status, resp.Header.Get("Location"), body)
		}
	}
	choose("act-2", "yes")
	if !strings.Contains(papersNow(t, h, id), "photo-sheet.pdf") {
		t.Error("no photo sheet can be made though a photo was chosen")
	}
	resp, pdf := get(t, h, "/jobs/"+id+"/papers/photo-sheet.pdf")
	if resp.StatusCode != http.StatusOK || !strings.Contains(pdf, "/DCTDecode") || strings.Contains(pdf, "Invented Camera") {
		t.Errorf("the photo sheet answers %s; it must hold the photo without its camera", resp.Status)
	}
	if _, page := get(t, h, "/jobs/"+id+"/photos"); !strings.Contains(page, "1 of 1 on the papers") {
		t.Error("the page of photos does not say that one is on the papers")
	}
	choose("act-3", "no")
	if strings.Contains(papersNow(t, h, id), "photo-sheet") {
		t.Error("taken off, and still on paper")
	}
	out, _ := post(t, h, "/jobs/"+id+"/item/remove", url.Values{"act": {"act-4"}, "item": {"photos/" + name}})
	if out.StatusCode != http.StatusSeeOther {
		t.Fatal(out.Status)
	}
	if left := photosNow(t, h, id); len(left) != 0 {
		t.Errorf("taken out, and still there: %v", left)
	}
	if resp, _ := post(t, h, "/jobs/"+id+"/undo", url.Values{"act": {"act-5"}, "undo": {doneIn(out)}}); resp.StatusCode != http.StatusSeeOther {
		t.Fatal(resp.Status)
	}
	if back := photosNow(t, h, id); len(back) != 1 || back[0].Act != act || back[0].Caption == "" {
		t.Errorf("brought back: %v", back)
	}
	if resp, body := postFile(t, h, "/jobs/"+id+"/photo", "photo", "again.jpg", content, url.Values{"act": {"act-6"}, "of": {"cut-out"}}); resp.StatusCode != http.StatusConflict {
		t.Errorf("the same photo again answers %s: %s", resp.Status, body)
	}
	if resp, body := postFile(t, h, "/jobs/"+id+"/photo", "photo", "a.jpg", content, url.Values{"act": {"act-7"}, "of": {"points/CP9"}}); resp.StatusCode != http.StatusNotFound {
		t.Errorf("a photo of a part there is not answers %s: %s", resp.Status, body)
	}
	if resp, _ := post(t, h, "/jobs/"+id+"/item", url.Values{"list": {"photos"}, "name": {"none.jpg"}}); resp.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("a photo without a picture answers %s", resp.Status)
	}
}

// TestTwoDevicesChooseDifferently: both choices are kept, and shown to be
// settled.
func TestTwoDevicesChooseDifferently(t *testing.T) {
	s := served(t, "terrace/job.yaml")
	h, id := s.Handler(), jobOf(t, s)
	name := addPhoto(t, h, id, "act-1", "cut-out", "seal", turned(t))
	for who, value := range map[string]string{"Ann": "yes", "Bert": "no"} { // made apart: neither follows the other
		a := store.Act{ID: "by-" + who, Job: id, What: "chosen", Who: who, When: "2026-11-25T10:00:00Z", Entries: []job.Entry{{Path: "photos/" + name + "/on papers", Value: value}}}.Stamped()
		body, _ := json.Marshal(map[string]any{"acts": []store.Act{a}})
		if resp, text := call(t, h, "POST", "/api/v1/acts", string(body)); resp.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s", resp.Status, text)
		}
	}
	if _, page := get(t, h, "/jobs/"+id+"/sheet?of=cut-out"); !strings.Contains(page, "Two people chose differently") {
		t.Error("the sheet does not say that two people chose differently")
	}
	if strings.Contains(papersNow(t, h, id), "photo-sheet") || photosNow(t, h, id)[0].OnPapers {
		t.Error("a photo that only one of two would print is printed")
	}
	_, page := get(t, h, "/jobs/"+id+"/differences")
	for _, want := range []string{"on papers", "Ann", "Bert", "yes", "no"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page of differences has no %q", want)
		}
	}
	if resp, _ := post(t, h, "/jobs/"+id+"/settle", url.Values{"act": {"s"}, "path": {"photos/" + name + "/on papers"}, "keep": {"by-Ann-1"}}); resp.StatusCode != http.StatusSeeOther {
		t.Fatal(resp.Status)
	}
	if got := photosNow(t, h, id); !got[0].OnPapers || factNow(t, s, id, "photos/"+name+"/on papers") != "yes" {
		t.Errorf("settled for Ann: %v", got)
	}
}

// TestEveryElementCanBePhotographed: what a sheet calls its photos is what the
// record knows.
func TestEveryElementCanBePhotographed(t *testing.T) {
	for _, file := range []string{"bakery/complete.yaml", "pool/job.yaml", "terrace/job.yaml"} {
		s := served(t, file)
		h, id := s.Handler(), jobOf(t, s)
		acts, _ := s.Store.Acts(t.Context(), id, 0)
		o, err := fold(id, acts)
		if err != nil {
			t.Fatal(err)
		}
		for i, e := range o.elements() {
			addPhoto(t, h, id, fmt.Sprintf("act-%d", i), e.Of, "", grey(t, uint8(i)))
			if _, page := get(t, h, sheetURL(id, e.Of)); strings.Count(page, "<img") != 1 {
				t.Errorf("%s: the sheet of %q shows %d photos, want its one", file, e.Of, strings.Count(page, "<img"))
			}
		}
		acts, _ = s.Store.Acts(t.Context(), id, 0)
		if o, _ = fold(id, acts); len(o.Faults) > 0 {
			t.Errorf("%s: %v", file, o.Faults)
		}
	}
}

// TestPhotosFollowAPartToItsNewName, and those of what lies in it.
func TestPhotosFollowAPartToItsNewName(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h, id := s.Handler(), jobOf(t, s)
	addPhoto(t, h, id, "act-1", "circuits/van point", "", grey(t, 1))
	addPhoto(t, h, id, "act-2", "circuits/van point/legs/yard wall", "", grey(t, 2))
	addPhoto(t, h, id, "act-3", "cut-out", "", grey(t, 3))
	if resp, body := post(t, h, "/jobs/"+id+"/item/rename", url.Values{"item": {"circuits/van point"}, "name": {"yard point"}}); resp.StatusCode != http.StatusSeeOther {
		t.Fatalf("%s: %s", resp.Status, body)
	}
	var of []string
	for _, p := range photosNow(t, h, id) {
		of = append(of, p.Of)
	}
	if want := []string{"circuit yard point", "circuit yard point, leg yard wall", job.OfCutOut}; !slices.Equal(of, want) {
		t.Errorf("the photos are of %q, want %q", of, want)
	}
	for path, form := range map[string]url.Values{"item/rename": {"item": {"photos/" + photosNow(t, h, id)[0].Name}, "name": {"other.jpg"}}, "add": {"list": {"photos"}, "name photos": {"other.jpg"}}} {
		if resp, _ := post(t, h, "/jobs/"+id+"/"+path, form); resp.StatusCode != http.StatusNotFound {
			t.Errorf("%s of a photo answers %s", path, resp.Status)
		}
	}
}

func parcelFrom(t testing.TB, h http.Handler, id string) []byte {
	t.Helper()
	resp, body := get(t, h, "/jobs/"+id+"/parcel")
	if resp.StatusCode != http.StatusOK || resp.Header.Get("Content-Type") != "application/zip" {
		t.Fatalf("the job with its photos answers %s: %.200s", resp.Status, body)
	}
	return []byte(body)
}

// TestAJobWithItsPhotosComesBackWhole: every picture to the byte, every caption and choice.
func TestAJobWithItsPhotosComesBackWhole(t *testing.T) {
	s := served(t, "bakery/complete.yaml")
	h, id := s.Handler(), jobOf(t, s)
	name := addPhoto(t, h, id, "act-1", "cut-out", "seal", turned(t))
	addPhoto(t, h, id, "act-2", "points/CP1", "", grey(t, 90))
	post(t, h, "/jobs/"+id+"/fact", url.Values{"act": {"act-3"}, "path": {"photos/" + name + "/on papers"}, "value": {"yes"}})
	whole := parcelFrom(t, h, id)
	other := served(t)
	h2 := Secure(other.Handler())
	if resp, body := postFile(t, h2, "/jobs/bring", "file", "job.zip", whole, nil); resp.StatusCode != http.StatusSeeOther {
		t.Fatalf("%s: %s", resp.Status, body)
	}
	id2 := jobOf(t, other)
	got, want := photosNow(t, h2, id2), photosNow(t, h, id)
	for i := range got {
		if _, picture := get(t, h2, "/api/v1/jobs/"+id2+"/photos/"+got[i].Name); photo.SHA256([]byte(picture)) != want[i].SHA256 {
			t.Errorf("the picture of %s is another", got[i].Name)
		}
		got[i].Act, want[i].Act = "", ""
	}
	if !slices.Equal(got, want) || len(got) != 2 {
		t.Errorf("%+v, want %+v", got, want)
	}
	if _, a := get(t, h, "/jobs/"+id+"/file"); true {
		if _, b := get(t, h2, "/jobs/"+id2+"/file"); a != b {
			t.Errorf("the job file differs")
		}
	}
	if resp, _ := get(t, h2, "/jobs/"+id2+"/papers/photo-sheet.pdf"); resp.StatusCode != http.StatusOK {
		t.Errorf("the photo sheet answers %s", resp.Status)
	}
}

// member is one file of a ZIP made for a test.
type member struct {
	name    string
	content []byte
	mode    fs.FileMode
}

func zipped(t testing.TB, members ...member) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, m := range members {
		head := &zip.FileHeader{Name: m.name, Method: zip.Deflate}
		if m.mode != 0 {
			head.SetMode(m.mode)
		}
		w, err := z.CreateHeader(head)
		if err != nil {
			t.Fatal(err)
		}
		w.Write(m.content)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// bomb is a ZIP of photos of zeros alone, each packed to little, of which each
// says that it has so many bytes.
func bomb(t testing.TB, text []byte, photos, unpacked int, says uint64) []byte {
	t.Helper()
	var packed, b bytes.Buffer
	f, err := flate.NewWriter(&packed, flate.BestSpeed)
	if err != nil {
		t.Fatal(err)
	}
	zeros := make([]byte, unpacked)
	f.Write(zeros)
	f.Close()
	z := zip.NewWriter(&b)
	w, err := z.Create("job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	w.Write(text)
	for i := range photos {
		raw, err := z.CreateRaw(&zip.FileHeader{Name: fmt.Sprintf("photos/b-%d.jpg", i), Method: zip.Deflate, CRC32: crc32.ChecksumIEEE(zeros), CompressedSize64: uint64(packed.Len()), UncompressedSize64: says})
		if err != nil {
			t.Fatal(err)
		}
		raw.Write(packed.Bytes())
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestWhatIsNoParcelIsRefused, and says why; nothing of it is kept.
func TestWhatIsNoParcelIsRefused(t *testing.T) {
	text := []byte("job: Barn\nphotos:\n  - name: a-1.jpg\n    of: cut-out\n")
	file := member{name: "job.yaml", content: text}
	picture := member{name: "photos/a-1.jpg", content: grey(t, 1)}
	wrongSum := member{name: "job.yaml", content: append(slices.Clone(text), []byte("    SHA-256: "+strings.Repeat("0f", 32)+"\n")...)}
	for _, tt := range []struct {
		name, says string
		content    []byte
	}{
		{"upwards", "leads out", zipped(t, file, member{name: "../../photos/a-1.jpg", content: grey(t, 1)})},
		{"upwards on the way", "leads out", zipped(t, file, member{name: "photos/../../a-1.jpg", content: grey(t, 1)})},
		{"from the root", "leads out", zipped(t, file, member{name: "/photos/a-1.jpg", content: grey(t, 1)})},
		{"with a backslash", "leads out", zipped(t, file, member{name: `photos\..\..\a-1.jpg`, content: grey(t, 1)})},
		{"a drive", "leads out", zipped(t, file, member{name: `C:/a-1.jpg`, content: grey(t, 1)})},
		{"a link", "no plain file", zipped(t, file, member{"photos/a-1.jpg", []byte("/etc/passwd"), fs.ModeSymlink | 0o777})},
		{"one file too large", "no more than 12 MiB", bomb(t, text, 1, bounds.Photo.Most()+1, uint64(bounds.Photo.Most()+1))},
		{"a job file too large", "no more than 8 MiB", zipped(t, member{name: "job.yaml", content: make([]byte, bounds.JobFile.Most()+1)})},
		{"together too large", "larger than 256 MiB", bomb(t, text, mostParcel/bounds.Photo.Most()+1, bounds.Photo.Most(), uint64(bounds.Photo.Most()))},
		{"more than it says", "damaged", bomb(t, text, 1, 64<<20, 10)},
		{"too many files", "are the most", zipped(t, slices.Repeat([]member{{name: "photos/a-1.jpg"}}, mostInParcel+1)...)},
		{"no job file", "no job file", zipped(t, picture)},
		{"two job files", "second job file", zipped(t, file, member{name: "other.yaml", content: text})},
		{"a program", "neither the job file", zipped(t, file, member{name: "setup.exe", content: []byte("MZ")})},
		{"a photo twice", "twice", zipped(t, file, picture, picture)},
		{"a photo not listed", "lists no photo", zipped(t, file, picture, member{name: "photos/b-1.jpg", content: grey(t, 2)})},
		{"markup called a photo", "JPEG or PNG", zipped(t, file, member{name: "photos/a-1.jpg", content: []byte("<svg onload=alert(1)>")})},
		{"another photo", "another photo", zipped(t, wrongSum, picture)},
		{"a job file with faults", "nearest is", zipped(t, member{name: "job.yaml", content: []byte("job: Barn\nphotoes: []\n")})},
		{"cut short", "damaged", zipped(t, file, picture)[:200]},
	} {
		s := served(t)
		resp, body := postFile(t, Secure(s.Handler()), "/jobs/bring", "file", "job.zip", tt.content, nil)
		if resp.StatusCode < 400 || resp.StatusCode >= 500 || !strings.Contains(body, tt.says) {
			t.Errorf("%s: answers %s without %q", tt.name, resp.Status, tt.says)
		}
		if jobs, _ := s.Store.Jobs(t.Context()); len(jobs) != 0 {
			t.Errorf("%s: something of it was kept", tt.name)
		}
	}
	for name, content := range map[string][]byte{"as taken out": zipped(t, file, picture), "packed as a folder on another system": zipped(t, member{name: "barn/"}, member{name: "barn/job.yaml", content: text},
		member{name: "barn/photos/a-1.jpg", content: grey(t, 1)}, member{name: "__MACOSX/barn/._job.yaml", content: []byte{0}}, member{name: "barn/.DS_Store", content: []byte{0}}), "without its photo": zipped(t, file)} {
		s := served(t)
		if resp, body := postFile(t, Secure(s.Handler()), "/jobs/bring", "file", "job.zip", content, nil); resp.StatusCode != http.StatusSeeOther {
			t.Errorf("%s: %s: %s", name, resp.Status, body)
			continue
		}
		_, page := get(t, s.Handler(), "/jobs/"+jobOf(t, s)+"/photos")
		if absent := strings.Contains(page, "is not here"); absent != (name == "without its photo") {
			t.Errorf("%s: the page says that the picture is not here: %v", name, absent)
		}
	}
}

func FuzzParcel(f *testing.F) {
	text := []byte("job: Barn\nphotos:\n  - name: a-1.jpg\n    of: cut-out\n")
	f.Add(zipped(f, member{name: "job.yaml", content: text}, member{name: "photos/a-1.jpg", content: grey(f, 1)}))
	f.Add([]byte("PK\x03\x04"))
	f.Fuzz(func(t *testing.T, content []byte) {
		text, photos, err := unpack(bytes.NewReader(content), int64(len(content)))
		if err == nil {
			total := len(text)
			for _, p := range photos {
				total += len(p)
			}
			if total > mostParcel {
				t.Fatalf("%d bytes were unpacked", total)
			}
		}
	})
}

// TestPhotosAreFetchedForLater: what others took comes to the device, newest
// first and no more than there is room for.
func TestPhotosAreFetchedForLater(t *testing.T) {
	s := served(t, "bakery/job.yaml")
	h, id := s.Handler(), jobOf(t, s)
	size := 0
	var by []string    // the acts that brought them
	for i := range 4 { // one second apart, by the clock of the test
		content := grey(t, uint8(50+i))
		size = max(size, len(content))
		by = append(by, broughtBy(t, h, id, addPhoto(t, h, id, fmt.Sprintf("act-%d", i), "cut-out", fmt.Sprintf("shade %d", i), content)))
	}
	phone, w := newPocket(), &weak{handler: Secure(h)}
	d := OnDevice(phone, "http://server", slog.New(slog.DiscardHandler))
	d.Sender.Client = &http.Client{Transport: w}
	d.Sender.Room = 2*size + size/2
	if _, err := d.Sender.Send(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	if len(phone.photos) != 0 {
		t.Error("pictures came with the acts")
	}
	sparing := true
	d.Sender.Sparing = func() bool { return sparing }
	fetch := func() []string {
		t.Helper()
		if err := d.Sender.FetchPhotos(t.Context()); err != nil {
			t.Fatal(err)
		}
		return slices.Sorted(maps.Keys(phone.photos))
	}
	if got := fetch(); len(got) != 0 {
		t.Errorf("a connection to be spared fetched %v", got)
	}
	sparing = false
	w.fails = []string{"", "back"}
	if err := d.Sender.FetchPhotos(t.Context()); err == nil || len(phone.photos) != 1 {
		t.Errorf("the signal was lost at the second picture: %v, %d held", err, len(phone.photos))
	}
	if got := fetch(); !slices.Equal(got, slices.Sorted(slices.Values(by[2:]))) {
		t.Errorf("held: %v, want the two newest", got)
	}
	if !bytes.Equal(phone.photos[by[3]], grey(t, 53)) {
		t.Error("the picture is another")
	}
	_, page := get(t, d.Server.Handler(), "/jobs/"+id+"/photos")
	if got := strings.Count(page, "not on this device yet"); got != 2 {
		t.Errorf("the page without the server says of %d photos that they are not on the device, want 2", got)
	}
	addPhoto(t, h, id, "act-8", "meter", "taken out again", grey(t, 98))
	post(t, h, "/jobs/"+id+"/item/remove", url.Values{"act": {"act-out"}, "item": {"photos/" + photosNow(t, h, id)[4].Name}})
	newest := broughtBy(t, h, id, addPhoto(t, h, id, "act-9", "meter", "newest", grey(t, 99)))
	if _, err := d.Sender.Send(t.Context()); err != nil {
		t.Fatal(err)
	}
	phone.photos["mine"] = grey(t, 7) // taken here, and not sent yet
	if got := fetch(); !slices.Equal(got, slices.Sorted(slices.Values([]string{by[3], newest, "mine"}))) {
		t.Errorf("held: %v, want the two newest that were not taken out, and what waits", got)
	}
	if resp, body := get(t, d.Server.Handler(), "/jobs/"+id+"/parcel"); resp.StatusCode != http.StatusConflict || !strings.Contains(body, "not on this device") {
		t.Errorf("a job without all its pictures is taken out: %s", resp.Status)
	}
}

// TestASignInPageIsNoPhoto: what a network puts in the way is not kept.
func TestASignInPageIsNoPhoto(t *testing.T) {
	phone := newPocket()
	if err := phone.Adopt(context.Background(), store.Act{ID: "a", Job: "j", When: "2026-11-25T09:00:00Z", Photo: &store.Photo{Element: "job", Type: "image/jpeg", Content: []byte("x")}}); err != nil {
		t.Fatal(err)
	}
	phone.words[followsWord] = "j"
	page := answers(func(*http.Request) (*http.Response, error) {
		return &http.Response{StatusCode: 200, Body: io.NopCloser(strings.NewReader("<html>Sign in"))}, nil
	})
	s := &Sender{Device: phone, Server: "http://server", Client: &http.Client{Transport: page}, Room: 1 << 20}
	if err := s.FetchPhotos(t.Context()); !errors.Is(err, photo.ErrKind) || len(phone.photos) != 0 {
		t.Errorf("a page instead of a picture: %v, %d held", err, len(phone.photos))
	}
}

type answers func(*http.Request) (*http.Response, error)

func (a answers) RoundTrip(r *http.Request) (*http.Response, error) { return a(r) }

// multipartOf is a form with one file in it, and what kind it is.
func multipartOf(t testing.TB, field, name string, content []byte) (kind string, body *bytes.Buffer) {
	t.Helper()
	body = &bytes.Buffer{}
	w := multipart.NewWriter(body)
	part, err := w.CreateFormFile(field, name)
	if err != nil {
		t.Fatal(err)
	}
	part.Write(content)
	w.Close()
	return w.FormDataContentType(), body
}
