package paper

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	_ "image/png" // what phones take, beside JPEG
	"io"

	"github.com/go-pdf/fpdf"

	"dustwright/collector"
	"dustwright/plant"
)

// Damage prints the claim sheet of a delivery that arrived damaged, with its photos; photo opens one of them by its name.
func Damage(w io.Writer, s Setup, c *collector.Collector, arrival plant.Record, photo func(name string) (io.ReadCloser, error)) error {
	d, err := newSheet(s, "Damage on arrival", subject(c))
	if err != nil {
		return err
	}
	body, err := plant.Open(arrival)
	if err != nil {
		return err
	}
	b, ok := body.(*plant.Arrival)
	if !ok {
		return fmt.Errorf("record %s is a %s, no arrival", arrival.ID, arrival.Kind)
	}
	d.pair("seen", fmt.Sprintf("%s by %s", d.when(arrival.At), arrival.By))
	d.pair("damage", b.Damage)
	d.pair("record", fmt.Sprintf("%d, hash %s", arrival.Seq, short(arrival.Hash)))
	if len(b.Items) > 0 {
		d.heading("Looked at")
		d.items(b.Items)
	}
	if len(b.Photos) > 0 {
		d.heading("Photos")
		d.photos(b.Photos, photo)
	}
	d.say("Note the damage on the carrier's papers before signing, keep the packing, and tell carrier and supplier the same day.")
	d.sign("Received by", "Carrier")
	return d.write(w)
}

// photos prints pictures two beside each other; one that can't be shown is named.
func (d *sheet) photos(names []string, open func(string) (io.ReadCloser, error)) {
	const gap, tallest = 4.0, 80.0
	wide := (d.width - gap) / 2
	x, row := margin, 0.0
	for i, name := range names {
		picture, ratio, err := shrunk(name, open)
		if err != nil {
			if x > margin {
				d.SetY(d.GetY() + row + gap)
				x, row = margin, 0
			}
			d.say(fmt.Sprintf("Photo %d is kept with the record and can't be printed: %v.", i+1, err))
			continue
		}
		w, h := wide, wide*ratio
		if h > tallest {
			w, h = tallest/ratio, tallest
		}
		if x == margin {
			d.room(tallest + gap)
		}
		label := fmt.Sprintf("photo %d", i)
		d.RegisterImageOptionsReader(label, fpdf.ImageOptions{ImageType: "JPG"}, picture)
		d.ImageOptions(label, x, d.GetY()+1, w, h, false, fpdf.ImageOptions{ImageType: "JPG"}, 0, "")
		row = max(row, h)
		if x > margin {
			d.SetY(d.GetY() + row + gap)
			x, row = margin, 0
		} else {
			x += wide + gap
		}
	}
	if x > margin {
		d.SetY(d.GetY() + row + gap)
	}
}

// photoMost is the most pixels of a picture that is opened, and photoWide how many across are printed.
const (
	photoMost = 64 << 20
	photoWide = 1000
)

var errPicture = errors.New("it is neither JPEG nor PNG")

// shrunk reads a picture and returns it as JPEG of printable size, with its height over its width.
func shrunk(name string, open func(string) (io.ReadCloser, error)) (_ io.Reader, ratio float64, err error) {
	f, err := open(name)
	if err != nil {
		return nil, 0, err
	}
	data, err := io.ReadAll(f)
	if err := errors.Join(err, f.Close()); err != nil {
		return nil, 0, err
	}
	head, _, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil || head.Width < 1 || head.Height < 1 || head.Width*head.Height > photoMost {
		return nil, 0, errPicture
	}
	whole, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, 0, errPicture
	}
	step := max(1, head.Width/photoWide)
	out := image.NewRGBA(image.Rect(0, 0, max(1, head.Width/step), max(1, head.Height/step)))
	at := whole.Bounds().Min
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			out.Set(x, y, whole.At(at.X+x*step, at.Y+y*step))
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, out, &jpeg.Options{Quality: 80}); err != nil {
		return nil, 0, err
	}
	return &b, float64(out.Rect.Dy()) / float64(out.Rect.Dx()), nil
}
