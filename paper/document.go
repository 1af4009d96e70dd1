// Package paper writes the documents of a job: what an electrician takes to
// the site, hands to an inspector or keeps.
//
// A Document is a small tree of sections and blocks. It is laid out into pages
// of the same few shapes that drawings are made of, and the pages are written
// as PDF with embedded fonts. Beside each paper stand its data as JSON and,
// where it is a list, as CSV. Nothing here calculates, and no verdict is worded
// here: both come from findings and expectations.
//
// A paper is a draft for working and says so at the head of every page, unless
// it was issued: then it is numbered, carries the whole job and is signed.
package paper

import (
	"time"

	"chargewright/drawing"
	"chargewright/finding"
)

// Document is one paper before it is laid out.
type Document struct {
	Title    string    // "Design sheet"
	Subject  string    // what it is for, in a sentence
	Job      string    // name of the job
	Edition  string    // edition of the rules the job is designed to
	Invented bool      // a scenario made up for training or show
	Made     time.Time // when the paper was made
	Mark     string    // what it is, at the head of every page; empty for a draft
	Attached []File    // files carried inside the PDF
	Sheet    Sheet
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
	Whole   bool // kept on one page where one can hold it
	Blocks  []Block
}

// Block is one of Paragraph, Subheading, Facts, Table, Picture, Prints, Caution
// and Lines.
type Block interface{ block() }

// Paragraph is running text.
type Paragraph struct{ Text string }

// Subheading is a heading within a section.
type Subheading struct{ Text string }

// Facts is a list of facts, each with its name and what backs it.
type Facts []Fact

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
type Picture struct{ Scenes []drawing.Scene }

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
func (Table) block()      {}
func (Picture) block()    {}
func (Prints) block()     {}
func (Caution) block()    {}
func (Lines) block()      {}

// unknown is the value of a fact that nobody knows, the one that is not set in bold.
const unknown = "not known"

// draft is what stands at the head of every page that was not issued.
const draft = "draft for working, not a certificate"

// cells makes plain cells of texts.
func cells(texts ...string) []Cell {
	out := make([]Cell, len(texts))
	for i, t := range texts {
		out[i].Text = t
	}
	return out
}

// verdictCell is a verdict as a cell.
func verdictCell(v finding.Verdict) Cell { return Cell{Verdict: &v} }
