package document

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/xml"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// The library that sets the pages writes neither structure nor what PDF/A asks
// for. Its objects are plain and whole, so they are taken out here and written
// once more, with what is missing beside them, as one table of places (ISO
// 32000-1 7.5; PDF/A-3: ISO 19005-3, clauses 6.1, 6.2.3, 6.6, 6.7, 6.8).

// meta is what a PDF says of itself.
type meta struct {
	title, subject string
	made           time.Time
	attached       []File
}

// objects is a PDF being written: its objects by number, the first of them 1.
type objects [][]byte

func (o *objects) add(text string) int {
	*o = append(*o, []byte(text))
	return len(*o)
}

// stream adds an object that is a stream.
func (o *objects) stream(dictionary string, content []byte) int {
	return o.add(fmt.Sprintf("<<%s /Length %d>>\nstream\n%s\nendstream", dictionary, len(content), content))
}

var (
	objectHead = regexp.MustCompile(`^(\d+) 0 obj\n`)
	rootAt     = regexp.MustCompile(`/Root (\d+) 0 R`)
	infoAt     = regexp.MustCompile(`/Info (\d+) 0 R`)
	tableAt    = regexp.MustCompile(`startxref\n(\d+)\n`)
)

// parse takes a PDF as the library writes it apart into objects.
func parse(pdf []byte) (all objects, root, info int, err error) {
	broken := errors.New("the library has written a PDF of another shape")
	table := tableAt.FindSubmatch(pdf[max(0, len(pdf)-64):])
	if table == nil {
		return nil, 0, 0, broken
	}
	start, _ := strconv.Atoi(string(table[1]))
	r, i := rootAt.FindSubmatch(pdf[start:]), infoAt.FindSubmatch(pdf[start:])
	if r == nil || i == nil {
		return nil, 0, 0, broken
	}
	root, _ = strconv.Atoi(string(r[1]))
	info, _ = strconv.Atoi(string(i[1]))
	var places []int
	for n, line := range bytes.Split(pdf[start:], []byte("\n")) {
		if n < 3 {
			continue // "xref", the number of objects, the free one
		}
		if len(line) < 18 || line[17] != 'n' {
			break
		}
		at, _ := strconv.Atoi(string(line[:10]))
		places = append(places, at)
	}
	ends := append(slices.Clone(places), start)
	slices.Sort(ends)
	for _, at := range places {
		next, _ := slices.BinarySearch(ends, at+1)
		text := pdf[at:ends[next]]
		head := objectHead.Find(text)
		tail := bytes.LastIndex(text, []byte("\nendobj"))
		if head == nil || tail < len(head) {
			return nil, 0, 0, broken
		}
		all = append(all, text[len(head):tail])
	}
	return all, root, info, nil
}

// pageObject tells a page from what else the library writes.
var pageObject = []byte("<</Type /Page\n")

// finish writes a PDF once more with its structure, what it says of itself, its
// intended colours and its attachments.
func finish(pdf []byte, p *painter, m meta) ([]byte, error) {
	all, root, info, err := parse(pdf)
	if err != nil {
		return nil, err
	}
	tree := p.structure(&all)
	catalog := fmt.Sprintf("/Type /Catalog\n/Pages 1 0 R\n/Lang (en-GB)\n/MarkInfo <</Marked true>>\n/StructTreeRoot %d 0 R\n"+
		"/ViewerPreferences <</DisplayDocTitle true>>\n", tree)
	catalog += fmt.Sprintf("/Metadata %d 0 R\n", all.stream("/Type /Metadata /Subtype /XML", m.packet()))
	colours := all.stream("/N 3", sRGB())
	catalog += fmt.Sprintf("/OutputIntents [<</Type /OutputIntent /S /GTS_PDFA1 /OutputConditionIdentifier (sRGB) /Info (sRGB) /DestOutputProfile %d 0 R>>]\n",
		colours)
	if len(m.attached) > 0 {
		var names, files string
		for _, f := range m.attached {
			held := all.stream(fmt.Sprintf("/Type /EmbeddedFile /Subtype /%s /Params <</Size %d /ModDate (%s)>>", kindOf(f.Name), len(f.Content),
				stamp(m.made)), f.Content)
			spec := all.add(fmt.Sprintf("<</Type /Filespec /F (%s) /UF %s /AFRelationship /Source /Desc (the data this paper was made from) /EF <</F %d 0 R "+
				"/UF %d 0 R>>>>", f.Name, textString(f.Name), held, held))
			names += fmt.Sprintf("%s %d 0 R ", textString(f.Name), spec)
			files += fmt.Sprintf("%d 0 R ", spec)
		}
		catalog += fmt.Sprintf("/Names <</EmbeddedFiles <</Names [%s]>>>>\n/AF [%s]\n", names, files)
	}
	if outline := regexp.MustCompile(`/Outlines \d+ 0 R`).Find(all[root-1]); outline != nil {
		catalog += string(outline) + "\n/PageMode /UseOutlines\n"
	}
	all[root-1] = []byte("<<\n" + catalog + ">>")
	all[info-1] = []byte(fmt.Sprintf("<</Title %s /Subject %s /Creator (Chargewright) /Producer (Chargewright) /CreationDate (%s) /ModDate (%s)>>",
		textString(m.title), textString(m.subject), stamp(m.made), stamp(m.made)))
	return all.write(root, info), nil
}

// write writes the objects with their table of places.
func (o objects) write(root, info int) []byte {
	var b bytes.Buffer
	b.WriteString("%PDF-1.7\n%\xe2\xe3\xcf\xd3\n")
	places := make([]int, len(o))
	for i, text := range o {
		places[i] = b.Len()
		fmt.Fprintf(&b, "%d 0 obj\n%s\nendobj\n", i+1, text)
	}
	sum := sha256.Sum256(b.Bytes())
	id := hex.EncodeToString(sum[:16])
	start := b.Len()
	fmt.Fprintf(&b, "xref\n0 %d\n0000000000 65535 f \n", len(o)+1)
	for _, at := range places {
		fmt.Fprintf(&b, "%010d 00000 n \n", at)
	}
	fmt.Fprintf(&b, "trailer\n<<\n/Size %d\n/Root %d 0 R\n/Info %d 0 R\n/ID [<%s> <%s>]\n>>\nstartxref\n%d\n%%%%EOF\n", len(o)+1, root, info, id, id, start)
	return b.Bytes()
}

// structure adds the structure tree, and to each page where its part of it is
// found; it answers with the root of the tree.
func (p *painter) structure(all *objects) int {
	var pages []int
	for i, text := range *all {
		if bytes.HasPrefix(text, pageObject) {
			end := bytes.LastIndex(text, []byte(">>"))
			(*all)[i] = append(bytes.Clone(text[:end]), fmt.Sprintf("\n/StructParents %d /Tabs /S>>", len(pages))...)
			pages = append(pages, i+1)
		}
	}
	root := len(*all) + 1
	document := root + 1
	at := func(element int) int { return document + 1 + element }
	var tops []int
	for i := range p.elements {
		if of := p.elements[i].Of; of == furniture {
			tops = append(tops, i)
		} else {
			p.elements[of].kids = append(p.elements[of].kids, i)
		}
	}
	refs := func(elements []int) string {
		var b strings.Builder
		for _, e := range elements {
			fmt.Fprintf(&b, "%d 0 R ", at(e))
		}
		return b.String()
	}
	parents := at(len(p.elements))
	all.add(fmt.Sprintf("<</Type /StructTreeRoot /K %d 0 R /ParentTree %d 0 R /ParentTreeNextKey %d>>", document, parents, len(pages)))
	all.add(fmt.Sprintf("<</Type /StructElem /S /Document /P %d 0 R /K [%s]>>", root, refs(tops)))
	for _, e := range p.elements {
		var b strings.Builder
		parent := document
		if e.Of != furniture {
			parent = at(e.Of)
		}
		fmt.Fprintf(&b, "<</S /%s /P %d 0 R", e.Kind, parent)
		if len(e.stretches) > 0 {
			fmt.Fprintf(&b, " /Pg %d 0 R", pages[e.stretches[0].page])
		}
		if e.Alt != "" {
			fmt.Fprintf(&b, " /Alt %s", textString(e.Alt))
		}
		switch {
		case e.Scope != "":
			fmt.Fprintf(&b, " /A <</O /Table /Scope /%s>>", e.Scope)
		case e.Span > 1:
			fmt.Fprintf(&b, " /A <</O /Table /ColSpan %d>>", e.Span)
		}
		b.WriteString(" /K [")
		for _, s := range e.stretches {
			if s.page == e.stretches[0].page {
				fmt.Fprintf(&b, "%d ", s.mark)
			} else {
				fmt.Fprintf(&b, "<</Type /MCR /Pg %d 0 R /MCID %d>> ", pages[s.page], s.mark)
			}
		}
		b.WriteString(refs(e.kids) + "]>>")
		all.add(b.String())
	}
	var b strings.Builder
	b.WriteString("<</Nums [")
	for i, marks := range p.marked {
		fmt.Fprintf(&b, "%d [%s] ", i, refs(marks))
	}
	all.add(b.String() + "]>>")
	return root
}

// stamp is a moment as a PDF writes it.
func stamp(t time.Time) string { return t.Format("D:20060102150405") + "Z" }

// kindOf is the kind of an attachment, as a PDF name (RFC 8259, RFC 4180).
func kindOf(name string) string {
	switch {
	case strings.HasSuffix(name, ".json"):
		return "application#2Fjson"
	case strings.HasSuffix(name, ".csv"):
		return "text#2Fcsv"
	}
	return "application#2Foctet-stream"
}

// textString is a text as a PDF holds it: UTF-16 with its mark, in hexadecimal.
func textString(s string) string {
	var b strings.Builder
	b.WriteString("<FEFF")
	for _, r := range s {
		if r > 0xffff {
			r -= 0x10000
			fmt.Fprintf(&b, "%04X%04X", 0xd800+r>>10, 0xdc00+r&0x3ff)
			continue
		}
		fmt.Fprintf(&b, "%04X", r)
	}
	return b.String() + ">"
}

// packet is what the PDF says of itself as XMP (ISO 16684-1), with the claim
// that it is laid out as PDF/A-3 at level B asks.
func (m meta) packet() []byte {
	text := func(s string) string {
		var b bytes.Buffer
		xml.EscapeText(&b, []byte(cmp.Or(s, "-")))
		return b.String()
	}
	when := m.made.Format(time.RFC3339)
	return []byte("<?xpacket begin=\"\ufeff\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n" +
		`<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">` +
		`<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/" ` +
		`xmlns:pdf="http://ns.adobe.com/pdf/1.3/" xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/">` +
		`<dc:title><rdf:Alt><rdf:li xml:lang="x-default">` + text(m.title) + `</rdf:li></rdf:Alt></dc:title>` +
		`<dc:description><rdf:Alt><rdf:li xml:lang="x-default">` + text(m.subject) + `</rdf:li></rdf:Alt></dc:description>` +
		`<dc:language><rdf:Bag><rdf:li>en-GB</rdf:li></rdf:Bag></dc:language>` +
		`<xmp:CreatorTool>Chargewright</xmp:CreatorTool><xmp:CreateDate>` + when + `</xmp:CreateDate><xmp:ModifyDate>` + when + `</xmp:ModifyDate>` +
		`<pdf:Producer>Chargewright</pdf:Producer><pdfaid:part>3</pdfaid:part><pdfaid:conformance>B</pdfaid:conformance>` +
		"</rdf:Description></rdf:RDF></x:xmpmeta>\n" + `<?xpacket end="w"?>`)
}

// sRGB is a profile of the colours meant (ICC.1:2001-04; primaries, white and
// curve of IEC 61966-2-1, its curve taken as a power of 2.2). The pages use its
// greys alone; photos use its colours.
func sRGB() []byte {
	fixed := func(v float64) []byte { return binary.BigEndian.AppendUint32(nil, uint32(int32(v*65536+0.5))) }
	xyz := func(x, y, z float64) []byte {
		return slices.Concat([]byte("XYZ \x00\x00\x00\x00"), fixed(x), fixed(y), fixed(z))
	}
	const name = "sRGB\x00"
	described := slices.Concat([]byte("desc\x00\x00\x00\x00"), binary.BigEndian.AppendUint32(nil, uint32(len(name))), []byte(name), make([]byte, 4+4+2+1+67))
	curve := []byte("curv\x00\x00\x00\x00\x00\x00\x00\x01\x02\x33") // 2.2 as 8.8
	tags := []struct {
		name string
		data []byte
	}{{"desc", described}, {"cprt", []byte("text\x00\x00\x00\x00no rights kept\x00")}, {"wtpt", xyz(0.9505, 1, 1.0891)},
		{"rXYZ", xyz(0.4361, 0.2225, 0.0139)}, {"gXYZ", xyz(0.3851, 0.7169, 0.0971)}, {"bXYZ", xyz(0.1431, 0.0606, 0.7141)},
		{"rTRC", curve}, {"gTRC", curve}, {"bTRC", curve}}
	u32 := binary.BigEndian.AppendUint32
	var table, data []byte
	table = u32(table, uint32(len(tags)))
	start := 128 + 4 + 12*len(tags)
	for _, t := range tags {
		table = append(table, t.name...)
		table = u32(u32(table, uint32(start+len(data))), uint32(len(t.data)))
		data = append(data, t.data...)
		for len(data)%4 != 0 {
			data = append(data, 0)
		}
	}
	head := make([]byte, 128)
	binary.BigEndian.PutUint32(head, uint32(start+len(data)))
	binary.BigEndian.PutUint32(head[8:], 0x02100000)
	copy(head[12:], "mntrRGB XYZ ")
	binary.BigEndian.PutUint16(head[24:], 2000) // year, month, day
	binary.BigEndian.PutUint16(head[26:], 1)
	binary.BigEndian.PutUint16(head[28:], 1)
	copy(head[36:], "acsp")
	copy(head[68:], slices.Concat(fixed(0.9642), fixed(1), fixed(0.8249))) // D50, as the format asks
	return slices.Concat(head, table, data)
}
