package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"
	_ "time/tzdata" // so that every zone is known wherever this runs
	"unicode/utf8"

	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/ledger"
	"chargewright/paper"
	"chargewright/quantity"
)

type ledgerCmd struct {
	Files       []string `arg:"" name:"file" help:"Charging records: tables of sessions (CSV), or messages between points and their central system (OCPP, a JSON value a line)."`
	Tariff      string   `help:"What electricity costs (CSV)."`
	By          string   `default:"month" help:"What the statement is made out by, up to four of month, day, point, vehicle, card, person, cost centre; like month,person."`
	Then        string   `help:"What if: another tariff (CSV)."`
	Schedule    string   `help:"What if: when charging is let run, like 23:00-07:00 or Mon-Fri 23:00-07:00."`
	Only        []string `sep:"none" help:"Only some sessions, like person=A. Driver; may be repeated."`
	From        string   `help:"First day, like 2026-11-01."`
	To          string   `help:"Last day."`
	Zone        string   `default:"Europe/London" help:"Time zone of the site."`
	Column      []string `sep:"none" help:"Which column says what, like energy=El_kWh; may be repeated."`
	Unit        string   `help:"Unit of energies that name none: kWh or Wh."`
	MonthFirst  bool     `help:"Dates are written month/day/year."`
	Point       string   `help:"Name of the point, for records that name none."`
	Job         string   `help:"Job file with the ratings of the points; job.yaml beside the first record, if it is there."`
	Rating      []string `sep:"none" help:"Rated power of a point, like CP1=7.4kW, or of all others, like 7.4kW; may be repeated."`
	Cards       string   `help:"Who holds which card (CSV)."`
	CO2         string   `name:"co2" help:"CO2 factors (CSV)."`
	Surplus     string   `help:"What the site's own generation left over, by half-hour (CSV)."`
	Journeys    string   `help:"Journeys on business (CSV), to be paid back by the mile."`
	Mileage     string   `help:"What is paid back a mile, by date (CSV)."`
	Economy     string   `help:"Miles per kWh of the vehicle, like 3.5: also say what the energy of the miles costs at the tariff."`
	SiteMeter   string   `help:"Readings of the meter that feeds the points (CSV)."`
	Inspections string   `help:"What is due again and again (CSV)."`
	Out         string   `short:"o" default:"out" help:"Folder to write the statement into."`
	Date        string   `help:"Date of the statement, like 2026-11-25; now if left out."`
	JSON        bool     `name:"json" help:"Print the statement as JSON, and write nothing."`
	All         bool     `help:"Print every note, not the first of each kind alone."`
}

// Run reads the records, prints the statement and writes it. It exits 3 while
// a session is doubtful or not priced.
func (c *ledgerCmd) Run(out io.Writer) error {
	l, wanted, said, err := c.read()
	if err != nil {
		return err
	}
	r := ledger.Report{Made: l.Made.Format(time.RFC3339), Invented: said.invented}
	if r.Statement, err = l.Statement(wanted); err != nil {
		return err
	}
	if c.Then != "" || c.Schedule != "" {
		if r.Compared, err = c.compare(l, wanted); err != nil {
			return err
		}
	}
	if c.Journeys != "" || c.Mileage != "" {
		if r.Claim, r.AtHome, err = c.claim(wanted.Tariff); err != nil {
			return err
		}
	}
	if r.Findings, err = c.findings(l); err != nil {
		return err
	}
	r.Take(l)
	if c.JSON {
		if err := writeJSON(out, r); err != nil {
			return err
		}
	} else {
		c.print(out, r, said)
		if err := c.pack(out, l, wanted, r, said); err != nil {
			return err
		}
	}
	if code := ledgerCode(r); code != exitMet {
		return outcome{code}
	}
	return nil
}

// ledgerCode is how the verb ends.
func ledgerCode(r ledger.Report) int {
	code := finding.Summarise(r.Findings).ExitCode()
	if code == exitFails {
		return code
	}
	for _, t := range r.Records {
		if t.Doubted > 0 || t.Faulty > 0 {
			code = exitOpen
		}
	}
	if t := r.Statement.Total; t.Unpriced > 0 || t.NoFactor > 0 || r.Claim != nil && len(r.Claim.Unrated) > 0 {
		code = exitOpen
	}
	return code
}

// about is what is known besides the ledger.
type about struct {
	place    string
	invented bool
	ratings  string // where the ratings come from
}

// read reads everything the command names.
func (c *ledgerCmd) read() (*ledger.Ledger, ledger.Wanted, about, error) {
	var w ledger.Wanted
	var a about
	fail := func(err error) (*ledger.Ledger, ledger.Wanted, about, error) { return nil, w, a, err }
	s := ledger.Settings{Made: time.Now(), Unit: c.Unit, Point: c.Point, MonthFirst: c.MonthFirst, Columns: map[string]string{}, Ratings: map[string]ledger.Rating{}}
	var err error
	if s.Zone, err = time.LoadLocation(c.Zone); err != nil || c.Zone == "" || c.Zone == "Local" {
		return fail(fmt.Errorf("--zone is %q: the name of a time zone is wanted, like Europe/London or Europe/Oslo", c.Zone))
	}
	if c.Date != "" {
		if s.Made, err = time.ParseInLocation(time.DateOnly, c.Date, s.Zone); err != nil {
			return fail(fmt.Errorf("--date is %q: write year, month and day, like 2026-11-25", c.Date))
		}
		s.Made = s.Made.Add(24*time.Hour - time.Minute) // all of that day may have been charged
	}
	for _, one := range c.Column {
		field, name, ok := strings.Cut(one, "=")
		known := false
		for _, f := range ledger.FieldNames() {
			known = known || f == field
		}
		if !ok || !known {
			return fail(fmt.Errorf("--column is %q: write what it says, an equals sign and the column's name, like energy=El_kWh; what can be said is %s", one, strings.Join(ledger.FieldNames(), ", ")))
		}
		s.Columns[field] = name
	}
	if a, err = c.ratings(&s); err != nil {
		return fail(err)
	}
	if s.Cards, err = data(c.Cards, ledger.ReadCards); err != nil {
		return fail(err)
	}
	if w.By, err = ledger.ReadKeys(c.By); err != nil {
		return fail(fmt.Errorf("--by: %w", err))
	}
	for _, one := range c.Only {
		o, err := ledger.ReadSelected(one)
		if err != nil {
			return fail(fmt.Errorf("--only: %w", err))
		}
		w.Only = append(w.Only, o)
	}
	for _, one := range []struct {
		text, flag string
		to         *int64
	}{{c.From, "--from", &w.From}, {c.To, "--to", &w.To}} {
		if one.text == "" {
			continue
		}
		if *one.to, err = ledger.ReadDay(one.text); err != nil {
			return fail(fmt.Errorf("%s: %w", one.flag, err))
		}
	}
	if w.Tariff, err = data(c.Tariff, tariffNamed(c.Tariff)); err != nil {
		return fail(err)
	}
	if w.Factors, err = data(c.CO2, ledger.ReadFactors); err != nil {
		return fail(err)
	}
	l := ledger.New(s)
	if w.Surplus, err = data(c.Surplus, func(file string, r io.Reader) (*ledger.Surplus, error) {
		return ledger.ReadSurplus(file, r, l.Settings)
	}); err != nil {
		return fail(err)
	}
	var unusable error
	for _, file := range c.Files {
		if err := record(l, file); err != nil {
			unusable = joinLines(unusable, err)
		}
	}
	l.Settle()
	return l, w, a, unusable
}

// record reads one record into the ledger.
func record(l *ledger.Ledger, file string) error {
	f, err := os.Open(file)
	if err != nil {
		return fmt.Errorf("cannot read the charging record: %w", err)
	}
	defer f.Close()
	return l.ReadRecord(file, f)
}

// data reads one table of data; no file is none.
func data[T any](file string, read func(string, io.Reader) (T, error)) (T, error) {
	var none T
	if file == "" {
		return none, nil
	}
	f, err := os.Open(file)
	if err != nil {
		return none, fmt.Errorf("cannot read the data: %w", err)
	}
	defer f.Close()
	return read(file, f)
}

func tariffNamed(file string) func(string, io.Reader) (*ledger.Tariff, error) {
	name := strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))
	return func(file string, r io.Reader) (*ledger.Tariff, error) { return ledger.ReadTariff(file, name, r) }
}

// ratings takes the rated powers from the job file and the command.
func (c *ledgerCmd) ratings(s *ledger.Settings) (about, error) {
	a := about{place: strings.Join(c.Files, ", ")}
	file := c.Job
	if beside := filepath.Join(filepath.Dir(c.Files[0]), "job.yaml"); file == "" {
		if _, err := os.Stat(beside); err == nil {
			file = beside
		}
	}
	if file != "" {
		text, err := os.ReadFile(file)
		if err != nil {
			return a, fmt.Errorf("cannot read the job file: %w", err)
		}
		j, err := job.Read(file, text)
		if err != nil {
			return a, err
		}
		a.place, a.invented, a.ratings = j.Name, j.Invented, file
		for _, p := range j.Points {
			if power, known := p.Power.Get(); known {
				s.Ratings[p.Name] = ledger.Rating(power)
			}
		}
	}
	for _, one := range c.Rating {
		point, text, named := strings.Cut(one, "=")
		if !named {
			point, text = "", one
		}
		power, err := quantity.ParseWatts(text)
		if err != nil || power < 1 || power > 1e6 {
			return a, fmt.Errorf("--rating is %q: the point's name, an equals sign and its rated power are wanted, like CP1=7.4kW", one)
		}
		s.Ratings[point] = ledger.Rating(power)
	}
	return a, nil
}

func (c *ledgerCmd) compare(l *ledger.Ledger, w ledger.Wanted) (*ledger.Comparison, error) {
	then, err := data(c.Then, tariffNamed(c.Then))
	if err != nil {
		return nil, err
	}
	var schedule *ledger.Schedule
	if c.Schedule != "" {
		if schedule, err = ledger.ReadSchedule(c.Schedule); err != nil {
			return nil, err
		}
	}
	return l.Compare(w, then, schedule)
}

func (c *ledgerCmd) claim(t *ledger.Tariff) (*ledger.MileageClaim, *ledger.AtHome, error) {
	if c.Journeys == "" || c.Mileage == "" {
		return nil, nil, errors.New("a claim by the mile takes both: --journeys with the miles and --mileage with what is paid back a mile")
	}
	journeys, err := data(c.Journeys, ledger.ReadJourneys)
	if err != nil {
		return nil, nil, err
	}
	rates, err := data(c.Mileage, ledger.ReadMileageRates)
	if err != nil {
		return nil, nil, err
	}
	claim := rates.Claim(c.Journeys, journeys)
	if c.Economy == "" {
		return &claim, nil, nil
	}
	economy, err := ledger.ReadEconomy(c.Economy)
	if err == nil && t == nil {
		err = errors.New("what the energy of the miles costs takes a tariff: --tariff")
	}
	if err != nil {
		return nil, nil, fmt.Errorf("--economy: %w", err)
	}
	home := t.AtHome(journeys, economy)
	return &claim, &home, nil
}

// findings is what to look at on the next visit.
func (c *ledgerCmd) findings(l *ledger.Ledger) ([]finding.Finding, error) {
	out := l.Health()
	meter, err := data(c.SiteMeter, func(file string, r io.Reader) (*ledger.SiteMeter, error) {
		return ledger.ReadSiteMeter(file, r, l.Settings)
	})
	if err != nil {
		return nil, err
	}
	if meter != nil {
		out = append(out, l.Drift(meter)...)
	}
	due, err := data(c.Inspections, ledger.ReadInspections)
	if err != nil {
		return nil, err
	}
	if due != nil {
		out = append(out, due.Due(l.Today(l.Made))...)
	}
	return out, nil
}

// mostSessions is how many sessions are set on paper one by one.
const mostSessions = 200

// mostNotes is how many notes of a kind are printed, and set on paper.
const mostNotes = 40

func (c *ledgerCmd) print(out io.Writer, r ledger.Report, a about) {
	title := a.place
	if a.invented {
		title += " · invented"
	}
	st := r.Statement
	fmt.Fprintln(out, title)
	if st.From != "" {
		fmt.Fprintf(out, "sessions %s to %s · %s", st.From, st.To, st.Zone)
		if st.Tariff != "" {
			fmt.Fprintf(out, " · tariff %s", st.Tariff)
		}
		fmt.Fprintln(out)
	}
	fmt.Fprintln(out)
	form := st.Form()
	printForm(out, form)
	for _, b := range form.Below {
		fmt.Fprintf(out, "  %s: %s\n", b[0], b[1])
	}
	if r.Claim != nil {
		fmt.Fprintln(out, "\npaid back by the mile")
		for _, line := range r.Claim.Lines {
			fmt.Fprintln(out, wrap("  ", fmt.Sprintf("%s, %s: %s miles at %s: %s", line.Person, line.Vehicle, line.MilesText(), line.Rate, line.Amount), 4))
		}
		fmt.Fprintf(out, "  claim: %s\n", r.Claim.Total)
		for _, u := range r.Claim.Unrated {
			fmt.Fprintln(out, wrap("  ? not known: ", u, 4))
		}
		if r.AtHome != nil {
			for _, line := range r.AtHome.Lines() {
				fmt.Fprintln(out, wrap("  ", line, 4))
			}
		}
	}
	if r.Compared != nil {
		fmt.Fprintln(out, "\nwhat if: "+r.Compared.Heading())
		for _, f := range r.Compared.Facts() {
			fmt.Fprintf(out, "  %-34s %s\n", f[0], f[1])
		}
	}
	fmt.Fprintln(out, "\nwhere every line went")
	for _, t := range r.Records {
		fmt.Fprintln(out, wrap("  ", t.String(), 4))
	}
	for _, k := range []ledger.Kind{ledger.Faulty, ledger.Doubted, ledger.SaidTwice, ledger.Corrected, ledger.Noticed} {
		printed, left := 0, 0
		for _, n := range r.Notes {
			if n.Kind != k {
				continue
			}
			if printed == mostNotes && !c.All {
				left++
				continue
			}
			if printed == 0 {
				fmt.Fprintln(out, "\n"+k.String())
			}
			fmt.Fprintln(out, wrap("  ", n.String(), 4))
			printed++
		}
		if left > 0 {
			fmt.Fprintf(out, "  and %d more: --all prints them, notes.csv holds them\n", left)
		}
	}
	fmt.Fprintln(out, "\nfor the next visit")
	ordered := append([]finding.Finding(nil), r.Findings...)
	finding.ByUrgency(ordered)
	for _, f := range ordered {
		fmt.Fprintf(out, "%s %s\n", marks[f.Verdict], f.Verdict)
		printFinding(out, f)
	}
	fmt.Fprintln(out)
	for _, rule := range st.Rules {
		fmt.Fprintln(out, wrap("reckoned: ", rule, 4))
	}
	if a.ratings != "" {
		fmt.Fprintf(out, "ratings of the points: %s\n", a.ratings)
	}
	for _, s := range st.Sources {
		fmt.Fprintln(out, wrap("source: ", s, 4))
	}
}

// printForm prints a table, figures to the right.
func printForm(out io.Writer, f ledger.Form) {
	width := make([]int, len(f.Head))
	rows := append([][]string{f.Head}, append(f.Rows, f.Total)...)
	for _, r := range rows {
		for i, c := range r {
			width[i] = max(width[i], utf8.RuneCountInString(c))
		}
	}
	for _, r := range rows {
		line := ""
		for i, c := range r {
			pad := strings.Repeat(" ", width[i]-utf8.RuneCountInString(c))
			if f.Right[i] {
				line += "  " + pad + c
			} else {
				line += "  " + c + pad
			}
		}
		fmt.Fprintln(out, strings.TrimRight(line, " "))
	}
}

// pack writes the statement as PDF, CSV and JSON. Each file is written beside
// its place and moved into it; the list of sessions, which may be long, is
// written as it is made.
func (c *ledgerCmd) pack(out io.Writer, l *ledger.Ledger, w ledger.Wanted, r ledger.Report, a about) error {
	sheet := statementPaper(l, w, r, a)
	pdf, err := sheet.PDF()
	if err != nil {
		return fmt.Errorf("make statement.pdf: %w", err)
	}
	type file struct {
		name  string
		write func(io.Writer) error
	}
	whole := func(content []byte) func(io.Writer) error {
		return func(w io.Writer) error { _, err := w.Write(content); return err }
	}
	files := []file{
		{"statement.pdf", whole(pdf)},
		{"statement.csv", r.Statement.CSV},
		{"sessions.csv", func(to io.Writer) error { return l.SessionsCSV(to, r.Statement, w) }},
		{"notes.csv", l.NotesCSV},
		{"statement.json", func(to io.Writer) error { return writeJSON(to, r) }},
	}
	for _, s := range sheet.Weeks {
		files = append(files, file{s.Name + ".svg", whole(s.SVG())})
	}
	if err := os.MkdirAll(c.Out, 0o755); err != nil {
		return fmt.Errorf("make the folder for the statement: %w", err)
	}
	for _, f := range files {
		if err := writeAside(filepath.Join(c.Out, f.name), f.write); err != nil {
			return fmt.Errorf("write the statement: %w", err)
		}
		fmt.Fprintln(out, filepath.Join(c.Out, f.name))
	}
	return nil
}

// writeAside writes a file beside its place and moves it there.
func writeAside(name string, write func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(name), ".writing-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // does nothing once it has been moved
	buffered := bufio.NewWriterSize(f, 1<<16)
	if err := errors.Join(write(buffered), buffered.Flush(), f.Chmod(0o644), f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}

// statementPaper puts what the ledger says into the paper's places.
func statementPaper(l *ledger.Ledger, w ledger.Wanted, r ledger.Report, a about) *paper.Statement {
	st := r.Statement
	form := st.Form()
	p := &paper.Statement{Place: a.place, Invented: a.invented, Made: l.Made, Head: form.Head, Right: form.Right, Rows: form.Rows, Total: form.Total,
		Rules: st.Rules, Sources: st.Sources, Findings: r.Findings}
	if st.From != "" {
		p.Period = st.From + " to " + st.To + ", " + st.Zone
	}
	sessions, all := l.Sessions(st, w, mostSessions)
	p.Sessions = paper.StatementSessions{Head: sessions.Head, Right: sessions.Right, Rows: sessions.Rows, Left: all - len(sessions.Rows)}
	for i, k := range st.By {
		if i > 0 {
			p.By += " and "
		}
		p.By += string(k)
	}
	for _, b := range form.Below {
		p.Below = append(p.Below, [2]string{b[0], b[1]})
	}
	for _, t := range r.Records {
		f := t.Figures()
		p.Records = append(p.Records, paper.StatementRecord{File: t.File, Lines: f[0], Counted: f[1], Doubted: f[2], Twice: f[3], Faulty: f[4], Other: f[5]})
	}
	for _, k := range []ledger.Kind{ledger.Faulty, ledger.Doubted, ledger.SaidTwice, ledger.Corrected, ledger.Noticed} {
		notes := paper.StatementNotes{Heading: strings.ToUpper(k.String()[:1]) + k.String()[1:]}
		for _, n := range l.OfKind(k) {
			if len(notes.Rows) == mostNotes {
				notes.Left++
				continue
			}
			where, text := n.Apart(len(r.Records) > 1)
			notes.Rows = append(notes.Rows, [2]string{where, text})
		}
		if len(notes.Rows) > 0 {
			p.Noted = append(p.Noted, notes)
		}
	}
	p.Weeks = []drawing.Scene{drawing.Week("week", "A mean week as it was charged", week(l.Week(w, st)), 0)}
	if c := r.Compared; c != nil {
		p.Compared = append(p.Compared, paper.Fact{What: "Compared with", Value: c.Heading()})
		for _, f := range c.Facts() {
			p.Compared = append(p.Compared, paper.Fact{What: f[0], Value: f[1]})
		}
		p.Fit = c.Rules
		now, then := week(c.WeekNow), week(c.WeekThen)
		most := max(now.Greatest(), then.Greatest())
		p.Weeks = []drawing.Scene{drawing.Week("week", "A mean week as it was charged", now, most), drawing.Week("week-what-if", "A mean week as it would be: "+c.Heading(), then, most)}
	}
	if r.Claim != nil {
		p.Claim = &paper.StatementClaim{Head: []string{"person", "vehicle", "journeys", "miles", "rate", "amount, £", "source"}, Right: []bool{false, false, true, true, true, true, false},
			Total: r.Claim.Total.String(), Unrated: r.Claim.Unrated, Rules: r.Claim.Rules}
		if r.AtHome != nil {
			p.Claim.Rules = append(p.Claim.Rules, r.AtHome.Lines()...)
		}
		for _, line := range r.Claim.Lines {
			p.Claim.Rows = append(p.Claim.Rows, []string{line.Person, line.Vehicle, fmt.Sprint(line.Journeys), line.MilesText(), line.Rate, strings.TrimPrefix(line.Amount.String(), "£"), line.Source})
		}
	}
	return p
}

// week hands a week of the ledger to the drawing.
func week(w ledger.Week) drawing.WeekData {
	out := drawing.WeekData{Cheap: w.Cheap}
	for d := range w.Energy {
		for h, e := range w.Energy[d] {
			out.Energy[d][h] = float64(e) / float64(ledger.KWh)
		}
	}
	return out
}
