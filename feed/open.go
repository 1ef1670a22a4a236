package feed

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync/atomic"
	"unicode/utf16"

	"github.com/klauspost/compress/gzip"
)

// input is one opened log: lines of text in UTF-8, whatever the file was.
type input struct {
	path  string // as messages name it
	text  io.Reader
	file  *os.File
	size  int64        // bytes on disk, 0 where it is not known
	taken atomic.Int64 // bytes of them read so far
	gz    bool
	// base1904 says that day numbers count from 1904, as some spreadsheets do.
	base1904 bool
	close    func() error
}

// sniffLength is how much of a file is looked at to tell what it is.
const sniffLength = 4096

// openInput opens a log and finds out what it is by its first bytes, never by its name. When ctx ends,
// the file is closed under whoever reads it, so that a read that hangs on a pipe or a dead share ends.
func openInput(ctx context.Context, path string) (*input, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, openError(path, err)
	}
	if info.IsDir() {
		return nil, folderError(path)
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, openError(path, err)
	}
	stop := context.AfterFunc(ctx, func() { file.Close() })
	in := &input{path: path, file: file, close: func() error {
		if !stop() {
			return nil // closed already, because ctx ended
		}
		return file.Close()
	}}
	if info.Mode().IsRegular() {
		in.size = info.Size()
	}
	if err := in.begin(); err != nil {
		_ = in.close() // read only; the error that counts is the one before
		if ctx.Err() != nil {
			err = interrupted(path, ctx.Err())
		}
		return nil, err
	}
	return in, nil
}

// begin looks at the first bytes and puts the decoders in place.
func (in *input) begin() error {
	r := bufio.NewReaderSize(&counting{in: in}, 256<<10)
	head, err := r.Peek(sniffLength)
	if len(head) == 0 && (err == io.EOF || err == nil) {
		return &Error{File: in.path, Why: "the file is empty", Do: "check that the logger wrote to it"}
	}
	if err != nil && err != io.EOF {
		return readError(in.path, err)
	}
	if bytes.HasPrefix(head, []byte("PK\x03\x04")) {
		return errWorkbook
	}
	in.text = r
	if bytes.HasPrefix(head, []byte{0x1f, 0x8b}) {
		if err := in.unzip(r); err != nil {
			return err
		}
		if head, err = in.text.(*bufio.Reader).Peek(sniffLength); err != nil && err != io.EOF {
			return readError(in.path, err)
		}
	}
	if what, do := notText(head); what != "" {
		return &Error{File: in.path, Why: what, Do: do}
	}
	in.text = decoded(in.text, head)
	return nil
}

// errWorkbook says that the file is a zip, which among logs means a spreadsheet.
var errWorkbook = errors.New("feed: workbook")

// unzip puts the gzip decoder in front.
func (in *input) unzip(r *bufio.Reader) error {
	z, err := gzip.NewReader(r)
	if err != nil {
		return readError(in.path, err)
	}
	in.gz = true
	file := in.close
	in.close = func() error { return errors.Join(z.Close(), file()) }
	in.text = bufio.NewReaderSize(z, 64<<10)
	return nil
}

// counting counts the bytes taken from disk, for the progress bar.
type counting struct{ in *input }

func (c *counting) Read(p []byte) (int, error) {
	n, err := c.in.file.Read(p)
	c.in.taken.Add(int64(n))
	return n, err
}

// signatures are the beginnings of files that people hand over by mistake.
var signatures = []struct{ head, what, do string }{
	{"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "this is a spreadsheet of the old binary kind (.xls)", "save it as .xlsx or CSV"},
	{"\x89PNG", "this is a picture, not a log", "give the CSV or .xlsx the logger exports"},
	{"\xff\xd8\xff", "this is a photo, not a log", "give the CSV or .xlsx the logger exports"},
	{"GIF8", "this is a picture, not a log", "give the CSV or .xlsx the logger exports"},
	{"%PDF", "this is a PDF, not a log", "give the CSV or .xlsx it was printed from"},
	{"BZh", "this is packed with bzip2", "unpack it first, or pack it with gzip"},
	{"\xfd7zXZ", "this is packed with xz", "unpack it first, or pack it with gzip"},
	{"\x28\xb5\x2f\xfd", "this is packed with zstd", "unpack it first, or pack it with gzip"},
	{"7z\xbc\xaf", "this is a 7z archive", "unpack it first"},
	{"Rar!", "this is a rar archive", "unpack it first"},
	{"SQLite format 3\x00", "this is a database, not a log", "export the readings as CSV"},
	{"PAR1", "this is a Parquet file", "export the readings as CSV"},
	{"\x7fELF", "this is a program, not a log", "give the CSV or .xlsx the logger exports"},
	{"RIFF", "this is a sound or a film, not a log", "give the CSV or .xlsx the logger exports"},
	{"OggS", "this is a sound, not a log", "give the CSV or .xlsx the logger exports"},
	{"fLaC", "this is a sound, not a log", "give the CSV or .xlsx the logger exports"},
	{"ID3", "this is a sound, not a log", "give the CSV or .xlsx the logger exports"},
}

// notText says what a file is that is no text, and what to do; "" for text. A few NUL bytes, as a
// power cut leaves them, are no reason to refuse a log.
func notText(head []byte) (what, do string) {
	for _, s := range signatures {
		if bytes.HasPrefix(head, []byte(s.head)) {
			return s.what, s.do
		}
	}
	if wideText(head) != nil {
		return "", ""
	}
	odd := 0
	for _, c := range head {
		if c < ' ' && c != '\n' && c != '\r' && c != '\t' || c == 0x7f {
			odd++
		}
	}
	if odd*10 > len(head) {
		return "this is a binary file, not a log", "give the CSV or .xlsx the logger exports"
	}
	return "", ""
}

// byteOrder tells how UTF-16 is laid down: which of two bytes is the high one.
type byteOrder struct{ high int }

// wideText recognises UTF-16, by its mark or by every other byte being zero; nil for anything else.
func wideText(head []byte) *byteOrder {
	switch {
	case bytes.HasPrefix(head, []byte{0xff, 0xfe}):
		return &byteOrder{high: 1}
	case bytes.HasPrefix(head, []byte{0xfe, 0xff}):
		return &byteOrder{high: 0}
	case len(head) < 8:
		return nil
	}
	var zeros [2]int
	for i, c := range head {
		if c == 0 {
			zeros[i&1]++
		}
	}
	half := len(head) / 2
	for high, low := range []int{1, 0} {
		if zeros[high]*10 > half*9 && zeros[low]*10 < half {
			return &byteOrder{high: high}
		}
	}
	return nil
}

// decoded puts a decoder before text that is not plain UTF-8 with line feeds: UTF-16, a byte order
// mark, lines that end in a carriage return alone.
func decoded(r io.Reader, head []byte) io.Reader {
	if order := wideText(head); order != nil {
		r = &wideReader{r: bufio.NewReaderSize(r, 64<<10), high: order.high}
		head = bytes.ReplaceAll(head, []byte{0}, nil)
	}
	if bytes.IndexByte(head, '\n') < 0 && bytes.IndexByte(head, '\r') >= 0 {
		r = &returnReader{r}
	}
	return r
}

// returnReader turns carriage returns into line feeds.
type returnReader struct{ r io.Reader }

func (d *returnReader) Read(p []byte) (int, error) {
	n, err := d.r.Read(p)
	for i, c := range p[:n] {
		if c == '\r' {
			p[i] = '\n'
		}
	}
	return n, err
}

// wideReader turns UTF-16 into UTF-8. Half a character at the end is dropped.
type wideReader struct {
	r       *bufio.Reader
	high    int
	pending []byte
}

func (d *wideReader) Read(p []byte) (int, error) {
	n := copy(p, d.pending)
	d.pending = d.pending[n:]
	for n < len(p) && len(d.pending) == 0 {
		c, err := d.unit()
		if err != nil {
			if n > 0 && err == io.EOF {
				return n, nil
			}
			return n, err
		}
		r := rune(c)
		if utf16.IsSurrogate(r) {
			low, err := d.unit()
			if err != nil && err != io.EOF {
				return n, err
			}
			r = utf16.DecodeRune(r, rune(low))
		}
		if r < 0x80 {
			p[n] = byte(r)
			n++
			continue
		}
		d.pending = append(d.pending[:0], string(r)...)
		k := copy(p[n:], d.pending)
		n += k
		d.pending = d.pending[k:]
	}
	return n, nil
}

// unit reads two bytes.
func (d *wideReader) unit() (uint16, error) {
	var b [2]byte
	for i := range b {
		c, err := d.r.ReadByte()
		if err != nil {
			return 0, err
		}
		b[i] = c
	}
	return uint16(b[d.high])<<8 | uint16(b[1-d.high]), nil
}

// openError says why a file can't be opened.
func openError(path string, err error) error {
	e := &Error{File: path, Cause: err}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		e.Why, e.Do = "there is no such file", "check the name and the folder"
	case errors.Is(err, fs.ErrPermission):
		e.Why, e.Do = "it may not be read by this user", "ask its owner for the right to read it"
	default:
		e.Why = "it can't be opened: " + plainCause(err)
	}
	return e
}

func folderError(path string) error {
	return &Error{File: path, Why: "this is a folder, not a log", Do: fmt.Sprintf("name the logs in it, for example %s", filepath.Join(path, "*.csv"))}
}

// readError says why reading ended before the file did.
func readError(path string, err error) error {
	e := &Error{File: path, Cause: err}
	switch {
	case errors.Is(err, io.ErrUnexpectedEOF):
		e.Why, e.Do = "the gzip file ends too early", "it was probably cut while it was copied: copy it again"
	case errors.Is(err, gzip.ErrChecksum), errors.Is(err, gzip.ErrHeader):
		e.Why, e.Do = "the gzip file is damaged", "copy it again from the logger"
	default:
		e.Why, e.Do = "reading it stopped: "+plainCause(err), "check the disk or the share it is on and try again"
	}
	return e
}

// plainCause returns what the system said without repeating the path.
func plainCause(err error) string {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err.Error()
	}
	return err.Error()
}
