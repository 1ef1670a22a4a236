package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"slices"
	"strconv"
	"time"
)

// reader asks for pages over one connection that stays open, as a browser does; what comes stays packed.
type reader struct {
	host string
	conn net.Conn
	in   *bufio.Reader
	ask  []byte
}

func newReader(host string) (*reader, error) {
	conn, err := net.Dial("tcp", host)
	if err != nil {
		return nil, err
	}
	return &reader{host: host, conn: conn, in: bufio.NewReaderSize(conn, 64<<10)}, nil
}

// got is an answer as it came over the line.
type got struct {
	head http.Header
	body []byte // packed
	wire int    // bytes, head included
}

// send asks for a page; etag names the one the reader has already.
func (r *reader) send(path, etag string) error {
	r.ask = append(append(append(append(r.ask[:0], "GET "...), path...), " HTTP/1.1\r\nHost: "...), r.host...)
	r.ask = append(r.ask, "\r\nAccept: text/html\r\nAccept-Encoding: gzip\r\n"...)
	if etag != "" {
		r.ask = append(append(append(r.ask, "If-None-Match: "...), etag...), "\r\n"...)
	}
	_, err := r.conn.Write(append(r.ask, "\r\n"...))
	return err
}

// skim asks for a page and drops what comes: nothing of it is worked on but its length.
func (r *reader) skim(path string) error {
	if err := r.send(path, ""); err != nil {
		return err
	}
	length := -1
	for first := true; ; first = false {
		line, err := r.in.ReadSlice('\n')
		if err != nil {
			return err
		}
		switch {
		case first && string(line[:min(len(line), 12)]) != "HTTP/1.1 200":
			return fmt.Errorf("%s: %s", path, line)
		case len(line) <= 2:
			if length < 0 {
				return errors.New(path + ": the answer has no length")
			}
			_, err := r.in.Discard(length)
			return err
		case len(line) > 16 && string(line[:16]) == "Content-Length: ":
			if length, err = strconv.Atoi(string(line[16 : len(line)-2])); err != nil {
				return err
			}
		}
	}
}

// fetch asks for one page and keeps it.
func fetch(host, path, etag string) (*got, error) {
	r, err := newReader(host)
	if err != nil {
		return nil, err
	}
	defer func() { _ = r.conn.Close() }() // read whole below
	if err := r.send(path, etag); err != nil {
		return nil, err
	}
	count := &counter{from: r.in}
	answer, err := http.ReadResponse(bufio.NewReader(count), nil)
	if err != nil {
		return nil, err
	}
	body, err := io.ReadAll(answer.Body)
	if err != nil {
		return nil, err
	}
	if answer.StatusCode != http.StatusOK && answer.StatusCode != http.StatusNotModified {
		return nil, fmt.Errorf("%s: %s", path, answer.Status)
	}
	return &got{answer.Header, body, count.n}, nil
}

// counter counts what is read through it.
type counter struct {
	from io.Reader
	n    int
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.from.Read(p)
	c.n += n
	return n, err
}

// crowd lets readers ask one after another as fast as they are answered, and returns how long each answer took.
func crowd(host string, readers int, length time.Duration, path func() string) ([]time.Duration, error) {
	type result struct {
		took []time.Duration
		err  error
	}
	results := make(chan result)
	limit := time.Now().Add(length)
	for range readers {
		go func() {
			r, err := newReader(host)
			if err != nil {
				results <- result{nil, err}
				return
			}
			var took []time.Duration
			for now := time.Now(); now.Before(limit) && err == nil; {
				err = r.skim(path())
				then := time.Now()
				took, now = append(took, then.Sub(now)), then
			}
			results <- result{took, errors.Join(err, r.conn.Close())}
		}()
	}
	var all []time.Duration
	var err error
	for range readers {
		got := <-results
		all, err = append(all, got.took...), errors.Join(err, got.err)
	}
	return all, err
}

// turns is how often page and peer take turns.
const turns = 5

// beside measures a page and, in turns with it, a peer: a handler of the same library that does nothing but
// write as many bytes from memory. The peer says what the machine gives at that moment.
func beside(name, host string, path func() string, size int, o options) error {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	body := make([]byte, size)
	peer := &http.Server{ReadHeaderTimeout: time.Minute, Handler: http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Header().Set("Content-Length", strconv.Itoa(len(body)))
		_, _ = w.Write(body) // a reader that left is counted by itself
	})}
	served := make(chan error, 1)
	go func() { served <- peer.Serve(l) }()
	var page, plain []time.Duration
	for range turns {
		took, err := crowd(host, o.readers, o.each/turns, path)
		if err != nil {
			return err
		}
		page = append(page, took...)
		if took, err = crowd(l.Addr().String(), o.readers, o.each/turns, func() string { return "/" }); err != nil {
			return err
		}
		plain = append(plain, took...)
	}
	show(name, page, o)
	show("  beside it: the same bytes, no more", plain, o)
	fmt.Printf("  answers a second, page over peer: %.2f\n", float64(len(page))/float64(len(plain)))
	if err := peer.Close(); err != nil {
		return err
	}
	if err := <-served; !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

func show(name string, took []time.Duration, o options) {
	slices.Sort(took)
	at := func(p float64) float64 { return took[min(len(took)-1, int(p*float64(len(took))))].Seconds() * 1000 }
	fmt.Printf("%-45s %7d answers, %6.0f a second; median %5.1f ms, 95 %% %5.1f ms, 99 %% %5.1f ms\n", name, len(took), float64(len(took))/o.each.Seconds(), at(0.5), at(0.95), at(0.99))
}
