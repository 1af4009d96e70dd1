package prove

import (
	"fmt"
	"strings"
	"testing"
	"unicode/utf16"

	"chargewright/reading"
	"chargewright/sheet"
)

// inUTF16 is a text in UTF-16 with its mark.
func inUTF16(text string) string {
	out := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(text)) {
		out = append(out, byte(u), byte(u>>8))
	}
	return string(out)
}

// tableOf is what readings of a table come to, one a line, or its faults.
func tableOf(t testing.TB, text string, asked reading.Asked) string {
	m := modelOf(t, example(t, "bakery/job.yaml"))
	rs, told, err := ReadTable(m, "t.csv", strings.NewReader(text), asked)
	if err != nil {
		return "refused: " + err.Error()
	}
	var out []string
	for _, r := range rs {
		one := fmt.Sprintf("%s %s %s", r.At, r.Reading, r.Value)
		for _, more := range []string{r.Function, r.Instrument, r.Who, r.When, r.Note} {
			if more != "" {
				one += " | " + more
			}
		}
		if n, known := r.LeadsNulled.Get(); known {
			one += fmt.Sprintf(" | nulled %v", n)
		}
		if c, known := r.Temperature.Get(); known {
			one += fmt.Sprintf(" | %v", c)
		}
		out = append(out, one)
	}
	return strings.Join(append(out, told...), "\n")
}

// TestTablesOfReadings: shapes of tables, headings in the words of the trade and
// cells as testers write them. Each is read whole or refused by its cell. All
// are invented; common practice, no source.
func TestTablesOfReadings(t *testing.T) {
	const two = "CP1 R1+R2 0.13 Ω\nsupply Ze 0.2 Ω"
	const row = "van point R1+R2 0.13 Ω\nvan point insulation live to earth > 999 MΩ\nvan point Zs 0.35 Ω\nvan point RCD time at IΔn 19 ms"
	for _, tt := range []struct {
		shape, text, want string
		asked             reading.Asked
	}{
		{"the fields themselves", "at,reading,value\nCP1,R1+R2,0.13 Ω\nsupply,Ze,0.2 Ω\n", two, reading.Asked{}},
		{"other headings", "Location,Test,Result\nCP1,R1+R2,0.13 Ω\nsupply,Ze,0.2 Ω\n", two, reading.Asked{}},
		{"reading is the value where test says which", "Circuit,Test,Reading,Unit\nCP1,R1+R2,0.13,Ω\nsupply,Ze,0.2,Ω\n", two, reading.Asked{}},
		{"measurement is the value where function says which", "Point;Function;Measurement\nCP1;R1+R2;0,13\nsupply;Ze;0,2\n", two, reading.Asked{}},
		{"units column", "place,test function,value,units\nCP1,R1+R2,130,mOhm\nsupply,Ze,0.2,Ohms\n", "CP1 R1+R2 130 mOhm\nsupply Ze 0.2 Ohms", reading.Asked{}},
		{"unit in the heading", "at,reading,Result (mΩ)\nCP1,R1+R2,130\nsupply,Ze,200\n", "CP1 R1+R2 130 mΩ\nsupply Ze 200 mΩ", reading.Asked{}},
		{"UTF-16 of tabs", inUTF16("Place\tTest\tResult\r\nCP1\tR1+R2\t0,13\r\nsupply\tZe\t0,2\r\n"), two, reading.Asked{}},
		{"mark and bars", "\ufeffplace|test|result\nCP1|R1+R2|0.13\nsupply|Ze|0.2\n", two, reading.Asked{}},
		{"separator said", "sep=;\nplace;test;result\nCP1;R1+R2;0,13\nsupply;Ze;0,2\n", two, reading.Asked{}},
		{"decimal comma in quotes", "place,test,result\nCP1,R1+R2,\"0,13\"\nsupply,Ze,\"0,2\"\n", two, reading.Asked{}},
		{"three places after a comma, where others are sure", "place;test;result\nCP1;R1+R2;0,130\nsupply;Ze;1,205\n", "CP1 R1+R2 0.130 Ω\nsupply Ze 1.205 Ω", reading.Asked{}},
		{"capitals and small letters", "PLACE,TEST,RESULT\ncp1,r1+r2,0.13\nSUPPLY,ZE,0.2\n", two, reading.Asked{}},
		{"the origin by other words", "place,test,result\nCP1,R1+R2,0.13\nOrigin,Ze,0.2\n", two, reading.Asked{}},
		{"titles above", "Site readings\nInvented bakery,yard\n\nplace,test,result\nCP1,R1+R2,0.13\nsupply,Ze,0.2\n",
			two + "\nabove the headings, not taken: Site readings\nabove the headings, not taken: Invented bakery yard", reading.Asked{}},
		{"a named column", "Where is it,What,Shown,C,Zeroed\nCP1,R1+R2,0.13 Ω,12,yes\n,,,,\nsupply,Ze,0.2 Ω,,\n",
			"CP1 R1+R2 0.13 Ω | nulled true | 12 °C\nsupply Ze 0.2 Ω", reading.Asked{Columns: map[string]string{"at": "Where is it", "temperature": "C"}}},
		{"how and who and when", "circuit,test,result,method,meter,tester,time,remarks\nCP1,Zs,0.37,no trip,tester 1,A. Spark,24/11/2026 11:20,in the rain\n",
			"CP1 Zs 0.37 Ω | no trip | tester 1 | A. Spark | 2026-11-24 11:20 | in the rain", reading.Asked{}},
		{"date and time apart", "circuit,test,result,date,time\nCP1,Zs,0.37,24/11/2026,11:20\n", "CP1 Zs 0.37 Ω | 2026-11-24 11:20", reading.Asked{}},
		{"a date alone", "circuit,test,result,test date\nCP1,Zs,0.37,24.11.2026\n", "CP1 Zs 0.37 Ω | 2026-11-24", reading.Asked{}},
		{"how it was taken in the name of it", "circuit,test,result\nCP1,Zs no trip,0.37\nCP1,IR L-E 500 V,>999\nCP1,RCD x1 180°,19\n",
			"CP1 Zs 0.37 Ω | no trip\nCP1 insulation live to earth > 999 MΩ | 500 v\nCP1 RCD time at IΔn 19 ms | 180°", reading.Asked{}},
		{"between and multiples in columns of their own", "circuit,test,conductors,multiple,test voltage,result\nCP1,insulation,L-N,,500,999+\nCP1,insulation,L/E,,500,200\nCP1,RCD,,5,,12\nCP1,RCD,,½x,,did not trip\n",
			"CP1 insulation between live > 999 MΩ | 500 V\nCP1 insulation live to earth 200 MΩ | 500 V\nCP1 RCD time at 5 IΔn 12 ms\nCP1 RCD at half IΔn did not trip", reading.Asked{}},
		{"other columns are kept", "No,circuit,test,result,Pass/Fail,Limit (Ω)\n7,CP1,Zs,0.37,Pass,0.68\n", "CP1 Zs 0.37 Ω | No: 7; Pass/Fail: Pass; Limit (Ω): 0.68", reading.Asked{}},
		{"words for a number", "circuit,test,result\nCP1,RCD time,did not trip\nCP1,R2,LIM\nCP1,R1+R2,OL\nCP1,R1+Rn,open circuit\nCP1,polarity,✓\nCP1,test button,Y\nCP1,rcd half,>999 ms\n",
			"CP1 RCD time at IΔn did not trip\nCP1 R2 LIM\nCP1 R1+R2 OL\nCP1 R1+Rn open circuit\nCP1 polarity ✓\nCP1 RCD test button Y\nCP1 RCD at half IΔn > 999 ms", reading.Asked{}},
		{"off the top", "circuit,test,result,unit\nCP1,ir,999+,MΩ\nCP1,ir,999 MΩ+,\nCP1,ir,>999,megohm\nCP1,ir,≥ 500 MΩ,MΩ\nCP1,ir,more than 200,MΩ\nCP1,ir,>1 GΩ,\n",
			"CP1 insulation live to earth > 999 MΩ\nCP1 insulation live to earth > 999 MΩ\nCP1 insulation live to earth > 999 megohm\n" +
				"CP1 insulation live to earth ≥ 500 MΩ\nCP1 insulation live to earth more than 200 MΩ\nCP1 insulation live to earth > 1 GΩ", reading.Asked{}},
		{"case of a unit lost", "circuit,test,result,unit\nCP1,IR,200,MOHM\nCP1,R1+R2,130,mohm\n", "CP1 insulation live to earth 200 MΩ\nCP1 R1+R2 130 mΩ", reading.Asked{}},

		{"a circuit a row", "Circuit,R1+R2 (Ω),IR L-E (MΩ),Zs (Ω),RCD x1 (ms)\nvan point,0.13,999+,0.35,19\n", row, reading.Asked{}},
		{"a circuit a row by its way", "Way,Description,R1+R2 (Ω),Insulation L-E [MΩ],Zs / Ω,Trip time ms\n3,EV,0.13,>999,0.35,19\n",
			strings.ReplaceAll(row, "\n", " | EV\n") + " | EV", reading.Asked{}},
		{"a number and a name", "Circuit,Description,R1+R2,IR L-E,Zs,Trip time\n3,Van Point,0.13,999+,0.35,19\n", row, reading.Asked{}},
		{"headings of two rows", "Circuit,Continuity,,Insulation,,Loop,RCD\n,R1+R2,R2,L-E,L-N,Zs,Trip time\nvan point,0.13,,999+,,0.35,19\n", row, reading.Asked{}},
		{"a row of units", "Circuit,R1+R2,IR L-E,Zs,RCD x1\n,Ω,MΩ,Ω,ms\nvan point,0.13,999+,0.35,19\n", row, reading.Asked{}},
		{"rows with nothing read", "Circuit,R1+R2,IR L-E,Zs,RCD x1\nvan point,0.13,999+,0.35,19\nspare,,,,\n", row + "\nline 3: no reading stands in it: spare", reading.Asked{}},
		{"dashes are no readings, a limitation is one", "Circuit,R1+R2,IR L-E,Zs\nvan point,-,LIM,—\n", "van point insulation live to earth LIM", reading.Asked{}},
		{"not applicable is no reading, and told", "Circuit,Zs,RCD x1\nvan point,0.35,N/A\n", "van point Zs 0.35 Ω\nline 2: no reading stands in it under RCD x1: N/A", reading.Asked{}},
		{"ticks in a row", "Circuit,Zs,Polarity,Test button,Max Zs (Ω)\nvan point,0.35,✓,✓,0.68\n",
			"van point Zs 0.35 Ω | Max Zs (Ω): 0.68\nvan point polarity ✓\nvan point RCD test button ✓", reading.Asked{}},
		{"a column said to be a reading", "Circuit,Continuity test 3\nvan point,0.13\n", "van point R1+R2 0.13 Ω",
			reading.Asked{Columns: map[string]string{"R1+R2": "Continuity test 3"}}},
		{"what is of no reading into the note", "Circuit,Zx (Ω),Zs\nvan point,7,0.35\n", "van point Zs 0.35 Ω | Zx (Ω): 7", reading.Asked{Rest: true}},

		{"nothing", "", "refused: t.csv:1: a line of headings is wanted", reading.Asked{}},
		{"no value", "at,reading\nCP1,Zs\n", `refused: no column is headed "value"`, reading.Asked{}},
		{"no place", "reading,value\nZs,0.3\n", `refused: no column is headed "at"`, reading.Asked{}},
		{"an unknown function", "circuit,test,result\nCP1,Zss,0.3\n", `refused: t.csv:2: test is "Zss": no reading has that name; the nearest is Zs`, reading.Asked{}},
		{"an unknown function by another word", "circuit,test,result\nCP1,trip tme,19\n", "the nearest is RCD time at IΔn", reading.Asked{}},
		{"an unknown column", "circuit,Zss (Ω),R1+R2\nCP1,0.3,0.13\n", `refused: t.csv:1: heading is "Zss (Ω)": no reading is called so; the nearest is Zs`, reading.Asked{}},
		{"cells without a heading", "circuit,Zs,\nCP1,0.3,7\n", "refused: t.csv:1: heading: column 3 has cells and no heading", reading.Asked{}},
		{"one reading headed twice", "circuit,Zs,earth loop\nCP1,0.3,0.3\n", "earth loop\": Zs is headed Zs already", reading.Asked{}},
		{"an unknown way of taking it", "circuit,test,result,method\nCP1,Zs,0.3,no trap\n", `refused: t.csv:2: method is "no trap"`, reading.Asked{}},
		{"an unknown place", "circuit,test,result\nCP7,Zs,0.3\n", `refused: t.csv:2: circuit is "CP7": nothing has that name; the nearest is CP1`, reading.Asked{}},
		{"no place in a row", "circuit,Zs\n,0.3\n", "refused: t.csv:2: circuit: where it was read is wanted", reading.Asked{}},
		{"an unknown way of the board", "way,Zs\n77,0.3\n", `refused: t.csv:2: way is "77": no circuit of the job is at that way; there are`, reading.Asked{}},
		{"way and name of two circuits", "way,circuit,Zs\n5,van point,0.3\n", `refused: t.csv:2: way is "5": that way is`, reading.Asked{}},
		{"not read there", "circuit,Ze\nCP1,0.3\n", `refused: t.csv:2: Ze is "0.3": Ze is not read at CP1`, reading.Asked{}},
		{"another unit", "circuit,test,result,unit\nCP1,Zs,0.3,A\n", `refused: t.csv:2: result is "0.3": Zs: is a current in amperes`, reading.Asked{}},
		{"unit of cell against unit of column", "circuit,test,result,unit\nCP1,Zs,300 mΩ,Ω\n", "is in mΩ here and in Ω by its column", reading.Asked{}},
		{"no such unit", "circuit,test,result,unit\nCP1,Zs,0.3,oms\n", `has the unit "oms"`, reading.Asked{}},
		{"two figures", "circuit,Zs\nCP1,0.3 0.4\n", `refused: t.csv:2: Zs is "0.3 0.4"`, reading.Asked{}},
		{"two points", "circuit,Zs\nCP1,0.3.4\n", `refused: t.csv:2: Zs is "0.3.4": Zs: two people read`, reading.Asked{}},
		{"1,234 two ways", "circuit,Zs\nCP1,\"1,234\"\n", "two people read that figure two ways", reading.Asked{}},
		{"1,234 beside a point", "circuit;Zs;R2\nCP1;1,234;0.3\n", "two people read that figure two ways", reading.Asked{}},
		{"a comma that parted the figure", "circuit,test,result,remark\nCP1,Zs,0,35\n", "is it 0,35, parted at its comma?", reading.Asked{}},
		{"commas that parted the figures", "circuit,test,result\nCP1,Zs,0,35\n", "refused: t.csv:2: line: it has 4 fields and the head has 3", reading.Asked{}},
		{"a word that is no value", "circuit,Zs,polarity\nCP1,good,0.3\n", `t.csv:2: Zs is "good"|t.csv:2: polarity is "0.3"`, reading.Asked{}},
		{"a tick for a number", "circuit,Zs\nCP1,✓\n", `refused: t.csv:2: Zs is "✓": Zs: has no number`, reading.Asked{}},
		{"below zero", "circuit,Zs\nCP1,-0.3\n", "is below zero", reading.Asked{}},
		{"more than can be shown", "circuit,Zs (MΩ)\nCP1,0.3\n", "more than any such instrument shows", reading.Asked{}},
		{"a spreadsheet's fault", "circuit,Zs\nCP1,#VALUE!\n", `refused: t.csv:2: Zs is "#VALUE!"`, reading.Asked{}},
		{"no date", "circuit,Zs,date\nCP1,0.3,31/11/2026\n", `refused: t.csv:2: date is "31/11/2026": a date is wanted`, reading.Asked{}},
		{"no temperature", "at,reading,value,temperature\nCP1,Zs,0.3,warm\n", `t.csv:2: temperature is "warm"`, reading.Asked{}},
		{"neither nulled nor not", "at,reading,value,leads nulled\nCP1,Zs,0.3,perhaps\n", `t.csv:2: leads nulled is "perhaps"`, reading.Asked{}},
		{"another instrument", "at,reading,value,meter\nCP1,Zs,0.3,tester 9\n", `t.csv:2: meter is "tester 9": no instrument of the job is called so; the nearest is tester 1`, reading.Asked{}},
		{"person or instrument", "at,reading,value,tester\nCP1,Zs,0.3,x\n", `heading is "tester": the instrument, or the person?`, reading.Asked{}},
		{"a quote not closed", "at,reading,value\n\"CP1,Zs\n", "t.csv:2: line: a quote is opened and not closed", reading.Asked{}},
		{"every fault at once", "circuit,Zs,R2\nCP7,0.3,\nCP1,lots,0.2\nCP1,0.3,some\n", "t.csv:2: circuit|t.csv:3: Zs|t.csv:4: R2", reading.Asked{}},
		{"a column named that is not there", "at,reading,value\nCP1,Zs,1\n", "no column is headed so for the at", reading.Asked{Columns: map[string]string{"at": "Place"}}},
		{"a field that is none", "at,reading,value\nCP1,Zs,1\n", "the nearest is value", reading.Asked{Columns: map[string]string{"vale": "value"}}},
	} {
		t.Run(tt.shape, func(t *testing.T) {
			got := tableOf(t, tt.text, tt.asked)
			if strings.HasPrefix(tt.want, "CP1") || strings.HasPrefix(tt.want, "van point") {
				if got != tt.want {
					t.Errorf("read as\n%s\nwant\n%s", got, tt.want)
				}
				return
			}
			for want := range strings.SplitSeq(tt.want, "|") {
				if !strings.Contains(got, want) {
					t.Errorf("read as %q, want %q in it", got, want)
				}
			}
		})
	}
}

// TestGarbledTables: a table whose cells are garbled one after the other is
// read as before but for that cell, or refused by its line; never short of a
// reading.
func TestGarbledTables(t *testing.T) {
	m := modelOf(t, example(t, "bakery/job.yaml"))
	rows := [][]string{{"Circuit", "R1+R2 (Ω)", "IR L-E (MΩ)", "Polarity", "Zs (Ω)", "RCD x1 (ms)", "Remarks"},
		{"van point", "0.13", "999+", "✓", "0.35", "19", "dry"}, {"yard sub-main", "0.07", "200", "✓", "0.27", "", ""}}
	garbles := []string{"?", "0..3", "0,3,5", "1,234", "Ω", "--3", "O.35", "l9", "NaN", "1e400", "\u0000", "0.3\t", "±5", "> ", "<>1", "999++", "=A1+B2", "'0.3", "0.35Ω0.4", "∞∞", "no trip no"}
	read, refused := 0, 0
	for i := range rows[1:] {
		for k := range rows[0] {
			for _, g := range garbles {
				was := rows[i+1][k]
				rows[i+1][k] = g
				var text strings.Builder
				for _, r := range rows {
					text.WriteString("\"" + strings.Join(r, "\",\"") + "\"\n")
				}
				rows[i+1][k] = was
				rs, told, err := ReadTable(m, "t.csv", strings.NewReader(text.String()), reading.Asked{})
				line := fmt.Sprintf("t.csv:%d: ", i+2)
				switch {
				case err != nil && !strings.Contains(err.Error(), line):
					t.Errorf("%q for %q: refused without %s: %v", g, was, line, err)
				case err != nil:
					refused++
				default:
					read++
					want := 9
					if k > 0 && k < 6 && was == "" {
						want++
					}
					if want -= len(told); len(rs) != want || len(told) > 0 && g != "?" {
						t.Errorf("%q for %q: %d readings, want %d; told %v", g, was, len(rs), want, told)
					}
				}
			}
		}
	}
	if read == 0 || refused < 100 {
		t.Errorf("%d read and %d refused", read, refused)
	}
}

// FuzzTable: whatever the bytes, nothing panics; each row that holds anything is
// a reading, is told to be none, or the table is refused; and a reading that is
// taken can be written down.
func FuzzTable(f *testing.F) {
	m := modelOf(f, example(f, "bakery/job.yaml"))
	for _, s := range []string{"at,reading,value\nCP1,Zs,0.3\n", "Circuit;Zs (Ω);R2\nvan point;0,35;999+\n", "way|Polarity\n5|✓\n", "x,RCD\n,x1\nCP1,19 ms\n"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		rs, told, err := ReadTable(m, "fuzz", strings.NewReader(text), reading.Asked{})
		if err != nil {
			return
		}
		whole, err := sheet.Open("fuzz", strings.NewReader(text), sheet.Bounds{}, nil)
		for lines := 0; err == nil && whole.Next(); lines++ {
			if lines > 3+len(rs)+len(told) { // a separator, two rows of headings, one of units
				t.Fatalf("%q: %d readings and %q, and more rows than that", text, len(rs), told)
			}
		}
		for _, r := range rs {
			if again, err := Admit(m, r); err != nil || again.Value != r.Value {
				t.Fatalf("%+v cannot be written down again: %v", r, err)
			}
		}
	})
}
