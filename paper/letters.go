package paper

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"

	"chargewright/drawing"
	"chargewright/job"
)

// unprintable is every text of the record that has a letter which the typeface
// of the papers lacks, and would be set as an empty box.
func unprintable(j *job.Job) []string {
	var out []string
	for d := json.NewDecoder(bytes.NewReader(job.JSON(j))); ; {
		token, err := d.Token()
		if err != nil { // its end: what is written here can be read
			slices.Sort(out)
			return slices.Compact(out)
		}
		text, _ := token.(string)
		if strings.ContainsRune(drawing.Printable(text), '□') && !strings.ContainsRune(text, '□') {
			out = append(out, text)
		}
	}
}
