package ledger

import (
	"bytes"
	"fmt"
	"math/rand"
	"os/exec"
	"strings"
	"testing"

	"chargewright/sheet"
)

// TestSumsAgreeWithSQL reckons sums of money a second time in SQL, in an
// independent program (sqlite3): bands from a calendar made in SQL, energy
// shared out over them, costs rounded once, VAT on each. Every amount must be
// the same to the hundredth of a penny.
func TestSumsAgreeWithSQL(t *testing.T) {
	sql, err := exec.LookPath("sqlite3")
	if err != nil {
		if testing.Short() {
			t.Skip("sqlite3 is not installed")
		}
		t.Fatal("sqlite3 is not installed: apt-get install sqlite3, or run test.sh, which installs it")
	}
	const sessions = 3000
	random := rand.New(rand.NewSource(1))
	var table, rows strings.Builder
	table.WriteString("session,start,stop,energy kWh,person\n")
	rows.WriteString("CREATE TABLE session (start INT, stop INT, energy INT, person TEXT); BEGIN;\n")
	from := int64(1_772_323_200) // 1 March 2026, so that both clock changes are in it
	for i := range sessions {
		start := from + random.Int63n(270*86400)
		stop := start + 60 + random.Int63n(40*3600)
		energy := random.Int63n(60_000_000)
		person := fmt.Sprintf("p%d", random.Intn(7))
		fmt.Fprintf(&table, "%d,%s,%s,%s,%s\n", i, utcText(start), utcText(stop), Energy(energy).Exact(), person)
		fmt.Fprintf(&rows, "INSERT INTO session VALUES (%d, %d, %d, '%s');\n", start, stop, energy, person)
	}
	rows.WriteString("COMMIT;\n")
	for _, tt := range []struct {
		name, tariff, calendar string
		withVAT                bool
	}{
		{"flat, VAT added", "what,value,unit\nenergy,24.3617,p/kWh\nVAT,20,%\n", "SELECT 0, 4102444800, 243617", false},
		{"day and night by a UTC meter, VAT within", "what,band,from,to,clock,value,unit\nenergy,night,00:30,07:30,UTC,9.0875,p/kWh with VAT\nenergy,day,07:30,00:30,UTC,31.9,p/kWh with VAT\nVAT,,,,,5,%\n",
			"SELECT d * 86400 + 1800, d * 86400 + 27000, 90875 FROM day UNION ALL SELECT d * 86400 + 27000, d * 86400 + 88200, 319000 FROM day", true},
		{"another night at weekends", "what,band,days,from,to,clock,value,unit\nenergy,night,Mon-Fri,00:00,06:00,UTC,11.11,p/kWh\nenergy,day,Mon-Fri,06:00,24:00,UTC,28.3,p/kWh\nenergy,weekend,Sat-Sun,,,UTC,17.777,p/kWh\nVAT,,,,,,12.5,%\n",
			`SELECT d * 86400, d * 86400 + 21600, 111100 FROM day WHERE strftime('%w', d * 86400, 'unixepoch') BETWEEN '1' AND '5'
UNION ALL SELECT d * 86400 + 21600, d * 86400 + 86400, 283000 FROM day WHERE strftime('%w', d * 86400, 'unixepoch') BETWEEN '1' AND '5'
UNION ALL SELECT d * 86400, d * 86400 + 86400, 177770 FROM day WHERE strftime('%w', d * 86400, 'unixepoch') IN ('0', '6')`, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			vat := map[string]string{"flat, VAT added": "2000", "day and night by a UTC meter, VAT within": "500", "another night at weekends": "1250"}[tt.name]
			tax := "(cost * " + vat + " + 5000) / 10000"
			if tt.withVAT {
				tax = "(2 * cost * " + vat + " + 10000 + " + vat + ") / (2 * (10000 + " + vat + "))"
			}
			script := rows.String() + `CREATE TABLE price (a INT, b INT, p INT);
INSERT INTO price WITH RECURSIVE day(d) AS (SELECT ` + fmt.Sprint(from/86400-3) + ` UNION ALL SELECT d + 1 FROM day WHERE d < ` + fmt.Sprint(from/86400+290) + `) ` + tt.calendar + `;
CREATE INDEX price_a ON price (a);
WITH part AS (
  SELECT s.rowid AS n, p.p AS p,
    ((2 * s.energy * (min(p.b, s.stop) - s.start) + (s.stop - s.start)) / (2 * (s.stop - s.start)))
    - ((2 * s.energy * (max(p.a, s.start) - s.start) + (s.stop - s.start)) / (2 * (s.stop - s.start))) AS e
  FROM session s JOIN price p ON p.a < s.stop AND p.b > s.start AND p.a > s.start - 4102444800),
one AS (SELECT n, (sum(e * p) + 50000000) / 100000000 AS cost, sum(e) AS energy FROM part GROUP BY n)
SELECT strftime('%Y-%m', s.start, 'unixepoch') AS month, s.person, count(*), sum(one.energy), sum(cost), sum(` + tax + `)
FROM one JOIN session s ON s.rowid = one.n GROUP BY 1, 2 ORDER BY 1, 2;`
			cmd := exec.Command(sql, "-batch", ":memory:")
			cmd.Stdin = strings.NewReader(script)
			var out, failed bytes.Buffer
			cmd.Stdout, cmd.Stderr = &out, &failed
			if err := cmd.Run(); err != nil {
				t.Fatalf("sqlite3: %v: %s", err, &failed)
			}
			l := read(t, Settings{Zone: zone(t, "UTC")}, table.String())
			st, err := l.Statement(wanted{By: []Key{ByMonth, ByPerson}, Tariff: tariff(t, tt.tariff)})
			if err != nil {
				t.Fatal(err)
			}
			var ours strings.Builder
			for _, line := range st.Lines {
				fmt.Fprintf(&ours, "%s|%s|%d|%d|%d|%d\n", line.Keys[0], line.Keys[1], line.Sessions, line.Energy, line.Cost, line.VAT)
			}
			if st.Total.Sessions != sessions || st.Total.Unpriced > 0 {
				t.Fatalf("%d sessions, %d not priced", st.Total.Sessions, st.Total.Unpriced)
			}
			if ours.String() != out.String() {
				t.Errorf("sums differ\nours\n%s\nSQL\n%s", ours.String()[:300], out.String()[:300])
			}
		})
	}
}

func utcText(instant int64) string {
	w := sheet.Civil(instant)
	s := int64(w) - w.Day()*86400
	return fmt.Sprintf("%sT%02d:%02d:%02dZ", dayText(w.Day()), s/3600, s/60%60, s%60)
}
