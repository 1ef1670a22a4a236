package paper

// column of a table: its title, its share of the width and its side ("L", "R" or "C").
type column struct {
	title string
	share float64
	align string
}

// table writes rows under a head that is repeated on each page. A cell too long for its column wraps.
func (d *sheet) table(cols []column, rows [][]string) {
	d.tableHead(cols)
	for _, r := range rows {
		h := d.rowHeight(cols, r)
		_, page := d.GetPageSize()
		if d.GetY()+h > page-18 {
			d.AddPage()
			d.tableHead(cols)
		}
		d.tableRow(cols, r, h)
	}
	d.Ln(1.5)
}

// Height of a line in a cell, and the space between columns [mm].
const (
	cellStep = 4.1
	cellGap  = 2.5
)

func (d *sheet) tableHead(cols []column) {
	d.font("B", 8.5, inkText)
	d.SetDrawColor(inkText[0], inkText[1], inkText[2])
	d.SetLineWidth(0.3)
	for _, c := range cols {
		d.CellFormat(d.width*c.share-cellGap, 5.5, c.title, "B", 0, c.align, false, 0, "")
		d.CellFormat(cellGap, 5.5, "", "B", 0, "L", false, 0, "")
	}
	d.Ln(5.8)
}

// rowHeight is the height the longest cell needs.
func (d *sheet) rowHeight(cols []column, r []string) float64 {
	d.font("", 8.5, inkText)
	n := 1
	for i, c := range cols {
		if i < len(r) && r[i] != "" {
			n = max(n, len(d.SplitText(r[i], d.width*c.share-cellGap-2)))
		}
	}
	return float64(n)*cellStep + 0.7
}

func (d *sheet) tableRow(cols []column, r []string, h float64) {
	d.font("", 8.5, inkText) // after the head of a new page it is bold
	x, y := margin, d.GetY()
	for i, c := range cols {
		w := d.width * c.share
		d.SetXY(x, y+0.4)
		if i < len(r) {
			d.MultiCell(w-cellGap, cellStep, r[i], "", c.align, false)
		}
		x += w
	}
	d.SetDrawColor(inkLine[0], inkLine[1], inkLine[2])
	d.SetLineWidth(0.2)
	d.Line(margin, y+h, margin+d.width, y+h)
	d.SetXY(margin, y+h)
}
