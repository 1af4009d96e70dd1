package begin

import "testing"

// FuzzRead: a table of templates of one's own is read or refused with its line.
func FuzzRead(f *testing.F) {
	f.Add("template,path,value,because\nmine,job,Barn,as usual\n")
	f.Add("template,path\n")
	f.Add("")
	f.Fuzz(func(t *testing.T, text string) {
		all, err := Read("mine.csv", text, nil)
		if err == nil && len(all) == 0 && text == "" {
			t.Error("nothing is read as templates")
		}
	})
}
