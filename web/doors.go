package web

import (
	"errors"
	"log/slog"
	"net"
	"strings"
	"sync"
	"time"
)

// doors part what comes in at one port into plain HTTP and HTTPS. The first byte tells: a TLS handshake begins with 22
// (RFC 8446, 5.1), which begins no request of HTTP.
//
// One port for both, because an address is typed on a phone with gloves on, often without its "https://", and stands
// on labels for years: whichever way it is opened, something answers. Plain HTTP is not sent on to HTTPS: a phone that does not
// know the authority yet must reach the page that tells how to take it, and loggers on the plant's network
// keep their addresses. Pages opened that way from another computer say what they lack.
type doors struct {
	l             net.Listener
	plain, secure *door

	mu      sync.Mutex
	waiting map[net.Conn]bool // nothing came yet
	closed  chan struct{}
	why     error // set before closed is closed
	once    sync.Once
}

// door is one half, as a listener.
type door struct {
	*doors
	conns chan net.Conn
}

// firstByteWithin is how long who opens a connection may take to say something; browsers open some that they never use.
const firstByteWithin = 10 * time.Second

func newDoors(l net.Listener) *doors {
	d := &doors{l: l, waiting: map[net.Conn]bool{}, closed: make(chan struct{})}
	d.plain, d.secure = &door{d, make(chan net.Conn)}, &door{d, make(chan net.Conn)}
	go d.accept()
	return d
}

// accept takes connections in until the listener fails.
func (d *doors) accept() {
	pause := time.Duration(0)
	for {
		c, err := d.l.Accept()
		var again interface{ Temporary() bool }
		switch {
		case err == nil:
			pause = 0
			go d.lead(c)
		case errors.As(err, &again) && again.Temporary(): // as net/http does: too many open files pass
			pause = min(max(2*pause, 5*time.Millisecond), time.Second)
			time.Sleep(pause)
		default:
			d.end(err)
			return
		}
	}
}

// lead waits for the first byte of a connection and leads it to its door.
func (d *doors) lead(c net.Conn) {
	if !d.wait(c) {
		return
	}
	var first [1]byte
	err := c.SetReadDeadline(time.Now().Add(firstByteWithin))
	if err == nil {
		_, err = c.Read(first[:])
	}
	d.mu.Lock()
	delete(d.waiting, c)
	d.mu.Unlock()
	if err != nil || c.SetReadDeadline(time.Time{}) != nil {
		_ = c.Close() // nobody is there
		return
	}
	to := d.plain
	if first[0] == 22 {
		to = d.secure
	}
	select {
	case to.conns <- &begun{Conn: c, first: first[:]}:
	case <-d.closed:
		_ = c.Close() // nobody serves any more
	}
}

// wait notes a connection that has said nothing, so that closing ends it too; false: it is over already.
func (d *doors) wait(c net.Conn) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	select {
	case <-d.closed:
		_ = c.Close() // nobody serves any more
		return false
	default:
		d.waiting[c] = true
		return true
	}
}

// end closes both doors.
func (d *doors) end(why error) {
	d.once.Do(func() {
		d.mu.Lock()
		defer d.mu.Unlock()
		d.why = why
		close(d.closed)
		for c := range d.waiting {
			_ = c.Close() // it has said nothing
		}
	})
}

// Accept returns the next connection of this door.
func (d *door) Accept() (net.Conn, error) {
	select {
	case c := <-d.conns:
		return c, nil
	case <-d.closed:
		return nil, d.why
	}
}

// Close closes both doors and the port.
func (d *door) Close() error {
	d.end(net.ErrClosed)
	if err := d.l.Close(); err != nil && !errors.Is(err, net.ErrClosed) { // the other door may have closed it
		return err
	}
	return nil
}

// Addr is the port's.
func (d *door) Addr() net.Addr { return d.l.Addr() }

// strangers makes one sentence for each phone of what a server complains of handshakes: a browser that does not trust
// the authority tries many times.
type strangers struct {
	log  *slog.Logger
	mu   sync.Mutex
	told map[string]bool
}

// mostStrangers is how many of them are told of.
const mostStrangers = 500

// Write takes one complaint.
func (s *strangers) Write(p []byte) (int, error) {
	text := strings.TrimSpace(string(p))
	_, from, handshake := strings.Cut(text, "TLS handshake error from ")
	if !handshake {
		s.log.Warn(text)
		return len(p), nil
	}
	from, why, _ := strings.Cut(from, ": ")
	host, _, _ := net.SplitHostPort(from) // a complaint of another form is one of nobody in particular
	s.mu.Lock()
	defer s.mu.Unlock()
	distrusts := strings.Contains(why, "certificate") || strings.Contains(why, "bad record MAC") // some send their alert under a key that is not in use yet; the others went away, or spoke no TLS
	if distrusts && !s.told[host] && len(s.told) < mostStrangers {
		if s.told == nil {
			s.told = map[string]bool{}
		}
		s.told[host] = true
		s.log.Warn("somebody does not trust the certificate of these pages yet; the page /phones says how a phone comes to", "address", host, "error", why)
	}
	return len(p), nil
}

// begun is a connection whose first byte was read.
type begun struct {
	net.Conn
	first []byte
}

// CloseWrite ends what is sent and lets the rest of an upload run out, as net/http does when it answers before all of
// it came: closed at once, the answer would be lost.
func (b *begun) CloseWrite() error {
	if c, ok := b.Conn.(interface{ CloseWrite() error }); ok {
		return c.CloseWrite()
	}
	return nil
}

// Read gives the first byte before the rest.
func (b *begun) Read(p []byte) (int, error) {
	if len(b.first) == 0 || len(p) == 0 {
		return b.Conn.Read(p)
	}
	n := copy(p, b.first)
	b.first = b.first[n:]
	return n, nil
}
