package web

import (
	"bytes"
	"errors"
	"io"
	"log/slog"
	"net"
	"strings"
	"testing"
)

// script is a listener that hands out what a test wrote down.
type script struct {
	net.Listener
	steps []any // net.Conn or error
}

func (s *script) Accept() (net.Conn, error) {
	step := s.steps[0]
	if len(s.steps) > 1 {
		s.steps = s.steps[1:]
	}
	if c, ok := step.(net.Conn); ok {
		return c, nil
	}
	return nil, step.(error)
}

func (s *script) Close() error { return nil }

// passing is an error of a listener that goes by.
type passing struct{ error }

func (passing) Temporary() bool { return true }

func TestConnectionsAreLedByTheirFirstByte(t *testing.T) {
	a, plain := net.Pipe()
	b, secure := net.Pipe()
	why := errors.New("the port is gone")
	hold := make(chan struct{})
	d := newDoors(&held{script: script{steps: []any{passing{errors.New("too many open files")}, a, b, why}}, after: 3, hold: hold})
	for _, c := range []struct {
		end  net.Conn
		door *door
		says string
	}{{plain, d.plain, "GET / HTTP/1.1"}, {secure, d.secure, "\x16\x03\x01 hello"}} {
		sent := make(chan error, 1)
		go func() { _, err := io.WriteString(c.end, c.says); sent <- err }()
		got, err := c.door.Accept()
		if err != nil {
			t.Fatal(err)
		}
		text := make([]byte, len(c.says))
		if _, err := io.ReadFull(got, text); err != nil || string(text) != c.says {
			t.Errorf("%q arrives as %q, %v", c.says, text, err)
		}
		if err := <-sent; err != nil {
			t.Error(err)
		}
	}
	close(hold)
	for _, d := range []*door{d.plain, d.secure} {
		if _, err := d.Accept(); !errors.Is(err, why) {
			t.Errorf("after the port failed: %v", err)
		}
	}
}

// held lets a listener fail only when the test is ready for it.
type held struct {
	script
	after int
	hold  chan struct{}
}

func (h *held) Accept() (net.Conn, error) {
	if h.after--; h.after < 0 {
		<-h.hold
	}
	return h.script.Accept()
}

func TestAStrangerIsToldOfOnce(t *testing.T) {
	var told bytes.Buffer
	s := &strangers{log: slog.New(slog.NewTextHandler(&told, nil))}
	for _, line := range []string{
		"http: TLS handshake error from 192.168.1.30:5000: remote error: tls: unknown certificate authority\n",
		"http: TLS handshake error from 192.168.1.30:5001: remote error: tls: unknown certificate authority\n",
		"http: TLS handshake error from [fd00::9]:5002: remote error: tls: bad certificate\n",
		"http: TLS handshake error from 192.168.1.31:5003: EOF\n",
		"http: TLS handshake error from 192.168.1.32:5004: local error: tls: bad record MAC\n",
		"http: superfluous response.WriteHeader call\n",
	} {
		if n, err := s.Write([]byte(line)); err != nil || n != len(line) {
			t.Errorf("%q: %d %v", line, n, err)
		}
	}
	for want, n := range map[string]int{"/phones": 3, "192.168.1.30": 1, "fd00::9": 1, "192.168.1.31": 0, "superfluous": 1} {
		if got := strings.Count(told.String(), want); got != n {
			t.Errorf("%q is told %d times, want %d:\n%s", want, got, n, &told)
		}
	}
}

func TestAnAnswerCanEndBeforeAnUpload(t *testing.T) {
	l, err := new(net.ListenConfig).Listen(t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	d := newDoors(l)
	c, err := new(net.Dialer).DialContext(t.Context(), "tcp", l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(c, "P"); err != nil {
		t.Fatal(err)
	}
	got, err := d.plain.Accept()
	if err != nil {
		t.Fatal(err)
	}
	half, ok := got.(interface{ CloseWrite() error })
	if !ok {
		t.Fatal("the server can't end one way alone")
	}
	if err := half.CloseWrite(); err != nil {
		t.Error(err)
	}
	if text, err := io.ReadAll(c); err != nil || len(text) > 0 {
		t.Errorf("the answer does not end: %q %v", text, err)
	}
	if _, err := io.WriteString(c, "OST"); err != nil {
		t.Error(err)
	}
	if err := c.Close(); err != nil {
		t.Error(err)
	}
	if text, err := io.ReadAll(got); err != nil || string(text) != "POST" {
		t.Errorf("the upload arrives as %q, %v", text, err)
	}
	for _, close := range []func() error{got.Close, d.secure.Close, d.plain.Close} {
		if err := close(); err != nil {
			t.Error(err)
		}
	}
	if _, err := d.plain.Accept(); !errors.Is(err, net.ErrClosed) {
		t.Errorf("after closing: %v", err)
	}
}
