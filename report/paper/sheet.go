package paper

import (
	_ "embed"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/go-pdf/fpdf"

	"dustwright/judge"
	"dustwright/unit"
)

//go:embed fonts/DejaVuSansCondensed.ttf
var fontPlain []byte

//go:embed fonts/DejaVuSansCondensed-Bold.ttf
var fontBold []byte

// Format is the size of the paper.
type Format string

// The two formats.
const (
	A4     Format = "A4"
	Letter Format = "Letter"
)

// Setup says how sheets are made.
type Setup struct {
	Format Format
	Units  unit.System
	Zone   *time.Location // of the site; nil is UTC
	Made   time.Time      // printed at the foot, and the date of the file
	Plant  string         // name of the plant; may be empty
	Chain  string         // hash of the last record of the evidence chain the sheet was made from; may be empty
}

// ErrFormat is returned for a paper that is neither A4 nor Letter.
var ErrFormat = errors.New("the paper is A4 or Letter")

// Inks of the house style, as on the pages.
type ink [3]int

var (
	inkText  = ink{29, 35, 38}
	inkQuiet = ink{90, 100, 104}
	inkLine  = ink{217, 212, 199}
	inkFluid = ink{59, 111, 143}
)

// Margins and sizes [mm, pt].
const (
	margin   = 16.0
	body     = 9.5
	lineStep = 4.6
	deferred = "Local codes, the equipment's own manual and licensed practice come first."
)

// sheet is a document while it is made.
type sheet struct {
	*fpdf.Fpdf
	s     Setup
	width float64 // between the margins
}

// newSheet begins a document with title and subject on each page.
func newSheet(s Setup, title, subject string) (*sheet, error) {
	if s.Format != A4 && s.Format != Letter {
		return nil, fmt.Errorf("%w, not %q", ErrFormat, s.Format)
	}
	if s.Zone == nil {
		s.Zone = time.UTC
	}
	f := fpdf.New("P", "mm", string(s.Format), "")
	d := &sheet{Fpdf: f, s: s}
	w, _ := f.GetPageSize()
	d.width = w - 2*margin
	f.SetMargins(margin, margin, margin)
	f.SetAutoPageBreak(true, 18)
	f.SetCreationDate(s.Made)
	f.SetModificationDate(s.Made)
	f.SetCatalogSort(true)
	f.SetTitle(title+", "+subject, true)
	f.AddUTF8FontFromBytes("text", "", fontPlain)
	f.AddUTF8FontFromBytes("text", "B", fontBold)
	f.AliasNbPages("{of}")
	f.SetHeaderFunc(func() { d.head(title, subject) })
	f.SetFooterFunc(d.foot)
	f.AddPage()
	return d, nil
}

// head is the top of each page.
func (d *sheet) head(title, subject string) {
	d.font("B", 14, inkText)
	d.CellFormat(d.width*0.6, 7, title, "", 0, "L", false, 0, "")
	d.font("", body, inkQuiet)
	d.CellFormat(d.width*0.4, 7, d.s.Plant, "", 1, "R", false, 0, "")
	d.font("", 11, inkText)
	d.CellFormat(d.width, 5.5, subject, "", 1, "L", false, 0, "")
	d.rule()
}

// foot is the bottom of each page.
func (d *sheet) foot() {
	d.SetY(-14)
	d.font("", 7.5, inkQuiet)
	left := "Made " + d.s.Made.In(d.s.Zone).Format("2 January 2006 15:04")
	if d.s.Chain != "" {
		left += " from the evidence chain ending " + short(d.s.Chain)
	}
	d.CellFormat(d.width*0.8, 5, left, "", 0, "L", false, 0, "")
	d.CellFormat(d.width*0.2, 5, fmt.Sprintf("page %d of {of}", d.PageNo()), "", 0, "R", false, 0, "")
}

// short is the beginning of a hash, enough to compare by eye.
func short(hash string) string {
	if len(hash) > 16 {
		return hash[:16]
	}
	return hash
}

func (d *sheet) font(style string, size float64, c ink) {
	d.SetFont("text", style, size)
	d.SetTextColor(c[0], c[1], c[2])
}

// rule draws a line across and leaves a gap.
func (d *sheet) rule() {
	d.SetDrawColor(inkLine[0], inkLine[1], inkLine[2])
	d.SetLineWidth(0.3)
	y := d.GetY() + 1.2
	d.Line(margin, y, margin+d.width, y)
	d.SetY(y + 2.2)
}

// heading begins a part.
func (d *sheet) heading(text string) {
	d.room(14)
	d.Ln(2)
	d.font("B", 11, inkText)
	d.CellFormat(d.width, 6, text, "", 1, "L", false, 0, "")
}

// say writes a paragraph.
func (d *sheet) say(text string) {
	d.font("", body, inkText)
	d.MultiCell(d.width, lineStep, text, "", "L", false)
	d.Ln(0.8)
}

// room starts a new page where less than h is left on this one.
func (d *sheet) room(h float64) {
	_, page := d.GetPageSize()
	if d.GetY()+h > page-18 {
		d.AddPage()
	}
}

// caution is a plain box with the warning triangle and the cautions of these ids.
func (d *sheet) caution(ids ...string) {
	text := ""
	for _, t := range ids {
		text += sentence(judge.Caution(t).In(d.s.Units)) + ". "
	}
	text += deferred
	d.font("", body, inkText)
	lines := d.SplitText(text, d.width-22)
	h := float64(len(lines))*lineStep + 5
	d.room(h + 3)
	x, y := margin, d.GetY()
	d.SetDrawColor(inkText[0], inkText[1], inkText[2])
	d.SetLineWidth(0.5)
	d.Rect(x, y, d.width, h, "D")
	d.triangle(x+9, y+h/2)
	d.SetXY(x+18, y+2.5)
	d.MultiCell(d.width-22, lineStep, text, "", "L", false)
	d.SetY(y + h + 3)
}

// triangle is the general warning sign of ISO 3864: a triangle with an exclamation mark.
func (d *sheet) triangle(x, y float64) {
	const r = 5.5
	d.SetLineWidth(0.9)
	d.SetFillColor(245, 204, 0)
	d.Polygon([]fpdf.PointType{{X: x, Y: y - r*0.9}, {X: x + r, Y: y + r*0.8}, {X: x - r, Y: y + r*0.8}}, "FD")
	d.SetFillColor(inkText[0], inkText[1], inkText[2])
	d.Polygon([]fpdf.PointType{{X: x - 0.75, Y: y - 2}, {X: x + 0.75, Y: y - 2}, {X: x + 0.35, Y: y + 1.8}, {X: x - 0.35, Y: y + 1.8}}, "F")
	d.Circle(x, y+3, 0.6, "F")
}

// pair writes a label and its value.
func (d *sheet) pair(label, value string) {
	d.room(6)
	d.font("", body, inkQuiet)
	d.CellFormat(d.width*0.36, 5.2, label, "", 0, "L", false, 0, "")
	d.font("", body, inkText)
	d.MultiCell(d.width*0.64, 5.2, value, "", "L", false)
}

// sign leaves room for names, signatures and dates.
func (d *sheet) sign(roles ...string) {
	d.room(float64(len(roles)) * 15)
	d.Ln(4)
	for _, role := range roles {
		d.Ln(8)
		y := d.GetY()
		d.SetDrawColor(inkText[0], inkText[1], inkText[2])
		d.SetLineWidth(0.25)
		d.Line(margin, y, margin+d.width*0.6, y)
		d.Line(margin+d.width*0.66, y, margin+d.width, y)
		d.font("", 8, inkQuiet)
		d.SetY(y + 0.5)
		d.CellFormat(d.width*0.66, 4, role+": name and signature", "", 0, "L", false, 0, "")
		d.CellFormat(d.width*0.34, 4, "date", "", 1, "L", false, 0, "")
	}
}

// write ends the document.
func (d *sheet) write(w io.Writer) error {
	if err := d.Output(w); err != nil {
		return fmt.Errorf("the PDF can't be made: %w", err)
	}
	return nil
}
