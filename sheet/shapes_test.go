package sheet

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strings"
	"testing"
	"testing/iotest"
	"time"
	"unicode/utf16"
)

func wide(text string, big bool) string {
	var out []byte
	for _, u := range utf16.Encode([]rune(text)) {
		if big {
			out = append(out, byte(u>>8), byte(u))
		} else {
			out = append(out, byte(u), byte(u>>8))
		}
	}
	return string(out)
}

// taken is a recording of one current as a room would read it: when, and A, or
// the faults. Times are of London.
func taken(t testing.TB, text string) (rows []string, faults Faults) {
	find := func(h Head) (at [3]int, ok bool) {
		var f1, f2, f3 *Fault
		at[0], f1 = h.Find(Column{Field: "time", Words: []string{"time", "start time", "timestamp", "date and time"}})
		at[1], f2 = h.Find(Column{Field: "date"})
		at[2], f3 = h.Find(Column{Field: "current", Words: []string{"current", "l1", "load", "l1 a", "current a", "load a", "current ma", "l1 ma"}})
		return at, f1 == nil && f2 == nil && f3 == nil && at[0] >= 0 && at[2] >= 0
	}
	in, err := Open("log.csv", strings.NewReader(text), Bounds{Rows: 40, Columns: 12, Cell: 200, Bytes: 1 << 20}, func(h Head) int {
		if _, ok := find(h); ok {
			return 1
		}
		return 0
	})
	if err != nil {
		if !errors.As(err, &faults) {
			t.Fatalf("%q: %v", text, err)
		}
		return nil, faults
	}
	at, ok := find(in.Head)
	if !ok {
		return nil, Faults{*in.Head.Wants("time and current are wanted; the headings are " + in.Head.String())}
	}
	bare, _ := in.Head.Scale(at[2], Amperes)
	clock := Clock{Zone: zone(t, "Europe/London")}
	for in.Next() {
		fault := func(field string, found []byte, want string) {
			faults = append(faults, Fault{"log.csv", in.Line, field, string(found), want, nil})
		}
		if in.IsTotal() {
			continue
		}
		if !in.Fits() {
			fault("line", nil, in.Wrong)
			continue
		}
		text := in.Cells[at[0]]
		if at[1] >= 0 {
			text = []byte(string(in.Cells[at[1]]) + " " + string(text))
		}
		stamp, ok := ReadStamp(text, false)
		if !ok {
			fault("time", text, "a date and a time are wanted")
			continue
		}
		said := "nothing"
		if !Missing(in.Cells[at[2]]) {
			v, ok := Amperes.Amount(in.Cells[at[2]], bare, in.Mark())
			if !ok {
				fault("current", in.Cells[at[2]], "amperes are wanted")
				continue
			}
			said = fmt.Sprint(v)
		}
		rows = append(rows, time.Unix(stamp.Instant(&clock), 0).UTC().Format("02 15:04")+" "+said)
	}
	if err := in.Err(); err != nil {
		var more Faults
		if !errors.As(err, &more) {
			t.Fatalf("%q: %v", text, err)
		}
		faults = append(faults, more...)
	}
	return rows, faults
}

// TestShapesOfTables: habits of tables that programs and people write, each
// read whole or refused by cell. Common practice, no source; no maker's form.
func TestShapesOfTables(t *testing.T) {
	const whole = "25 14:05 16.2, 25 14:10 0.5"
	for _, tt := range []struct{ shape, text, want string }{
		{"plain", "time,current\n2026-11-25 14:05,16.2\n2026-11-25 14:10,0.5\n", whole},
		{"no line end at the end", "time,current\n2026-11-25 14:05,16.2\n2026-11-25 14:10,0.5", whole},
		{"CRLF", "time,current\r\n2026-11-25 14:05,16.2\r\n2026-11-25 14:10,0.5\r\n", whole},
		{"CR alone", "time,current\r2026-11-25 14:05,16.2\r2026-11-25 14:10,0.5\r", whole},
		{"semicolons and decimal commas", "time;current\n25.11.2026 14:05;16,2\n25.11.2026 14:10;0,5\n", whole},
		{"tabs", "time\tcurrent\n2026-11-25 14:05\t16.2\n2026-11-25 14:10\t0.5\n", whole},
		{"bars", "time|current\n2026-11-25 14:05|16.2\n2026-11-25 14:10|0.5\n", whole},
		{"separator said", "sep=;\ntime;current\n2026-11-25 14:05;16,2\n2026-11-25 14:10;0,5\n", whole},
		{"separator said, in quotes", "\"sep=|\"\r\ntime|current\r\n2026-11-25 14:05|16.2\r\n2026-11-25 14:10|0.5\r\n", whole},
		{"byte order mark", "\xef\xbb\xbftime,current\n2026-11-25 14:05,16.2\n2026-11-25 14:10,0.5\n", whole},
		{"UTF-16, little end first", "\xff\xfe" + wide("time\tcurrent\r\n2026-11-25 14:05\t16.2\r\n2026-11-25 14:10\t0.5\r\n", false), whole},
		{"UTF-16, big end first", "\xfe\xff" + wide("time;current\n2026-11-25 14:05;16,2\n2026-11-25 14:10;0,5\n", true), whole},
		{"UTF-16 without its mark", wide("time,current\n2026-11-25 14:05,16.2\n2026-11-25 14:10,0.5\n", false), whole},
		{"all in quotes", "\"time\",\"current\"\n\"2026-11-25 14:05\",\"16.2\"\n\"2026-11-25 14:10\",\"0.5\"\n", whole},
		{"quotes doubled within", "time,note,current\n2026-11-25 14:05,\"the \"\"van\"\", again\",16.2\n2026-11-25 14:10,,0.5\n", whole},
		{"a quote within a cell", "time,note,current\n2026-11-25 14:05,6\" trunking,16.2\n2026-11-25 14:10,,0.5\n", whole},
		{"a line end within quotes", "time,note,current\n2026-11-25 14:05,\"first\nsecond\",16.2\n2026-11-25 14:10,,0.5\n", whole},
		{"a heading over two lines", "\"time\",\"current\nA\"\n2026-11-25 14:05,16.2\n2026-11-25 14:10,0.5\n", whole},
		{"spaces about the cells", "time , current\n2026-11-25 14:05 , 16.2\n 2026-11-25 14:10, \"0.5\" \n", whole},
		{"titles above", "Site load\nInvented bakery;board DB1\n\ntime;current\n2026-11-25 14:05;16,2\n2026-11-25 14:10;0,5\n", whole},
		{"titles with the separator", "site,bakery\nfrom,2026-11-25\nto,2026-11-26\n\ntime,current\n2026-11-25 14:05,16.2\n2026-11-25 14:10,0.5\n", whole},
		{"remarks", "# invented\ntime,current\n# here it rained\n2026-11-25 14:05,16.2\n2026-11-25 14:10,0.5\n", whole},
		{"blank lines and rows", "\n\ntime,current\n\n2026-11-25 14:05,16.2\n,\n2026-11-25 14:10,0.5\n\n", whole},
		{"a total", "time,current\n2026-11-25 14:05,16.2\n2026-11-25 14:10,0.5\nTotal,16.7\n", whole},
		{"a total, shorter", "no,time,current\n1,2026-11-25 14:05,16.2\n2,2026-11-25 14:10,0.5\nSum:\n", whole},
		{"capitals", "TIME,CURRENT\n2026-11-25 14:05,16.2\n2026-11-25 14:10,0.5\n", whole},
		{"another word and underscores", "Start_Time,Load\n2026-11-25 14:05,16.2\n2026-11-25 14:10,0.5\n", whole},
		{"unit in the heading", "time,Current (A)\n2026-11-25 14:05,16.2\n2026-11-25 14:10,0.5\n", whole},
		{"unit in the heading, thousandths", "time,Current [mA]\n2026-11-25 14:05,16200\n2026-11-25 14:10,500\n", whole},
		{"unit in the cell", "time,current\n2026-11-25 14:05,16.2 A\n2026-11-25 14:10,500mA\n", whole},
		{"other columns", "no,time,current,voltage\n1,2026-11-25 14:05,16.2,231\n2,2026-11-25 14:10,0.5,230\n", whole},
		{"separators at the end", "time,current,\n2026-11-25 14:05,16.2,\n2026-11-25 14:10,0.5,\n", whole},
		{"separators at the end of rows alone", "time,current\n2026-11-25 14:05,16.2,,\n2026-11-25 14:10,0.5,\n", whole},
		{"date and time apart", "date,time,current\n25/11/2026,14:05,16.2\n25/11/2026,14:10:00,0.5\n", whole},
		{"AM and PM", "time,current\n25/11/2026 2:05 PM,16.2\n25/11/2026 02:10:00 pm,0.5\n", whole},
		{"offsets", "time,current\n2026-11-25T15:05:00+01:00,16.2\n2026-11-25T14:10:00.5Z,0.5\n", whole},
		{"UTC in words", "time,current\n2026-11-25 14:05 UTC,16.2\n2026-11-25 14:10 GMT,0.5\n", whole},
		{"seconds since 1970", "time,current\n1795615500,16.2\n1795615800,0.5\n", whole},
		{"milliseconds since 1970", "time,current\n1795615500000,16.2\n1795615800000,0.5\n", whole},
		{"missing values", "time,current\n2026-11-25 14:05,NA\n2026-11-25 14:10,-\n", "25 14:05 nothing, 25 14:10 nothing"},
		{"thousands in a table of semicolons", "time;current\n2026-11-25 14:05;1.234,5\n2026-11-25 14:10;1 234,5\n", "25 14:05 1234.5, 25 14:10 1234.5"},
		{"a printed minus", "time,current\n2026-11-25 14:05,−16.2\n2026-11-25 14:10,0.5\n", "25 14:05 -16.2, 25 14:10 0.5"},
		{"letters of ISO 8859-1", "time;Gr\xf6\xdfe;current\n2026-11-25 14:05;x;16,2\n2026-11-25 14:10;x;0,5\n", whole},
		{"decimal comma in quotes", "time,current\n2026-11-25 14:05,\"16,2\"\n2026-11-25 14:10,\"0,5\"\n", whole},

		{"nothing", "", "log.csv:1: a line of headings is wanted"},
		{"blank lines alone", "\n\n\n", "log.csv:1: a line of headings is wanted"},
		{"no heading that is known", "when,how much\n2026-11-25 14:05,16.2\n", "log.csv:1: head of the table: time and current are wanted; the headings are when, how much"},
		{"two headings of one kind", "time,current,load\n2026-11-25 14:05,16.2,3\n", "log.csv:1: head of the table"},
		{"no figure", "time,current\n2026-11-25 14:05,lots\n2026-11-25 14:10,0.5\n", `log.csv:2: current is "lots": amperes are wanted`},
		{"another unit", "time,current\n2026-11-25 14:05,16 kW\n2026-11-25 14:10,0.5\n", `log.csv:2: current is "16 kW"`},
		{"over range is a text", "time,current\n2026-11-25 14:05,999+\n", `log.csv:2: current is "999+"`},
		{"a tick is a text", "time,current\n2026-11-25 14:05,✓\n", `log.csv:2: current is "✓"`},
		{"1,234 that two people read two ways", "time,current\n2026-11-25 14:05,\"1,234\"\n", `log.csv:2: current is "1,234"`},
		{"no such day", "time,current\n31/11/2026 14:05,16.2\n", `log.csv:2: time is "31/11/2026 14:05"`},
		{"14:05 PM", "time,current\n2026-11-25 14:05 PM,16.2\n", `log.csv:2: time is "2026-11-25 14:05 PM"`},
		{"every fault at once", "time,current\nsoon,1\n2026-11-25 14:05,lots\n2026-11-25 14:10\n", "log.csv:2: time|log.csv:3: current|log.csv:4: line: it has 1 fields and the head has 2"},
		{"a cell not in quotes", "time,current\n2026-11-25 14:05,16,2\n", "log.csv:2: line: it has 3 fields and the head has 2"},
		{"a quote not closed", "time,current\n\"2026-11-25 14:05,16.2\n2026-11-25 14:10,0.5\n", "log.csv:2: line: a quote is opened and not closed on the line"},
		{"text after a quote", "time,current\n\"2026-11-25\" 14:05,16.2\n", "log.csv:2: line: text follows a closing quote"},
		{"too many rows", "time,current\n" + strings.Repeat("2026-11-25 14:05,16.2\n", 41), "more than 40 rows"},
		{"too many columns", "time,current\n" + strings.Repeat("1,", 20) + "\n", "log.csv:2: line: it has more than 12 cells"},
		{"a cell too long", "time,current\n2026-11-25 14:05," + strings.Repeat("1", 201) + "\n", "log.csv:2: line: cell 2 is longer than 200 bytes"},
		{"a line too long", "time,current\n" + strings.Repeat("1", window+5) + "\n2026-11-25 14:05,lots\n", fmt.Sprintf("log.csv:2: line: the line is longer than %d bytes|log.csv:3: current", window)},
		{"too many bytes", "time,current\n" + strings.Repeat("2026-11-25 14:05,16.2"+strings.Repeat(" ", 100_000)+"\n", 20), "larger than 1048576 bytes"},
	} {
		t.Run(tt.shape, func(t *testing.T) {
			rows, faults := taken(t, tt.text)
			if !strings.HasPrefix(tt.want, "25 ") {
				got := faults.Error()
				for _, want := range strings.Split(tt.want, "|") {
					if !strings.Contains(got, want) {
						t.Errorf("faults %q, want %q", Shorten(got), want)
					}
				}
				return
			}
			if got := strings.Join(rows, ", "); got != tt.want || len(faults) > 0 {
				t.Errorf("read %q, want %q; faults %v", got, tt.want, faults)
			}
		})
	}
}

// TestReadersThatComeInPieces: however few bytes come at once, the rows are the
// same, and what stops the reading is said.
func TestReadersThatComeInPieces(t *testing.T) {
	text := "\xff\xfe" + wide("time;näme\r\n\"one\r\ntwo\";🚐\r\n3;\"a \"\"b\"\"\"\r\n", false)
	for _, from := range []io.Reader{strings.NewReader(text), iotest.OneByteReader(strings.NewReader(text)), iotest.HalfReader(strings.NewReader(text)), iotest.DataErrReader(strings.NewReader(text))} {
		in, err := Open("x.csv", from, Bounds{}, func(Head) int { return 0 })
		if err != nil {
			t.Fatal(err)
		}
		got := in.Head.Names
		for in.Next() {
			got = append(got, texts(in.Cells)...)
		}
		if want := []string{"time", "näme", "one\r\ntwo", "🚐", "3", `a "b"`}; !reflect.DeepEqual(got, want) || in.Err() != nil || in.Lines != 4 {
			t.Errorf("read %q in %d lines, %v; want %q in 4", got, in.Lines, in.Err(), want)
		}
	}
	in, err := Open("x.csv", io.MultiReader(strings.NewReader("a,b\n1,2\n"), iotest.ErrReader(errors.New("the disk is gone"))), Bounds{}, func(Head) int { return 1 })
	for err == nil && in.Next() {
	}
	if err == nil {
		err = in.Err()
	}
	if err == nil || !strings.Contains(err.Error(), "x.csv: reading stopped after line") || !strings.Contains(err.Error(), "the disk is gone") {
		t.Errorf("a reader that fails: %v", err)
	}
}

type rate struct {
	Key    string  `col:"key,key"`
	Rate   float64 `col:"rate,must"`
	Old    bool    `col:"old"`
	Source string  `col:"source"`
}

// TestRowsOfOurs: tags to columns, a source in each row, keys once.
func TestRowsOfOurs(t *testing.T) {
	const head = "# rates\nkey,rate,old,source\n"
	rows, err := Rows[rate]("r.csv", head+"a,0.5,yes,\"a book, page 3\"\nb,2,,judgement\n", nil)
	if want := []rate{{"a", 0.5, true, "a book, page 3"}, {"b", 2, false, "judgement"}}; err != nil || !reflect.DeepEqual(rows, want) {
		t.Errorf("Rows = %+v, %v; want %+v", rows, err, want)
	}
	for text, want := range map[string]string{
		"": "r.csv:1: the table is empty", "key,rate\na,1\n": "r.csv:1: the first row must be key,rate,old,source", head: "no row stands below the head",
		head + "a,0.5,,\n":           "r.csv:3: source: where the row is from is wanted",
		head + "a,,,s\n":             "r.csv:3: rate: it may not be empty",
		head + "a,much,,s\n":         `r.csv:3: rate is "much": a number is wanted`,
		head + "a,1,perhaps,s\n":     `r.csv:3: old is "perhaps": yes or no is wanted`,
		head + "a,1,,s\na,2,,s\n":    "r.csv:4: a is there twice",
		head + "a,1,s\nb,x,,s\n":     "r.csv:3: it has 3 fields and the head has 4: is it cut off?\nr.csv:4: rate",
		head + "a,1,,\"s\nb,2,,s\n":  "r.csv:3: a quote is opened and not closed",
		head + "a,-1,,s\nb,0.1,,s\n": "r.csv:3: rate: above zero is wanted",
	} {
		_, err := Rows("r.csv", text, func(r *rate, row Row) {
			if r.Rate < 0 {
				row.Fault("rate", "", "above zero is wanted")
			}
		})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Rows(%q) says %v, want %q", text, err, want)
		}
	}
	if _, err := Own("r.csv", "rate,key\n", "key", "rate"); err == nil || !strings.Contains(err.Error(), "the first row must be key,rate") {
		t.Errorf("columns in another order: %v", err)
	}
}

// FuzzReader: whatever the bytes, nothing panics, no line is lost, and what was
// read can be written and read back, and is what a general reader of CSV reads.
func FuzzReader(f *testing.F) {
	for _, s := range []string{"a,b\n1,2\n", "sep=;\na;b\n\"x\ny\";2\n", "\xff\xfea\x00,\x00b\x00", "\"", "a\r\"b\"\"\"\r", "title\n\na|b\n1|2|\n", "a,\"b\n1,2\n\"\n", "#\n;;;\n\xef\xbb\xbf", "a,b\n\" x\" ,=1\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		in, err := Open("fuzz", bytes.NewReader(text), Bounds{Columns: 50, Cell: 2000}, func(h Head) int { return len(h.Names) % 3 })
		if err != nil {
			if !strings.HasPrefix(err.Error(), "fuzz") {
				t.Fatalf("the error does not name the file: %v", err)
			}
			return
		}
		var rows [][]string
		line := in.Line
		for in.Next() {
			if in.Line <= line {
				t.Fatalf("line %d after %d", in.Line, line)
			}
			line = in.Line
			if in.Wrong == "" && len(in.Cells) > 1 {
				rows = append(rows, texts(in.Cells))
			}
		}
		if in.Err() != nil || in.Lines < line || in.Skipped > in.Lines {
			t.Fatalf("%d lines, %d skipped, the last row on %d: %v", in.Lines, in.Skipped, line, in.Err())
		}
		if len(rows) == 0 {
			return
		}
		var out bytes.Buffer
		w := csv.NewWriter(&out)
		if err := w.WriteAll(append([][]string{{"first", "second"}}, rows...)); err != nil {
			t.Fatal(err)
		}
		back, err := Open("back", bytes.NewReader(out.Bytes()), Bounds{}, func(h Head) int {
			if h.String() == "first, second" {
				return 9
			}
			return 0
		})
		if err != nil {
			t.Fatal(err)
		}
		back.mark = ','
		for _, want := range rows {
			if strings.HasPrefix(want[0], "#") || strings.TrimSpace(strings.Join(want, "")) == "" {
				continue
			}
			if !back.Next() || back.Wrong != "" {
				t.Fatalf("%q is not read back: %s", want, back.Wrong)
			}
			for i, c := range texts(back.Cells) {
				if strings.ReplaceAll(c, "\r\n", "\n") != strings.ReplaceAll(want[i], "\r\n", "\n") {
					t.Fatalf("read back %q, want %q", texts(back.Cells), want)
				}
			}
		}
	})
}
