package feed

import (
	"bytes"
	"fmt"
	"io"
)

// block is a stretch of whole lines of one file.
type block struct {
	buf   []byte // the lines, the last with its line end, followed by padding bytes of line ends
	line  int    // lines of the file before it
	bytes int64  // bytes taken from disk when it was read
	lines int    // lines in it
	last  bool   // the file ends with it
	cut   bool   // the file's last line had no line end of its own
	done  chan struct{}
	out   batch
}

// blockReader cuts a text into blocks at line ends.
type blockReader struct {
	file  string
	r     io.Reader
	size  int    // bytes of a block, unless a line is longer
	most  int    // bytes of the longest line there may be
	carry []byte // the beginning of a line that the block before could not hold
	line  int
	begun bool
	ended bool
}

// next fills a block. It returns io.EOF after the last one.
func (br *blockReader) next(b *block) error {
	if br.ended {
		return io.EOF
	}
	if need := max(br.size, len(br.carry)); cap(b.buf) < need+padding {
		b.buf = make([]byte, need+padding)
	}
	buf := b.buf[:max(br.size, len(br.carry))]
	if cap(b.buf) > len(buf)+padding {
		buf = b.buf[:cap(b.buf)-padding]
	}
	n := copy(buf, br.carry)
	b.cut = false
	for !br.ended {
		if n == len(buf) {
			if len(buf) >= br.most || bytes.IndexByte(buf[len(br.carry):], '\n') >= 0 {
				break
			}
			longer := make([]byte, min(2*len(buf), br.most), min(2*len(buf), br.most)+padding)
			copy(longer, buf)
			buf = longer
		}
		k, err := br.r.Read(buf[n:])
		n += k
		if err == io.EOF {
			br.ended = true
		} else if err != nil {
			return readError(br.file, err)
		}
	}
	buf = buf[:n]
	if !br.begun {
		br.begun = true
		if bytes.HasPrefix(buf, []byte("\xef\xbb\xbf")) {
			n = copy(buf, buf[3:])
			buf = buf[:n]
		}
	}
	return br.end(b, buf)
}

// end cuts the block after its last whole line and keeps the rest for the next one.
func (br *blockReader) end(b *block, buf []byte) error {
	if br.ended {
		br.carry = br.carry[:0]
		if len(buf) > 0 && buf[len(buf)-1] != '\n' {
			b.cut = true
			buf = append(buf, '\n')
		}
	} else {
		at := lineEnd(buf)
		if at < 0 {
			return br.tooLong()
		}
		br.carry = append(br.carry[:0], buf[at+1:]...)
		buf = buf[:at+1]
	}
	b.buf, b.line, b.last = buf, br.line, br.ended
	b.lines = bytes.Count(buf, []byte("\n"))
	br.line += b.lines
	for i := range padding {
		buf[:len(buf)+padding][len(buf)+i] = '\n'
	}
	return nil
}

// lineEnd returns the position of the last line end outside quotes, so that a quoted cell with line
// ends in it stays whole; where quotes don't pair up, the last line end of all.
func lineEnd(buf []byte) int {
	last := bytes.LastIndexByte(buf, '\n')
	if last < 0 || bytes.Count(buf[:last], []byte(`"`))%2 == 0 {
		return last
	}
	for at := last; at > 0 && last-at < maxQuoted; {
		before := bytes.LastIndexByte(buf[:at], '\n')
		if before < 0 {
			break
		}
		if bytes.Count(buf[before:at], []byte(`"`))%2 == 1 {
			return before
		}
		at = before
	}
	return last
}

func (br *blockReader) tooLong() error {
	return &Error{File: br.file, Line: br.line + 1, Why: fmt.Sprintf("the line is longer than %s bytes", thousands(br.most)),
		Do: "this is no log with one reading time per line; export it again as CSV with line ends"}
}
