package paper

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"chargewright/document"
	"chargewright/drawing"
	"chargewright/finding"
	"chargewright/job"
	"chargewright/model"
	"chargewright/prove"
	"chargewright/sheet"
	"chargewright/trade"
)

// making is a job with all that its papers are made from.
type making struct {
	packer
	m       *model.Model
	fs      []finding.Finding
	es      []prove.Expectation
	made    time.Time
	head    header
	setting []settingsOf
	photos  map[string][]byte
	only    []string // the papers asked for by name
}

// Envelopes of the pack: for whom a paper is. Data for other programs lie apart.
const (
	ForTheCustomer = "for-the-customer"
	ToBeTold       = "to-be-told"
	ForTheFirm     = "for-the-firm"
	Data           = "data"
)

// paperNamed is one paper of the pack: the name it is asked for by, for whom it
// is, and how it is made.
type paperNamed struct {
	name     string
	envelope string
	make     func(*making)
}

// papers is every paper, in the order they are needed. Some hold what another
// says as well: they are made only when they are asked for by name.
var papers = []paperNamed{
	{"job-summary", ForTheFirm, func(k *making) {
		steps, numbers := nextSteps(k.m.Job, k.fs), mainNumbers(k.m, parts(k.m, k.fs))
		if k.asked("job-summary") { // the design sheet opens with it
			k.pdf("job-summary.pdf", jobSummary(k.m, k.fs, steps, numbers, k.made))
		}
		k.json("job-summary.json", struct {
			header
			Verdicts map[string]int `json:"verdicts"`
			Next     []next         `json:"next"`
			Points   []pointNumbers `json:"points"`
		}{k.head, counts(k.fs), orEmpty(steps), orEmpty(numbers)})
	}},
	{"quotation", ForTheFirm, func(k *making) {
		k.pdf("quotation.pdf", quotationPaper(k.m, k.made))
		k.json("materials.json", struct {
			header
			Materials []needed `json:"materials"`
			Cuts      []cut    `json:"cuts"`
		}{k.head, orEmpty(materials(k.m)), first(cuts(k.m))})
		rows := [][]string{{"material", "quantity", "unit", "for"}}
		for _, n := range materials(k.m) {
			rows = append(rows, []string{n.What, strconv.FormatFloat(n.Quantity, 'g', -1, 64), n.Unit, n.For})
		}
		k.csv("materials.csv", rows)
		priced, unpriced := quote(&k.m.Job.Quotation)
		k.json("quotation.json", struct {
			header
			Prices   []quoted `json:"prices"`
			Unpriced []string `json:"unpriced"`
		}{k.head, orEmpty(priced), orEmpty(unpriced.Words())})
		k.csv("quotation.csv", priceRows(priced))
	}},
	{"design-sheet", ForTheFirm, func(k *making) {
		k.pdf("design-sheet.pdf", designSheet(k.m, k.fs, k.made))
		k.csv("design-sheet.csv", findingRows(k.fs))
		k.json("design-sheet.json", struct {
			header
			Supply      document.Facts    `json:"supply"`
			Circuits    []circuitData     `json:"circuits"`
			Findings    []finding.Finding `json:"findings"`
			Assumptions []string          `json:"assumptions"`
			Assumed     document.Facts    `json:"assumedInTheRecord"`
		}{k.head, supplyFacts(k.m), circuitsData(k.m), orEmpty(k.fs), orEmpty(k.m.Assumptions), orEmpty(assumedFacts(k.m))})
		k.json("findings.json", finding.Report{Job: k.m.Job.Name, Edition: string(k.m.Job.Edition), Findings: k.fs})
		for _, s := range drawing.StreetToVehicle(k.m, k.fs) {
			k.svg(s)
		}
		for _, p := range k.m.Points {
			k.svg(drawing.Elevation(k.m, p))
		}
	}},
	{"limit-proof", ForTheFirm, func(k *making) {
		proofs := limitProofs(k.m)
		if k.asked("limit-proof") { // the design sheet holds it
			k.pdf("limit-proof.pdf", limitProof(k.m, proofs, k.made))
		}
		var found []finding.Finding
		for _, p := range proofs {
			found = append(found, p.Findings...)
		}
		k.csv("limit-proof.csv", findingRows(found))
		k.json("limit-proof.json", finding.Report{Job: k.m.Job.Name, Edition: string(k.m.Job.Edition), Findings: found})
	}},
	{"isolation", ForTheFirm, func(k *making) { k.pdf("isolation.pdf", isolationSheet(k.m, k.made)) }},
	{"test-sheet", ForTheFirm, func(k *making) {
		k.pdf("test-sheet.pdf", testSheet(k.m, k.es, k.made))
		k.csv("test-sheet.csv", expectationRows(k.es))
		k.json("test-sheet.json", struct {
			header
			Expectations []prove.Expectation `json:"expectations"`
		}{k.head, orEmpty(k.es)})
		k.json("expectations.json", prove.Report{Job: k.m.Job.Name, Expectations: k.es})
	}},
	{"settings-card", ForTheFirm, func(k *making) {
		k.pdf("settings-card.pdf", settingsCard(k.m, k.setting, k.made))
		k.json("settings-card.json", struct {
			header
			Cards []settingsOf `json:"cards"`
		}{k.head, orEmpty(k.setting)})
	}},
	{"commissioning", ForTheFirm, func(k *making) {
		if k.asked("commissioning") || len(k.m.Job.Runs) > 0 {
			k.pdf("commissioning.pdf", commissioning(k.m, k.made))
		}
	}},
	{"certificate", ForTheCustomer, func(k *making) {
		set := certificatePaper
		if k.m.Job.Certificate.Work.Or("") == trade.MinorWorks {
			set = minorPaper
		}
		k.pdf(draftCertificate, set(k.m, k.fs, k.es, k.made, nil))
		k.json("certificate-draft.json", struct {
			header
			Gaps  []Gap      `json:"gaps"`
			Items []itemData `json:"items"`
		}{k.head, orEmpty(Missing(k.m, k.fs, k.es, k.made)), certificateData(k.m, k.fs, k.es)})
		k.csv("certificate-draft.csv", itemRows(certificateData(k.m, k.fs, k.es)))
		k.csv("readings.csv", readingRows(k.m.Job))
	}},
	{Notices, ToBeTold, func(k *making) {
		told, err := notices(k.m, k.photos, k.made)
		if err != nil && k.asked(Notices) { // the photo sheet says it of all photos at once
			k.add("notice-1-network-operator.pdf", nil, err)
			return
		}
		for i, d := range told {
			k.pdf([]string{"notice-1-network-operator.pdf", "notice-2-building-control.pdf"}[i], d)
		}
		k.json("notices.json", struct {
			header
			Operator []itemData `json:"networkOperator"`
			Building []itemData `json:"buildingControl"`
		}{k.head, operatorItems(k.m).data(""), buildingItems(k.m).data("")})
		k.csv("notices.csv", itemRows(append(operatorItems(k.m).data("network operator"), buildingItems(k.m).data("building control")...)))
	}},
	{"labels", ForTheFirm, func(k *making) {
		k.pdf("labels.pdf", labelSheet(k.m, k.made))
		k.pdf("circuit-charts.pdf", circuitChart(k.m, k.made))
	}},
	{"owner", ForTheCustomer, func(k *making) {
		k.pdf("owner.pdf", ownersHandover(k.m, k.setting, k.made))
		use, trouble, papers, upkeep := (&handover{k.m, k.made, k.setting}).items()
		k.json("owner.json", struct {
			header
			Trouble []itemData `json:"trouble"`
			Use     []itemData `json:"use"`
			Upkeep  []itemData `json:"upkeep"`
			Papers  []itemData `json:"papers"`
		}{k.head, trouble.data(""), use.data(""), upkeep.data(""), papers.data("")})
	}},
	{PhotoSheet, ForTheCustomer, func(k *making) {
		if len(k.m.Job.Chosen()) == 0 || k.photos == nil && !k.asked(PhotoSheet) {
			return
		}
		sheet, data, err := photoSheet(k.m, k.photos, k.made)
		if err != nil {
			k.add("photo-sheet.pdf", nil, err)
			return
		}
		k.pdf("photo-sheet.pdf", sheet)
		k.json("photo-sheet.json", struct {
			header
			Photos []printedPhoto `json:"photos"`
		}{k.head, data})
	}},
	{"not-known", ForTheFirm, func(k *making) {
		if k.asked("not-known") { // the design sheet opens with it
			k.pdf("not-known.pdf", openSheet(k.m, k.fs, k.made))
		}
	}},
	{"dates", ForTheCustomer, func(k *making) {
		if k.asked("dates") { // the owner's paper has the days
			k.pdf("dates.pdf", driftSheet(k.m, k.made))
		}
		k.json("dates.json", struct {
			header
			Dates []expires `json:"dates"`
		}{k.head, orEmpty(driftList(k.m, k.made))})
		rows := [][]string{{"when", "what", "why"}}
		for _, e := range driftList(k.m, k.made) {
			rows = append(rows, []string{e.When, e.What, e.Why})
		}
		k.csv("dates.csv", rows)
		k.add("dates.ics", Calendar(k.m, k.made), nil)
	}},
	{"job", Data, func(k *making) { k.add("job.json", append(job.JSON(k.m.Job), '\n'), nil) }},
}

// Papers that hold photos. The photo sheet is made only when one is chosen; the
// notice to the network operator has those of the cut-out bound in.
const (
	PhotoSheet = "photo-sheet"
	Notices    = "notices"
)

// Names is what a paper can be asked for by.
func Names() []string {
	var out []string
	for _, p := range papers {
		out = append(out, p.name)
	}
	return out
}

// Pack makes the papers of a job with their data beside them, all of them or
// only those named. Without the files of photos there is no photo sheet. It opens nothing and reads no clock: the files of chosen
// photos are handed in by name, and what is wrong with them is PhotoProblems.
// The same job at the same time makes the same bytes. None of these papers is a certificate: see
// IssueCertificate.
func Pack(m *model.Model, fs []finding.Finding, es []prove.Expectation, photos map[string][]byte, made time.Time, only ...string) ([]document.File, error) {
	k := newMaking(m, fs, es, photos, made)
	k.only = only
	for _, name := range only {
		if !contains(Names(), name) {
			return nil, fmt.Errorf("there is no paper %q: there are %s", name, strings.Join(Names(), ", "))
		}
	}
	k.all()
	return k.files, k.err
}

func newMaking(m *model.Model, fs []finding.Finding, es []prove.Expectation, photos map[string][]byte, made time.Time) *making {
	return &making{m: m, fs: fs, es: es, made: made, setting: settings(m, fs), photos: photos,
		head: header{Job: m.Job.Name, Edition: string(m.Job.Edition), Invented: m.Job.Invented, Made: made.Format(time.RFC3339), Draft: document.Draft}}
}

// all makes the papers that are asked for, all of them where none is named.
func (k *making) all() {
	for _, p := range papers {
		if len(k.only) == 0 || k.asked(p.name) {
			k.envelope = p.envelope
			p.make(k)
		}
	}
	if len(k.only) == 0 {
		k.envelope = ""
		k.pdf("index.pdf", indexSheet(k.m, k.papers, k.made))
	}
}

// asked reports that a paper was asked for by its name.
func (k *making) asked(name string) bool { return contains(k.only, name) }

// Bound makes each envelope as one PDF, its papers in their order. A draft
// certificate is in none of them: a customer gets the one that was issued.
func Bound(m *model.Model, fs []finding.Finding, es []prove.Expectation, photos map[string][]byte, made time.Time) ([]document.File, error) {
	k := newMaking(m, fs, es, photos, made)
	k.bound = map[string][]*document.Document{}
	k.all()
	var out []document.File
	for _, e := range envelopes {
		docs := k.bound[e.folder]
		if len(docs) == 0 {
			continue
		}
		var b bytes.Buffer
		if _, err := document.Bind(&b, e.heading+": "+m.Job.Name, docs...); err != nil && k.err == nil {
			k.err = err
		}
		out = append(out, document.File{Name: e.folder + ".pdf", Content: b.Bytes()})
	}
	return out, k.err
}

// draftCertificate is the name of the one paper of the pack that nobody is given.
const draftCertificate = "certificate-draft.pdf"

func first[A, B any](a A, _ B) A { return a }

// header opens every data file.
type header struct {
	Job      string `json:"job"`
	Edition  string `json:"edition"`
	Invented bool   `json:"invented"`
	Made     string `json:"made"`
	Draft    string `json:"draft"`
}

// packer gathers files until the first that cannot be made.
type packer struct {
	files    []document.File
	papers   []packedPaper
	envelope string
	bound    map[string][]*document.Document // papers by envelope, where they are bound and not set one by one
	err      error
}

// packedPaper is a paper that was set.
type packedPaper struct {
	envelope, title, name string
	pages                 int
}

func (k *packer) add(name string, content []byte, err error) {
	if err != nil && k.err == nil {
		k.err = fmt.Errorf("pack %s: %w", name, err)
	}
	for i := 2; k.has(name); i++ { // points whose names differ only in signs
		stem, ending, _ := strings.Cut(name, ".")
		if i > 2 {
			stem = stem[:strings.LastIndexByte(stem, '-')]
		}
		name = fmt.Sprintf("%s-%d.%s", stem, i, ending)
	}
	folder := k.envelope
	if folder != "" && !strings.HasSuffix(name, ".pdf") && !strings.HasSuffix(name, ".ics") {
		folder = Data
	}
	k.files = append(k.files, document.File{Folder: folder, Name: name, Content: content})
}

func (k *packer) has(name string) bool {
	for _, f := range k.files {
		if f.Name == name {
			return true
		}
	}
	return false
}

func (k *packer) pdf(name string, d *document.Document) {
	if k.bound != nil {
		if name != draftCertificate {
			k.bound[k.envelope] = append(k.bound[k.envelope], d)
		}
		return
	}
	var b bytes.Buffer
	pages, err := d.Set(&b)
	k.papers = append(k.papers, packedPaper{k.envelope, d.Title, name, pages})
	k.add(name, b.Bytes(), err)
}

func (k *packer) json(name string, v any) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(v)
	k.add(name, b.Bytes(), err)
}

func (k *packer) csv(name string, rows [][]string) {
	var b bytes.Buffer
	err := sheet.Write(&b, rows)
	k.add(name, b.Bytes(), err)
}

func (k *packer) svg(s drawing.Scene) { k.add(s.Name+".svg", s.SVG(), nil) }

func orEmpty[L ~[]E, E any](list L) L {
	if list == nil {
		return L{}
	}
	return list
}

func counts(fs []finding.Finding) map[string]int {
	s := finding.Summarise(fs)
	return map[string]int{finding.Meets.String(): s.Meets, finding.Fails.String(): s.Fails, finding.NotKnown.String(): s.NotKnown,
		finding.JudgeOnSite.String(): s.JudgeOnSite}
}
