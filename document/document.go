// Package document lays papers out: a Document is a small tree of sections and
// blocks, set into pages of the same few shapes that drawings are made of and
// written as PDF with embedded fonts. It knows nothing of jobs and words
// nothing. A paper is a draft and says so at the head of every page, unless it
// bears another mark.
//
// Its parts: the tree, its layout and tables, the PDF, files and their zip,
// codes to be read with a camera.
package document

import (
	"time"

	"chargewright/drawing"
	"chargewright/finding"
)

// Document is one paper before it is laid out.
type Document struct {
	Title    string         // "Design sheet"
	Subject  string         // what it is for, in a sentence
	Job      string         // name of the job
	Edition  string         // edition of the rules the job is designed to
	Invented bool           // a scenario made up for training or show
	Made     time.Time      // when the paper was made
	Mark     string         // what it is, at the head of every page; empty for a draft
	Attached []File         // files carried inside the PDF
	Corner   *drawing.Scene // stands beside the title
	Sheet    Sheet
	Narrow   bool // margins as narrow as a printer needs
	Sections []Section
}

// Sheet is the size of paper and the way it is held.
type Sheet uint8

// Sheets. The zero value is A4 upright.
const (
	A4 Sheet = iota
	A4Across
	A5
)

// size returns width and height, in mm (ISO 216).
func (s Sheet) size() (width, height float64) {
	switch s {
	case A4Across:
		return 297, 210
	case A5:
		return 148, 210
	}
	return 210, 297
}

// Section is a heading and what stands under it.
type Section struct {
	Heading string
	NewPage bool
	Whole   bool           // kept on one page where one can hold it
	Across  bool           // on pages of its own that lie on their side
	Corner  *drawing.Scene // stands at the right of its blocks
	Blocks  []Block
}

// Block is one of Paragraph, Subheading, Facts, Fields, Table, Picture, Prints, Caution
// and Lines.
type Block interface{ block() }

// Paragraph is running text; small where it only backs what stands elsewhere.
type Paragraph struct {
	Text  string
	Small bool
}

// Subheading is a heading within a section.
type Subheading struct{ Text string }

// Facts is a list of facts, each with its name and what backs it.
type Facts []Fact

// Fields is a list of facts set side by side, four to a row, six on a page that
// lies on its side, a longer one over several places: its name small, its value
// below, what backs it under that.
type Fields []Fact

// Fact is one fact of a list.
type Fact struct {
	What  string `json:"what"`
	Value string `json:"value"`
	Note  string `json:"note,omitempty"` // how it is known, or why it is so
}

// Table is rows under a head that every page repeats.
type Table struct {
	Columns     []Column
	Rows        []Row
	NotesAtLeft bool // notes start under the first column, not the second
	Small       bool // many rows, set close
	heads       bool // the first cell of a row is its head
}

// Column is one column of a table.
type Column struct {
	Head  string
	Share float64 // of the width, against the other columns
	Right bool    // figures stand to the right
	Boxed bool    // to be written in by hand
}

// Row is one row of a table, and the notes that run under it.
type Row struct {
	Cells []Cell
	Under []Note
	Least float64 // least height, in mm
}

// Cell is what stands where a row and a column meet.
type Cell struct {
	Text    string
	Bold    bool
	Over    int              // further columns it runs over, which are left empty
	Verdict *finding.Verdict // its mark and word, before the text
	Picture *drawing.Scene
}

// Note runs under the cells of a row, its label in bold.
type Note struct{ Label, Text string }

// Picture is drawings. Tall ones are cut at their breaks and set in columns.
type Picture struct {
	Scenes []drawing.Scene
	Close  bool // each overlaps the margin of the one before
}

// Prints is photos, side by side where there are more than two.
type Prints []Print

// Print is one photo on paper, with what stands under it.
type Print struct {
	JPEG          []byte
	Width, Height int // pixels
	Caption       string
	Lines         []string // of what, when and by whom
	Small         []string
}

// Caution is a warning, framed.
type Caution struct {
	Head  string
	Lines []string
}

// Lines is room to write in by hand: a name and a ruled line for each.
type Lines []string

func (Paragraph) block()  {}
func (Subheading) block() {}
func (Facts) block()      {}
func (Fields) block()     {}
func (Table) block()      {}
func (Picture) block()    {}
func (Prints) block()     {}
func (Caution) block()    {}
func (Lines) block()      {}

// unknown is the value of a fact that nobody knows, the one that is not set in bold.
const unknown = "not known"

// Draft is what stands at the head of every page that was not issued.
const Draft = "draft for working, not a certificate"

// Cells makes plain cells of texts.
func Cells(texts ...string) []Cell {
	out := make([]Cell, len(texts))
	for i, t := range texts {
		out[i].Text = t
	}
	return out
}

// VerdictCell is a verdict as a cell.
func VerdictCell(v finding.Verdict) Cell { return Cell{Verdict: &v} }
