package trust

import (
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

func pemOf(t *testing.T, der []byte) []byte {
	t.Helper()
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
}

func pemKey(t *testing.T, c *tls.Certificate) []byte {
	t.Helper()
	der, err := x509.MarshalPKCS8PrivateKey(c.PrivateKey)
	if err != nil {
		t.Fatal(err)
	}
	return pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der})
}

// made is a certificate with its key as the plant would bring it, for names.
func (p *place) made(names ...string) (cert, key []byte) {
	p.t.Helper()
	a, err := OpenAuthority(p.t.TempDir(), p.options())
	if err != nil {
		p.t.Fatal(err)
	}
	c, err := a.issue(names, p.now)
	if err != nil {
		p.t.Fatal(err)
	}
	return pemOf(p.t, c.Certificate[0]), pemKey(p.t, c)
}

// bring puts both where the program reads them.
func (p *place) bring(cert, key []byte) (certFile, keyFile string) {
	p.t.Helper()
	certFile, keyFile = filepath.Join(p.dir, "plant.crt"), filepath.Join(p.dir, "plant.key")
	put(p.t, certFile, cert, 0o600)
	put(p.t, keyFile, key, 0o600)
	return certFile, keyFile
}

func TestACertificateOfThePlantsOwn(t *testing.T) {
	p := newPlace(t)
	certFile, keyFile := p.bring(p.made("dust.works.example", "*.works.example", "192.168.1.20", "localhost", "127.0.0.1"))
	f, err := OpenFiles(certFile, keyFile, p.options("dust.works.example"))
	if err != nil {
		t.Fatal(err)
	}
	if got, want := f.Names(), []string{"dust.works.example", "192.168.1.20", "plant-pc.works.example"}; !slices.Equal(got, want) {
		t.Errorf("names %q, want %q", got, want)
	}
	if !f.Vouches("any.works.example") || f.Vouches("works.example") || f.Vouches("192.168.1.21") || f.Root() != nil {
		t.Error("it vouches for what it does not give, or not for what it does")
	}
	if _, err := f.GetCertificate(&tls.ClientHelloInfo{ServerName: "else.example"}); err != nil || !strings.Contains(p.log.String(), "else.example") {
		t.Errorf("a reader who opened another name: %v %s", err, &p.log)
	}
}

func TestACertificateIsReadAgainWhenItsFilesChange(t *testing.T) {
	p := newPlace(t)
	certFile, keyFile := p.bring(p.made("old.works.example"))
	f, err := OpenFiles(certFile, keyFile, p.options())
	if err != nil {
		t.Fatal(err)
	}
	gives := func(name string) bool {
		t.Helper()
		c, err := f.GetCertificate(&tls.ClientHelloInfo{})
		if err != nil {
			t.Fatal(err)
		}
		return c.Leaf.VerifyHostname(name) == nil
	}
	cert, key := p.made("renewed.works.example")
	put(t, certFile, cert, 0o600) // the key is still the old one's
	if !gives("old.works.example") || !strings.Contains(p.log.String(), "the certificate before goes on") {
		t.Errorf("half of a change is taken, or nothing is said: %s", &p.log)
	}
	put(t, keyFile, append(key, '\n'), 0o600)
	if !gives("renewed.works.example") {
		t.Errorf("the renewed one is not taken: %s", &p.log)
	}
	p.now = p.now.AddDate(2, 0, 0)
	if !gives("renewed.works.example") || !strings.Contains(p.log.String(), "ended on 17 July 2027") {
		t.Errorf("its end is not told: %s", &p.log)
	}
}

func TestWhatIsWrongWithThePlantsCertificateIsASentence(t *testing.T) {
	p := newPlace(t)
	cert, key := p.made("dust.works.example")
	otherCert, otherKey := p.made("dust.works.example")
	bare, bareKey := p.made()
	for name, c := range map[string]struct {
		cert, key []byte
		now       time.Time
		name      string
		want      string
	}{
		"another's key":  {cert: cert, key: otherKey, want: "does not match"},
		"not the first":  {cert: slices.Concat(otherCert, cert), key: key, want: "stands first"},
		"swapped":        {cert: key, key: cert, want: "switched"},
		"no PEM":         {cert: []byte("hello"), key: key, want: "PEM"},
		"locked":         {cert: cert, key: bytes.ReplaceAll(key, []byte("PRIVATE"), []byte("ENCRYPTED PRIVATE")), want: "password"},
		"ended":          {cert: cert, key: key, now: p.now.AddDate(2, 0, 0), want: "ended on 17 July 2027"},
		"not begun":      {cert: cert, key: key, now: p.now.AddDate(-1, 0, 0), want: "begins on 15 June 2026"},
		"no names":       {cert: bare, key: bareKey, want: "no host name and no address"},
		"not that name":  {cert: cert, key: key, name: "else.works.example", want: "it gives dust.works.example"},
		"not in address": {cert: cert, key: key, name: "192.168.1.20", want: "--name 192.168.1.20"},
	} {
		t.Run(name, func(t *testing.T) {
			q := newPlace(t)
			if !c.now.IsZero() {
				q.now = c.now
			}
			var names []string
			if c.name != "" {
				names = []string{c.name}
			}
			certFile, keyFile := q.bring(c.cert, c.key)
			if _, err := OpenFiles(certFile, keyFile, q.options(names...)); err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), q.dir) {
				t.Errorf("%v, want %q", err, c.want)
			}
		})
	}
	certFile, keyFile := p.bring(cert, key)
	for _, files := range [][2]string{{certFile + "x", keyFile}, {certFile, keyFile + "x"}} {
		if _, err := OpenFiles(files[0], files[1], p.options()); err == nil || !strings.Contains(err.Error(), "can't be read") || !strings.Contains(err.Error(), p.dir) {
			t.Errorf("%v: %v", files, err)
		}
	}
}
