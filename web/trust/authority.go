package trust

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"
)

// Authority is the plant's own certificate authority, with the certificate of this computer that it vouches for at the
// moment. Only the authority is kept: the computer's certificate is made afresh at each start, before it ends, and when
// the computer gets an address it does not name. Safe for concurrent use.
type Authority struct {
	o    Options
	path string
	root *x509.Certificate
	key  *ecdsa.PrivateKey
	once once

	mu     sync.Mutex
	leaf   *tls.Certificate
	shown  []string  // names that phones may use, the best first
	looked time.Time // when the computer was last asked for its names
}

// The folder in the data folder that holds the authority, and its only file: certificate and key stand in one, so that
// neither can be there without the other.
const (
	folderName = "https"
	fileName   = "authority.pem"
)

// How long certificates hold. Phones get the authority once and should not need another while the collectors live. A
// server's certificate of more than 398 days is refused by browsers; a day of it lies in the past, for phones whose
// clock is behind.
const (
	rootYears   = 20
	leafLife    = 397 * day
	renewBefore = 60 * day
	behind      = day
	day         = 24 * time.Hour
)

// lookEvery is how often the computer is asked what it is called while readers come.
const lookEvery = time.Minute

// OpenAuthority reads the authority of the data folder, or makes it where there is none. Durable on return. Errors are
// sentences for the person who starts the program.
func OpenAuthority(data string, o Options) (*Authority, error) {
	a := &Authority{o: o.filled(), path: filepath.Join(data, folderName, fileName)}
	a.once.log = a.o.Log
	var err error
	a.root, a.key, err = load(a.path)
	if errors.Is(err, fs.ErrNotExist) {
		err = a.found()
	}
	if err != nil {
		return nil, err
	}
	now := a.o.Now()
	switch {
	case now.After(a.root.NotAfter):
		return nil, fmt.Errorf("the plant's certificate authority in %s ended on %s. If this computer's clock is right (it says %s), delete the file: a new authority is made at the next start, and phones have to take that one",
			a.path, date(a.root.NotAfter), date(now))
	case now.Before(a.root.NotBefore):
		return nil, fmt.Errorf("the plant's certificate authority in %s begins on %s and this computer's clock says %s: set the clock", a.path, date(a.root.NotBefore), date(now))
	case now.AddDate(1, 0, 0).After(a.root.NotAfter):
		a.once.warn(fmt.Sprintf("the plant's certificate authority ends on %s: before then delete %s, start again, and let the phones take the new one", date(a.root.NotAfter), a.path))
	}
	for _, n := range a.o.Names {
		if !a.permits(n) {
			return nil, fmt.Errorf("--name %s: the authority in %s may vouch only for %s, and for private addresses. Delete that file, and a new authority with this name is made, which phones have to take anew; or bring a certificate of the plant's own with --cert and --key",
				n, a.path, strings.Join(a.root.PermittedDNSDomains, ", "))
		}
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	return a, a.renew(now, netip.Addr{})
}

// found makes an authority and keeps it.
func (a *Authority) found() error {
	names := []string{"localhost"}
	for _, n := range slices.Concat(a.o.Names, a.o.Host().names()) {
		_, err := netip.ParseAddr(n)
		switch {
		case err == nil || slices.Contains(names, n): // addresses are vouched for by their ranges
		case !hostName.MatchString(n):
			return fmt.Errorf("--name %s: this is neither a host name nor an address; write for example dust.plant.example or 192.168.1.20", n)
		case !strings.Contains(n, "."):
			return fmt.Errorf("--name %s: an authority for a name of one word could vouch for a whole domain of that name; write it with its domain, or %[1]s.local", n)
		default:
			names = append(names, n)
		}
	}
	root, key, err := draw(names, a.o.Now())
	if err != nil {
		return err
	}
	if err := keep(a.path, root, key); err != nil {
		return err
	}
	a.root, a.key, err = load(a.path) // a file system that can't keep the key from others is found out now, not at the next start
	return err
}

// draw makes an authority that may vouch for some names, what lies below them, and private addresses.
func draw(names []string, now time.Time) (*x509.Certificate, *ecdsa.PrivateKey, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, fmt.Errorf("no key can be made: %w", err)
	}
	called := names[min(1, len(names)-1)]
	t := &x509.Certificate{
		Subject:   pkix.Name{Organization: []string{"Dustwright"}, CommonName: "Dustwright, " + called[:min(30, len(called))] + ", " + now.Format("2 Jan 2006")},
		NotBefore: now.Add(-behind), NotAfter: now.AddDate(rootYears, 0, 0),
		IsCA: true, BasicConstraintsValid: true, MaxPathLenZero: true,
		KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageCRLSign, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: names,
	}
	for _, p := range private() {
		t.PermittedIPRanges = append(t.PermittedIPRanges, &net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen())})
	}
	der, err := x509.CreateCertificate(rand.Reader, t, t, key.Public(), key)
	if err != nil {
		return nil, nil, fmt.Errorf("the plant's certificate authority can't be made: %w", err)
	}
	root, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, nil, fmt.Errorf("the plant's certificate authority can't be made: %w", err)
	}
	return root, key, nil
}

// keep writes an authority so that only its owner can read it: whole or not at all, and durable on return.
func keep(path string, root *x509.Certificate, key *ecdsa.PrivateKey) (err error) {
	const says = "the plant's certificate authority can't be kept in %s, so there is no HTTPS: %w"
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return fmt.Errorf(says, path, err)
	}
	text := slices.Concat(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: root.Raw}), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret}))
	dir := filepath.Dir(path)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf(says, path, err)
	}
	f, err := os.CreateTemp(dir, "new-*") // mode 0600
	if err != nil {
		return fmt.Errorf(says, path, err)
	}
	_, err = f.Write(text)
	if err = errors.Join(err, f.Sync(), f.Close()); err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return fmt.Errorf(says, path, errors.Join(err, os.Remove(f.Name())))
	}
	return errors.Join(syncFolder(dir), syncFolder(filepath.Dir(dir)))
}

// syncFolder makes a rename in dir durable; systems that can't sync a folder need none.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("the folder of the certificate authority: %w", err)
	}
	if err := d.Sync(); err != nil && !errors.Is(err, os.ErrInvalid) && !errors.Is(err, os.ErrPermission) {
		return errors.Join(fmt.Errorf("the folder of the certificate authority: %w", err), d.Close())
	}
	return d.Close()
}

// load reads an authority that was kept.
func load(path string) (*x509.Certificate, *ecdsa.PrivateKey, error) {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, err
	}
	if err == nil && info.Mode().Perm()&0o077 != 0 && runtime.GOOS != "windows" { // Windows has no such bits: its folders hand down who may read
		return nil, nil, fmt.Errorf("the key of the plant's certificate authority in %s can be read by others on this computer (mode %04o): chmod 600 it, on a file system that has such modes. If others may have read it, delete it instead: a new authority is made at the next start, and phones have to take that one",
			path, info.Mode().Perm())
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, nil, fmt.Errorf("the plant's certificate authority can't be read, so there is no HTTPS: %w", err)
	}
	root, key, err := parse(text)
	if err != nil {
		return nil, nil, fmt.Errorf("%s is no certificate authority any more: %w. Put it back from a copy of the data folder, or delete it: a new authority is made at the next start, and phones have to take that one", path, err)
	}
	return root, key, nil
}

// parse reads certificate and key and looks whether they belong together.
func parse(text []byte) (*x509.Certificate, *ecdsa.PrivateKey, error) {
	first, rest := pem.Decode(text)
	if first == nil || first.Type != "CERTIFICATE" {
		return nil, nil, errors.New("it does not begin with a certificate")
	}
	second, _ := pem.Decode(rest)
	if second == nil || second.Type != "PRIVATE KEY" {
		return nil, nil, errors.New("there is no key after the certificate")
	}
	root, err := x509.ParseCertificate(first.Bytes)
	if err != nil {
		return nil, nil, fmt.Errorf("its certificate is damaged (%w)", err)
	}
	secret, err := x509.ParsePKCS8PrivateKey(second.Bytes)
	if err != nil {
		return nil, nil, fmt.Errorf("its key is damaged (%w)", err)
	}
	key, ok := secret.(*ecdsa.PrivateKey)
	switch {
	case !ok || !key.PublicKey.Equal(root.PublicKey):
		return nil, nil, errors.New("its key belongs to another certificate")
	case !root.IsCA || root.CheckSignatureFrom(root) != nil:
		return nil, nil, errors.New("its certificate is not one of an authority that vouches for itself")
	}
	return root, key, nil
}

// permits tells whether the authority may vouch for a name or an address.
func (a *Authority) permits(name string) bool {
	if ip := net.ParseIP(name); ip != nil {
		return slices.ContainsFunc(a.root.PermittedIPRanges, func(r *net.IPNet) bool { return r.Contains(ip) })
	}
	return hostName.MatchString(name) && slices.ContainsFunc(a.root.PermittedDNSDomains, func(d string) bool { return name == d || strings.HasSuffix(name, "."+d) })
}

// Root is the authority's certificate, for phones to take.
func (a *Authority) Root() *x509.Certificate { return a.root }
