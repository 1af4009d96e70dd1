package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"chargewright/finding"
	"chargewright/job"
	"chargewright/ledger"
)

type ledgerCmd struct {
	Files       []string `arg:"" name:"file" help:"Charging records: tables of sessions (CSV, .xlsx, .ods), or messages between points and their central system (OCPP, a JSON value a line)."`
	Tariff      string   `help:"What electricity costs (CSV)."`
	By          string   `default:"month" help:"What the statement is made out by, up to four of year, tax year, month, day, point, vehicle, card, person, cost centre; like month,person."`
	Then        string   `help:"What if: another tariff (CSV)."`
	Schedule    string   `help:"What if: when charging is let run, like 23:00-07:00 or Mon-Fri 23:00-07:00."`
	Only        []string `sep:"none" help:"Only some sessions, like person=A. Driver; may be repeated."`
	From        string   `help:"First day, like 2026-11-01."`
	To          string   `help:"Last day."`
	Period      string   `help:"A month, a year or a tax year, instead of a first and last day: 2026-11, 2026 or 2026/27."`
	Keep        string   `placeholder:"FOLDER" help:"Make the statement of the month before the date, and keep it in a folder of that month in FOLDER; what is kept is never changed."`
	Outlets     []string `sep:"none" help:"A point that charges several vehicles at once, like CP1=2, for records that do not say which outlet; may be repeated."`
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
	asked, ratings, err := c.asked()
	if err != nil {
		return err
	}
	a, err := asked.Account()
	if err != nil {
		return c.refused(err)
	}
	if c.JSON {
		if err := writeJSON(out, a.Report); err != nil {
			return err
		}
	} else {
		c.print(out, a, asked, ratings)
		if c.Keep != "" {
			err = c.keep(out, a)
		} else {
			err = c.pack(out, a)
		}
		if err != nil {
			return err
		}
	}
	if code := ledgerCode(a.Report); code != exitMet {
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

// asked is what the command asks for, and where the ratings come from.
func (c *ledgerCmd) asked() (ledger.Asked, string, error) {
	s := ledger.Asked{Now: time.Now(), By: c.By, From: c.From, To: c.To, Date: c.Date, Period: c.Period,
		Outlets: map[string]int{}, Zone: c.Zone, Schedule: c.Schedule, Economy: c.Economy,
		Unit: c.Unit, MonthFirst: c.MonthFirst, Point: c.Point, Columns: map[string]string{}, Ratings: map[string]ledger.Rating{},
		Tariff: tableAt(c.Tariff), Then: tableAt(c.Then), Cards: tableAt(c.Cards), CO2: tableAt(c.CO2), Surplus: tableAt(c.Surplus),
		Journeys: tableAt(c.Journeys), Mileage: tableAt(c.Mileage), SiteMeter: tableAt(c.SiteMeter), Inspections: tableAt(c.Inspections)}
	for _, file := range c.Files {
		s.Records = append(s.Records, tableAt(file))
	}
	for _, one := range c.Column {
		field, name, ok := strings.Cut(one, "=")
		if !ok || name == "" {
			return s, "", fmt.Errorf("--column is %q: write what it says, an equals sign and the column's name, like energy=El_kWh; what can be said is %s", one,
				strings.Join(ledger.FieldNames(), ", "))
		}
		s.Columns[field] = name
	}
	for _, one := range c.Only {
		o, err := ledger.ReadSelected(one)
		if err != nil {
			return s, "", fmt.Errorf("--only: %w", err)
		}
		s.Only = append(s.Only, o)
	}
	for _, one := range c.Outlets {
		point, text, _ := strings.Cut(one, "=")
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > 16 || point == "" {
			return s, "", fmt.Errorf("--outlets is %q: write the point, an equals sign and how many vehicles it charges at once, like CP1=2", one)
		}
		s.Outlets[point] = n
	}
	if c.Keep != "" {
		if c.Period+c.From+c.To != "" || c.JSON {
			return s, "", errors.New("--keep makes the statement of the month before the date: leave out --period, --from, --to and --json")
		}
		month, err := s.MonthBefore()
		if err != nil {
			return s, "", c.refused(err)
		}
		s.Period, c.Out = month, filepath.Join(c.Keep, month)
	}
	ratings, err := c.ratings(&s)
	return s, ratings, err
}

// tableAt is the table in a file; no file is none.
func tableAt(file string) ledger.Table {
	if file == "" {
		return ledger.Table{}
	}
	return ledger.Table{Name: file, Open: func() (io.ReadCloser, error) { return os.Open(file) }}
}

// refused says an error by the names the options have here.
func (c *ledgerCmd) refused(err error) error {
	lines := ledger.Lines(err, func(field string) string { return "--" + field })
	if errors.Is(err, ledger.ErrColumns) {
		lines = append(lines, "--column says which column is which, like --column energy=El_kWh; what can be said is "+strings.Join(ledger.FieldNames(), ", "))
	}
	if errors.Is(err, ledger.ErrUnit) {
		lines = append(lines, "--unit says the unit of energies that name none, like --unit kWh")
	}
	return errors.New(strings.Join(lines, "\n"))
}

// ratings takes the rated powers from the job file and the command, and says
// which job file it was.
func (c *ledgerCmd) ratings(s *ledger.Asked) (string, error) {
	s.Place = strings.Join(c.Files, ", ")
	file := c.Job
	if beside := filepath.Join(filepath.Dir(c.Files[0]), "job.yaml"); file == "" {
		if _, err := os.Stat(beside); err == nil {
			file = beside
		}
	}
	if file != "" {
		text, err := os.ReadFile(file)
		if err != nil {
			return "", fmt.Errorf("cannot read the job file: %w", err)
		}
		j, err := job.Read(file, text)
		if err != nil {
			return "", err
		}
		s.Place, s.Invented = j.Name, j.Invented
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
		power, err := ledger.ReadRating(text)
		if err != nil {
			return "", fmt.Errorf("--rating is %q: the point's name, an equals sign and its rated power are wanted, like CP1=7.4kW", one)
		}
		s.Ratings[point] = power
	}
	return file, nil
}

func (c *ledgerCmd) print(out io.Writer, a *ledger.Account, asked ledger.Asked, ratings string) {
	title := asked.Place
	if asked.Invented {
		title += " · invented"
	}
	r := a.Report
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
	if r.Billing != nil && len(r.Billing.Lines) > 0 {
		fmt.Fprintln(out, "\nbilled otherwise than the tariff comes to")
		for _, line := range r.Billing.Lines {
			fmt.Fprintln(out, wrap("  ", line.String(), 4))
		}
	}
	if len(r.Driven) > 0 {
		fmt.Fprintln(out, "\nby the odometers")
		for _, d := range r.Driven {
			fmt.Fprintln(out, wrap("  ", d.String(), 4))
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
	for _, k := range ledger.Kinds {
		printed, left := 0, 0
		for _, n := range r.Notes {
			if n.Kind != k {
				continue
			}
			if printed == ledger.MostNotes && !c.All {
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
	for _, f := range a.Ordered() {
		fmt.Fprintf(out, "%s %s\n", marks[f.Verdict], f.Verdict)
		printFinding(out, f)
	}
	fmt.Fprintln(out)
	for _, rule := range st.Rules {
		fmt.Fprintln(out, wrap("reckoned: ", rule, 4))
	}
	if ratings != "" {
		fmt.Fprintf(out, "ratings of the points: %s\n", ratings)
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

// keep writes the statement into the folder of its month, once. One that says
// something else later is put beside it under a number, and what was kept stays.
func (c *ledgerCmd) keep(out io.Writer, a *ledger.Account) error {
	folder := c.Out
	for n := 2; ; n++ {
		kept, err := os.ReadFile(filepath.Join(folder, "statement.csv"))
		if errors.Is(err, os.ErrNotExist) {
			break
		}
		if err != nil {
			return fmt.Errorf("look at the statement that is kept: %w", err)
		}
		var now bytes.Buffer
		if err := a.Report.Statement.CSV(&now); err != nil {
			return err
		}
		if bytes.Equal(kept, now.Bytes()) {
			fmt.Fprintf(out, "kept already, and the same: %s\n", folder)
			return nil
		}
		fmt.Fprintf(out, "kept already, and not the same: %s stays as it is\n", folder)
		folder = fmt.Sprintf("%s-%d", c.Out, n)
	}
	c.Out = folder
	return c.pack(out, a)
}

// pack writes the files of the statement. Each is written beside its place and
// moved into it.
func (c *ledgerCmd) pack(out io.Writer, a *ledger.Account) error {
	if err := os.MkdirAll(c.Out, 0o755); err != nil {
		return fmt.Errorf("make the folder for the statement: %w", err)
	}
	for _, f := range a.Files() {
		name := filepath.Join(c.Out, f.Name)
		if err := writeAside(name, f.Write); err != nil {
			return fmt.Errorf("write the statement: %w", err)
		}
		fmt.Fprintln(out, name)
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
