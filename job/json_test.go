package job

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"testing"
)

// The signed form of a job loses nothing: read back, it is the same job, and
// written again it is the same letters.
func TestJSONIsTheWholeJob(t *testing.T) {
	files, err := filepath.Glob("../examples/*/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no examples: %v", err)
	}
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		j, err := Read(f, text)
		if err != nil {
			continue // a faulty twin
		}
		once := JSON(j)
		if !json.Valid(once) {
			t.Errorf("%s: no JSON", f)
		}
		back, err := Read("attached", once)
		if err != nil {
			t.Errorf("%s: %v", f, err)
			continue
		}
		if !reflect.DeepEqual(j, back) {
			t.Errorf("%s is another job when its JSON is read back", f)
		}
		if again := JSON(back); !bytes.Equal(once, again) {
			t.Errorf("%s: JSON differs when written again", f)
		}
	}
}
