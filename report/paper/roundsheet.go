package paper

import (
	"fmt"
	"io"
	"net"
	"net/url"

	"github.com/piglig/go-qr"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/plant"
	"dustwright/unit"
)

// Stop is one collector of a round.
type Stop struct {
	Collector *collector.Collector
	Judgement *plant.Judgement // nil where there is none
	Address   string           // of the collector's page, for the QR label; "" prints none
}

// RoundSheet prints the round to fill in by hand, in walking order: for each collector its label, the
// last value and the expected band, and boxes for what is read.
func RoundSheet(w io.Writer, s Setup, stops []Stop) error {
	d, err := newSheet(s, "Round sheet", fmt.Sprintf("%d collectors in walking order", len(stops)))
	if err != nil {
		return err
	}
	d.caution("live")
	d.reach(stops)
	d.font("", body, inkText)
	d.CellFormat(d.width*0.5, 7, "Date and time: ______________________", "", 0, "L", false, 0, "")
	d.CellFormat(d.width*0.5, 7, "Name: ______________________________", "", 1, "L", false, 0, "")
	for i, stop := range stops {
		if err := d.stop(i+1, stop); err != nil {
			return err
		}
	}
	return d.write(w)
}

// stop prints one collector with its boxes.
func (d *sheet) stop(n int, s Stop) error {
	const height = 42.0
	d.room(height)
	d.rule()
	y := d.GetY()
	text := margin
	if s.Address != "" {
		if err := d.qr(s.Address, margin, y, 24); err != nil {
			return err
		}
		text += 28
	}
	d.SetXY(text, y)
	d.font("B", 11, inkText)
	d.CellFormat(100, 5.5, fmt.Sprintf("%d  %s", n, subject(s.Collector)), "", 1, "L", false, 0, "")
	d.SetX(text)
	d.font("", 8.5, inkQuiet)
	d.MultiCell(margin+d.width-text, 4.2, d.expected(s), "", "L", false)
	by := y + 17
	boxes := []string{"dP (" + d.unitAt(2*unit.InchWater) + ")", "header (" + d.unitAt(60*unit.Psi) + ")", "damper (%)", "bin (share full)", "runs? cleans?"}
	w := (margin + d.width - text) / float64(len(boxes))
	for i, b := range boxes {
		x := text + float64(i)*w
		d.SetDrawColor(inkText[0], inkText[1], inkText[2])
		d.SetLineWidth(0.3)
		d.Rect(x, by+4, w-3, 10, "D")
		d.font("", 8, inkQuiet)
		d.SetXY(x, by)
		d.CellFormat(w-3, 4, b, "", 0, "L", false, 0, "")
	}
	d.font("", 8, inkQuiet)
	d.SetXY(text, by+15.5)
	d.CellFormat(margin+d.width-text, 5, "seen or done: ____________________________________________________________________", "", 1, "L", false, 0, "")
	d.SetY(by + 21)
	return nil
}

// unitAt is the unit in which a pressure of that size [Pa] is read.
func (d *sheet) unitAt(pressure float64) string {
	_, symbol, _ := unit.Shown(unit.KindPressure, pressure, d.s.Units)
	return symbol
}

// expected says what to expect of the reading.
func (d *sheet) expected(s Stop) string {
	sp, sys := s.Collector.SetPoints, d.s.Units
	text := "Expected "
	if sp.Low == sp.Low && sp.High == sp.High {
		text = fmt.Sprintf("Cleans between %s and %s", sp.Low.In(sys), sp.High.In(sys))
		if sp.Alarm == sp.Alarm {
			text += fmt.Sprintf("; from %s on somebody is needed", sp.Alarm.In(sys))
		}
		text += ". "
	} else {
		text += "band not known. "
	}
	if j := s.Judgement; j != nil {
		if j.Reading != nil {
			text += fmt.Sprintf("Last %s on %s. ", unit.Print(unit.KindPressure, j.Reading.Value, sys), j.Reading.At.In(d.s.Zone).Format("2 Jan 15:04"))
		}
		if j.NextCheck != nil && j.Standing != judge.Steady {
			text += "While there: " + j.NextCheck.Text.In(sys) + "."
		}
	}
	return text
}

// reach says so where the labels lead nowhere from a phone.
func (d *sheet) reach(stops []Stop) {
	for _, s := range stops {
		u, err := url.Parse(s.Address)
		if s.Address == "" || err != nil {
			continue
		}
		if host := u.Hostname(); host == "localhost" || net.ParseIP(host).IsLoopback() {
			d.say("These labels lead to " + u.Scheme + "://" + u.Host + ", which only this computer reaches. Open the pages by the computer's own address in the plant's network and print again.")
		}
		return
	}
}

// qr draws a QR label of an address as filled squares.
func (d *sheet) qr(address string, x, y, size float64) error {
	code, err := go_qr.EncodeText(address, go_qr.Medium)
	if err != nil {
		return fmt.Errorf("the QR label of %q: %w", address, err)
	}
	n := code.Size()
	step := size / float64(n)
	d.SetFillColor(0, 0, 0)
	for row := range n {
		for col := 0; col < n; col++ {
			if !code.Module(col, row) {
				continue
			}
			run := 1
			for col+run < n && code.Module(col+run, row) {
				run++
			}
			d.Rect(x+float64(col)*step, y+float64(row)*step, float64(run)*step, step*1.02, "F")
			col += run - 1
		}
	}
	return nil
}

// Labels prints QR labels to stick on the collectors, with tag and service in letters a person reads.
func Labels(w io.Writer, s Setup, stops []Stop) error {
	d, err := newSheet(s, "QR labels", "cut out and stick beside the dP gauge")
	if err != nil {
		return err
	}
	d.reach(stops)
	const size, gap = 46.0, 8.0
	per := int(d.width / (size + gap))
	for i, stop := range stops {
		col := i % per
		if col == 0 {
			if i > 0 {
				d.SetY(d.GetY() + size + 20)
			}
			d.room(size + 22)
		}
		x, y := margin+float64(col)*(size+gap), d.GetY()
		if err := d.qr(stop.Address, x, y, size); err != nil {
			return err
		}
		d.font("B", 12, inkText)
		d.SetXY(x, y+size+1)
		d.CellFormat(size, 5, stop.Collector.Tag, "", 0, "C", false, 0, "")
		d.font("", 8, inkQuiet)
		d.SetXY(x, y+size+6)
		d.MultiCell(size, 3.6, stop.Collector.Service, "", "C", false)
		d.SetY(y)
	}
	return d.write(w)
}
