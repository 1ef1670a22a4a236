package trust

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"fmt"
	"net"
	"net/netip"
	"slices"
	"strings"
	"time"
)

// GetCertificate returns the certificate of this computer, for tls.Config. It makes a new one when the old one nears its
// end, and when the computer has a name or an address that the old one does not give; where that fails, the old
// one goes on.
func (a *Authority) GetCertificate(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	now, in := a.o.Now(), addressOf(hello.Conn)
	if a.due(now) || in.IsValid() && !a.names(in.String()) && a.permits(in.String()) {
		if err := a.renew(now, in); err != nil {
			a.once.warn(err.Error())
		}
	}
	return a.leaf, nil
}

// due tells whether it is time to look at the computer's names.
func (a *Authority) due(now time.Time) bool {
	return a.ending(now) || now.Before(a.looked) || now.Sub(a.looked) >= lookEvery
}

// ending tells whether the certificate nears its end and could hold longer; the clock may have been set back, too.
func (a *Authority) ending(now time.Time) bool {
	l := a.leaf.Leaf
	return now.Before(l.NotBefore) || now.After(l.NotAfter.Add(-renewBefore)) && l.NotAfter.Before(a.root.NotAfter)
}

// renew asks the computer what it is called, and vouches for that anew where the certificate does not yet; in is the
// address a reader came in by.
func (a *Authority) renew(now time.Time, in netip.Addr) error {
	h := a.o.Host()
	a.looked = now
	a.shown = a.show(h)
	want := slices.Concat(a.shown, []string{"localhost", "127.0.0.1", "::1"})
	if in.IsValid() && a.permits(in.String()) {
		want = append(want, in.String())
	}
	if a.leaf != nil && !a.ending(now) && !slices.ContainsFunc(want, func(n string) bool { return !a.names(n) }) {
		return nil
	}
	leaf, err := a.issue(want, now)
	if err != nil {
		return err
	}
	a.leaf = leaf
	return nil
}

// show lists what phones may call the computer: what the plant said, then addresses, then names. The authority can't vouch for what it was
// not made for: that is told once.
func (a *Authority) show(h Host) []string {
	var out []string
	add := func(n string) {
		if !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	for _, n := range a.o.Names {
		add(n)
	}
	var long []string
	for _, ip := range h.Addresses {
		switch n := ip.WithZone("").String(); {
		case ip.IsLoopback() || ip.IsLinkLocalUnicast() && ip.Is6(): // no browser opens an address with a zone
		case !a.permits(n):
			a.once.warn(fmt.Sprintf("%s is no private address, so the plant's own authority does not vouch for it: open the pages by another one, or bring a certificate with --cert and --key", n))
		case ip.Is6():
			long = append(long, n)
		default:
			add(n)
		}
	}
	for _, n := range h.names() {
		if a.permits(n) {
			add(n)
			continue
		}
		a.once.warn(fmt.Sprintf("this computer is called %s, and the authority in %s was made for %s: open the pages by one of these or by address", n, a.path, strings.Join(a.root.PermittedDNSDomains, ", ")))
	}
	for _, n := range long {
		add(n)
	}
	return out
}

// issue makes a certificate for names and addresses.
func (a *Authority) issue(want []string, now time.Time) (*tls.Certificate, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("no key can be made: %w", err)
	}
	t := &x509.Certificate{
		Subject:   pkix.Name{CommonName: "Dustwright"},
		NotBefore: now.Add(-behind), NotAfter: now.Add(leafLife - behind - time.Second), // the last second counts
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true,
	}
	if t.NotBefore.Before(a.root.NotBefore) {
		t.NotBefore = a.root.NotBefore
	}
	if t.NotAfter.After(a.root.NotAfter) {
		t.NotAfter = a.root.NotAfter
	}
	for _, n := range want {
		if ip := net.ParseIP(n); ip != nil {
			t.IPAddresses = append(t.IPAddresses, ip)
		} else {
			t.DNSNames = append(t.DNSNames, n)
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, t, a.root, key.Public(), a.key)
	if err != nil {
		return nil, fmt.Errorf("the authority can't vouch for this computer: %w", err)
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, fmt.Errorf("the authority can't vouch for this computer: %w", err)
	}
	return &tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key, Leaf: leaf}, nil
}

// names tells whether the certificate gives a name or an address.
func (a *Authority) names(name string) bool { return a.leaf.Leaf.VerifyHostname(name) == nil }

// Names are what phones may call this computer, the best first. It may be none.
func (a *Authority) Names() []string {
	a.mu.Lock()
	defer a.mu.Unlock()
	if now := a.o.Now(); a.due(now) {
		if err := a.renew(now, netip.Addr{}); err != nil {
			a.once.warn(err.Error())
		}
	}
	return slices.Clone(a.shown)
}

// Vouches tells whether browsers that trust the authority take this computer for the host of that name or address.
func (a *Authority) Vouches(host string) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.names(plainName(host))
}
