package documents

// printColumn is a column of a printed table.
type printColumn struct {
	head  string
	width float64 // in mm, the gap to the next included
	right bool    // its text ends at the column's right
}

// printCell is what stands in one cell: texts, each from a line of its own.
type printCell []string

// printTable is a table that goes from page to page, its head on each. beside,
// where there is one, draws into a row's last column.
type printTable struct {
	columns []printColumn
	rows    [][]printCell
	bold    []bool // rows set in bold; nil for none
	beside  func(row int, x, y, height float64)
}

const (
	columnGap = 2.5 // between columns, in mm
	rowPad    = 1.0 // above and below a row's text
)

// table writes a table.
func (p *sheet) table(t printTable) {
	p.need(p.opens(t))
	p.tableHead(t)
	for i, row := range t.rows {
		p.set(t.style(i), tableSize)
		lines := p.cellLines(t, row)
		want := p.wants(lines)
		if i == len(t.rows)-2 { // the last row does not stand alone
			want += p.wants(p.cellLines(t, t.rows[i+1]))
		}
		if i > 0 && p.left() < want {
			p.newPage()
			p.tableHead(t)
		}
		p.tableRow(t, i, lines)
	}
	p.set("", textSize)
	p.y += 1.5
}

// wants is the room that a row wants on one page; one that is higher may be
// broken over two.
func (p *sheet) wants(lines [][]string) float64 {
	return min(float64(deepest(lines))*p.leading()+2*rowPad, 45)
}

// opens is the room that a table's head and first row want.
func (p *sheet) opens(t printTable) float64 {
	p.set(t.style(0), tableSize)
	return 10 + p.wants(p.cellLines(t, t.rows[0]))
}

// style is the type of a row.
func (t printTable) style(row int) string {
	if t.bold != nil && t.bold[row] {
		return "B"
	}
	return ""
}

// cellLines breaks the texts of a row into lines, cell by cell.
func (p *sheet) cellLines(t printTable, row []printCell) [][]string {
	lines := make([][]string, len(row))
	for k, cell := range row {
		for _, text := range cell {
			lines[k] = append(lines[k], p.wrap(text, t.columns[k].width-columnGap)...)
		}
	}
	return lines
}

func deepest(lines [][]string) int {
	most := 1
	for _, cell := range lines {
		most = max(most, len(cell))
	}
	return most
}

// tableHead writes the heads of the columns, where there are any.
func (p *sheet) tableHead(t printTable) {
	heads := make([]printCell, len(t.columns))
	all := ""
	for k, c := range t.columns {
		heads[k] = printCell{c.head}
		all += c.head
	}
	if all != "" {
		p.set("B", smallSize)
		lines := p.cellLines(t, heads)
		p.cells(t, lines)
		p.y += float64(deepest(lines))*p.leading() + 0.8
	}
	p.line(sideMargin, p.y, sideMargin+t.width(), p.y, 0.3, black)
}

func (t printTable) width() float64 {
	width := 0.0
	for _, c := range t.columns {
		width += c.width
	}
	return width
}

// tableRow writes one row; what a page can't take goes on the next.
func (p *sheet) tableRow(t printTable, i int, lines [][]string) {
	p.set(t.style(i), tableSize)
	for rest, first := deepest(lines), true; rest > 0; first = false {
		fits := int((p.left() - 2*rowPad) / p.leading())
		if fits < 1 {
			p.newPage()
			p.tableHead(t)
			p.set(t.style(i), tableSize)
			continue
		}
		now := min(rest, fits)
		height := float64(now)*p.leading() + 2*rowPad
		if t.beside != nil && first {
			last := len(t.columns) - 1
			t.beside(i, sideMargin+t.width()-t.columns[last].width, p.y, height)
		}
		p.y += rowPad
		p.cells(t, firstLines(lines, now))
		p.y += height - rowPad
		p.line(sideMargin, p.y, sideMargin+t.width(), p.y, 0.1, rule)
		rest -= now
	}
}

// firstLines takes so many lines off every cell.
func firstLines(lines [][]string, n int) [][]string {
	taken := make([][]string, len(lines))
	for k, cell := range lines {
		cut := min(n, len(cell))
		taken[k], lines[k] = cell[:cut], cell[cut:]
	}
	return taken
}

// cells writes the lines of a row, cell by cell, and stays where it is.
func (p *sheet) cells(t printTable, lines [][]string) {
	x := sideMargin
	for k, c := range t.columns {
		for n, line := range lines[k] {
			y := p.y + float64(n)*p.leading()
			if c.right {
				p.atRight(x+c.width-columnGap, y, line)
			} else {
				p.at(x, y, line)
			}
		}
		x += c.width
	}
}
