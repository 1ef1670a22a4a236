package trust

import (
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"time"
)

// Files is a certificate with its key that the plant brings. Both are read again when one of them changes. Safe for
// concurrent use.
type Files struct {
	o         Options
	cert, key string
	once      once

	mu     sync.Mutex
	pair   *tls.Certificate
	stamps [2]stamp
}

// stamp tells whether a file was changed.
type stamp struct {
	size int64
	at   time.Time
}

// OpenFiles reads a certificate, with those between it and its authority after it, and its key, both PEM. Errors are
// sentences for the person who starts the program.
func OpenFiles(cert, key string, o Options) (*Files, error) {
	f := &Files{o: o.filled(), cert: cert, key: key}
	f.once.log = f.o.Log
	f.stamps = f.look()
	var err error
	if f.pair, err = f.read(); err != nil {
		return nil, err
	}
	return f, nil
}

// look notes how the files stand; a file that is not there has no size and no time.
func (f *Files) look() (s [2]stamp) {
	for i, path := range []string{f.cert, f.key} {
		if info, err := os.Stat(path); err == nil {
			s[i] = stamp{info.Size(), info.ModTime()}
		}
	}
	return s
}

// read reads both files and looks whether browsers would take them.
func (f *Files) read() (*tls.Certificate, error) {
	cert, err := os.ReadFile(f.cert)
	if err != nil {
		return nil, fmt.Errorf("--cert: the certificate can't be read: %w", err)
	}
	key, err := os.ReadFile(f.key)
	if err != nil {
		return nil, fmt.Errorf("--key: the key can't be read: %w", err)
	}
	if bytes.Contains(key, []byte("ENCRYPTED")) {
		return nil, fmt.Errorf("--key %s: the key is locked with a password, which nobody types at a start: unlock it into a file that only its owner can read", f.key)
	}
	pair, err := tls.X509KeyPair(cert, key)
	if err != nil {
		return nil, fmt.Errorf("--cert %s and --key %s can't be used together: %s. Both are PEM files, the computer's own certificate stands first in the one, and the key in the other is that certificate's",
			f.cert, f.key, strings.TrimPrefix(err.Error(), "tls: "))
	}
	if pair.Leaf == nil {
		if pair.Leaf, err = x509.ParseCertificate(pair.Certificate[0]); err != nil {
			return nil, fmt.Errorf("--cert %s: %w", f.cert, err)
		}
	}
	return &pair, errors.Join(f.holds(pair.Leaf), f.fits(pair.Leaf))
}

// holds says so where a certificate has ended or has not begun.
func (f *Files) holds(c *x509.Certificate) error {
	now := f.o.Now()
	switch {
	case now.After(c.NotAfter):
		return fmt.Errorf("--cert %s: the certificate ended on %s, and browsers refuse it; put a renewed one in its place", f.cert, date(c.NotAfter))
	case now.Before(c.NotBefore):
		return fmt.Errorf("--cert %s: the certificate begins on %s, and this computer's clock says %s", f.cert, date(c.NotBefore), date(now))
	}
	return nil
}

// fits says so where a certificate names nothing, or not what phones shall use.
func (f *Files) fits(c *x509.Certificate) error {
	if len(c.DNSNames)+len(c.IPAddresses) == 0 {
		return fmt.Errorf("--cert %s: the certificate gives no host name and no address among its alternative names, and browsers read no others; have it made for the name by which phones open the pages", f.cert)
	}
	for _, n := range f.o.Names {
		if c.VerifyHostname(n) != nil {
			return fmt.Errorf("--name %s: the certificate in %s does not give it; it gives %s", n, f.cert, strings.Join(given(c), ", "))
		}
	}
	return nil
}

// given lists the names and addresses of a certificate.
func given(c *x509.Certificate) []string {
	out := slices.Clone(c.DNSNames)
	for _, ip := range c.IPAddresses {
		out = append(out, ip.String())
	}
	return out
}

// GetCertificate returns the certificate, for tls.Config, read again where its files have changed. Files that can't be
// used are told once, and the certificate before them goes on.
func (f *Files) GetCertificate(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
	pair := f.current()
	if err := f.holds(pair.Leaf); err != nil {
		f.once.warn(err.Error())
	}
	if n := hello.ServerName; n != "" && pair.Leaf.VerifyHostname(n) != nil {
		f.once.warn(fmt.Sprintf("somebody opened the pages as %.100q, which the certificate in %s does not give; it gives %s", n, f.cert, strings.Join(given(pair.Leaf), ", ")))
	}
	return pair, nil
}

// current is the certificate as its files stand now.
func (f *Files) current() *tls.Certificate {
	f.mu.Lock()
	defer f.mu.Unlock()
	if now := f.look(); now != f.stamps {
		f.stamps = now
		if pair, err := f.read(); err != nil {
			f.once.warn(err.Error() + " (the certificate before goes on)")
		} else {
			f.pair = pair
		}
	}
	return f.pair
}

// Names are what phones may call this computer, the best first.
func (f *Files) Names() []string {
	c := f.current().Leaf
	var out []string
	for _, n := range slices.Concat(f.o.Names, given(c), f.o.Host().names()) {
		if !slices.Contains(out, n) && n != "localhost" && !strings.HasPrefix(n, "127.") && n != "::1" && !strings.Contains(n, "*") && c.VerifyHostname(n) == nil {
			out = append(out, n)
		}
	}
	return out
}

// Vouches tells whether the certificate gives a host's name or address.
func (f *Files) Vouches(host string) bool {
	return f.current().Leaf.VerifyHostname(plainName(host)) == nil
}

// Root is nil: the plant looks after the trust in its own certificate.
func (f *Files) Root() *x509.Certificate { return nil }
