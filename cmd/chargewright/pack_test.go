package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestPackFindsPhotos beside the job file, in photos beside it, and in a folder
// that is named; and says by line and field what is wrong with one.
func TestPackFindsPhotos(t *testing.T) {
	picture, err := os.ReadFile("../../paper/testdata/photos/cut-out.jpg")
	if err != nil {
		t.Fatal(err)
	}
	const sum = "1f2600a28264195e728cc34353159cc2563682cc4dc672eadabb62549eda3dbe" // sha256sum cut-out.jpg
	const text = "job: Barn\nphotos:\n  - name: cut-out-1.jpg\n    of: cut-out\n    caption: seal whole\n    on papers: yes\n    SHA-256: " + sum + "\n  - name: meter-1.jpg\n    of: meter and tails\n"
	pack := func(t *testing.T, want int, where string, content []byte, more ...string) (says string, sheet []byte) {
		t.Helper()
		dir := t.TempDir()
		put := func(name string, content []byte) {
			t.Helper()
			if err := os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(dir, name), content, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		put("barn.yaml", []byte(text))
		if content != nil {
			put(where, content)
		}
		t.Chdir(dir)
		says = did(t, want, append([]string{"pack", "barn.yaml", "-o", "out", "--date", "2026-11-25"}, more...)...)
		if sheet, _ = os.ReadFile("out/photo-sheet.pdf"); len(sheet) == 0 {
			sheet, _ = os.ReadFile("out/for-the-customer/photo-sheet.pdf")
		}
		if files, _ := os.ReadDir("out"); want != exitMet && len(files) > 0 {
			t.Errorf("a refused pack leaves %d files", len(files))
		}
		return says, sheet
	}
	for _, tt := range []struct {
		where string
		more  []string
	}{{"cut-out-1.jpg", nil}, {"photos/cut-out-1.jpg", nil}, {"elsewhere/cut-out-1.jpg", []string{"--photos", "elsewhere"}}, {"cut-out-1.jpg", []string{"--only", "photo-sheet"}}} {
		t.Run(tt.where, func(t *testing.T) {
			if _, sheet := pack(t, exitMet, tt.where, picture, tt.more...); !bytes.Contains(sheet, []byte("/DCTDecode")) {
				t.Error("the photo is on no sheet")
			}
		})
	}
	for _, tt := range []struct {
		name, where string
		content     []byte
		says        string
	}{
		{"missing", "", nil, `barn.yaml:3: photo "cut-out-1.jpg", name: no file of that name is in . or photos: put it there, name its folder by --photos, or write on papers: no`},
		{"no photo", "cut-out-1.jpg", []byte("a text"), `barn.yaml:7: photo "cut-out-1.jpg", SHA-256: its file has`},
		{"another photo", "cut-out-1.jpg", append(bytes.Clone(picture), 0), `barn.yaml:7: photo "cut-out-1.jpg", SHA-256: its file has`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if says, _ := pack(t, exitUnusable, tt.where, tt.content); !strings.Contains(says, tt.says) {
				t.Errorf("says %q, want %q", says, tt.says)
			}
		})
	}
	t.Run("not a photo, no sum", func(t *testing.T) {
		dir := t.TempDir()
		t.Chdir(dir)
		if err := os.WriteFile("barn.yaml", []byte(strings.Replace(text, "    SHA-256: "+sum+"\n", "", 1)), 0o644); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile("cut-out-1.jpg", []byte("a text"), 0o644); err != nil {
			t.Fatal(err)
		}
		if says := did(t, exitUnusable, "pack", "barn.yaml"); !strings.Contains(says, `barn.yaml:3: photo "cut-out-1.jpg", name: its file cannot be printed: a JPEG or PNG photo is wanted`) {
			t.Errorf("says %q", says)
		}
	})
	t.Run("none chosen", func(t *testing.T) {
		t.Chdir(t.TempDir())
		if err := os.WriteFile("barn.yaml", []byte("job: Barn\n"), 0o644); err != nil {
			t.Fatal(err)
		}
		did(t, exitMet, "pack", "barn.yaml")
		if says := did(t, exitUnusable, "pack", "barn.yaml", "--only", "photo-sheet"); !strings.Contains(says, "no photo is chosen") {
			t.Errorf("says %q", says)
		}
	})
}
