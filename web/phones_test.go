package web_test

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/tls"
	"crypto/x509"
	"encoding/base64"
	"encoding/hex"
	"encoding/pem"
	"fmt"
	"io"
	"math/big"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dustwright/plant"
	"dustwright/web"
	"dustwright/web/trust"
)

// secured is a plant of one collector that is served over HTTPS too, by an authority of its own in the data folder.
func secured(t testing.TB) (*site, string) {
	t.Helper()
	dir := t.TempDir()
	a, err := trust.OpenAuthority(dir, trust.Options{Names: []string{"plant.local"},
		Host: func() trust.Host {
			return trust.Host{Name: "plant-pc", Addresses: []netip.Addr{netip.MustParseAddr("192.168.1.20")}}
		}})
	if err != nil {
		t.Fatal(err)
	}
	s := emptyIn(t, dir, a)
	s.enrol("DC-1", "Weld bay")
	return s, dir
}

// from is a page as it is read under an address.
func (s *site) from(address string, want int) string {
	s.t.Helper()
	r := httptest.NewRequest(http.MethodGet, address, nil) // https makes it one that came over TLS
	return s.answer(r, want)
}

func TestAPhoneIsToldHowItComesToTrustTheServer(t *testing.T) {
	s, dir := secured(t)
	text, err := os.ReadFile(filepath.Join(dir, "https", "authority.pem"))
	if err != nil {
		t.Fatal(err)
	}
	block, _ := pem.Decode(text)
	root, err := x509.ParseCertificate(block.Bytes)
	if err != nil {
		t.Fatal(err)
	}
	phone := s.from("http://192.168.1.20:8470/phones", http.StatusOK)
	here := s.from("http://localhost:8470/phones", http.StatusOK)
	for _, want := range append(web.Fingerprint(root), `"http://192.168.1.20:8470/phones"`, `"https://192.168.1.20:8470/"`, "QR code of https://192.168.1.20:8470/\"",
		"proves nothing about itself", "<b>plant.local</b>", "<b>plant-pc.local</b>", root.NotAfter.Format("January 2006"), "/phones/authority.crt", "port 8470") {
		if !strings.Contains(phone, want) {
			t.Errorf("the page on a phone does not hold %q", want)
		}
	}
	for _, want := range []string{"so this is the true one", `"https://plant.local:8470/"`, `"http://plant.local:8470/phones"`, `"https://192.168.1.20:8470/"`} {
		if !strings.Contains(here, want) {
			t.Errorf("the page on the computer itself does not hold %q", want)
		}
	}
	w := httptest.NewRecorder()
	s.web.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "http://192.168.1.20:8470/phones/authority.crt", nil))
	if w.Code != http.StatusOK || w.Header().Get("Content-Type") != "application/x-x509-ca-cert" || !bytes.Equal(w.Body.Bytes(), root.Raw) {
		t.Errorf("the certificate: %d %v, %d bytes", w.Code, w.Header(), w.Body.Len())
	}
	if got := strings.Join(web.Fingerprint(root), " "); len(got) != 32*3-1 {
		t.Errorf("fingerprint %q", got)
	}
}

func TestWithoutHTTPSThePhonesPageSaysHowToHaveIt(t *testing.T) {
	s := empty(t)
	if page := s.from("http://192.168.1.20:8470/phones", http.StatusOK); !strings.Contains(page, "--https") || strings.Contains(page, "authority.crt") {
		t.Errorf("%.900s", page)
	}
	if says := s.from("http://192.168.1.20:8470/phones/authority.crt", http.StatusNotFound); !strings.Contains(says, "none to take") {
		t.Errorf("%.900s", says)
	}
	if page := s.from("http://192.168.1.20:8470/", http.StatusOK); strings.Contains(page, "set the phone up") {
		t.Error("a page speaks of an HTTPS that there is not")
	}
}

// given is a certificate that the plant brought.
type given struct{ names []string }

func (g given) GetCertificate(*tls.ClientHelloInfo) (*tls.Certificate, error) { return nil, nil }
func (g given) Names() []string                                               { return g.names }
func (g given) Vouches(host string) bool                                      { return len(g.names) > 0 && host == g.names[0] }
func (g given) Root() *x509.Certificate                                       { return nil }

func TestThePlantsOwnCertificateNeedsNoTaking(t *testing.T) {
	s := emptyIn(t, t.TempDir(), given{[]string{"dust.works.example"}})
	page := s.from("http://10.0.0.9/phones", http.StatusOK)
	for _, not := range []string{"authority.crt", "Profile downloaded", "fingerprint"} {
		if strings.Contains(page, not) {
			t.Errorf("the page speaks of %q", not)
		}
	}
	if !strings.Contains(page, "the plant's own certificate") || !strings.Contains(page, `"https://dust.works.example/"`) {
		t.Errorf("%.900s", page)
	}
	s.from("http://10.0.0.9/phones/authority.crt", http.StatusNotFound)
}

// Also of a page that is kept for all readers, each gets the one that fits the way it came.
func TestAPageThatKeepsNothingSaysSo(t *testing.T) {
	s, _ := secured(t)
	for _, path := range []string{"/", "/round", "/c/DC-1"} {
		for range 2 {
			for base, want := range map[string]bool{"http://192.168.1.20:8470": true, "http://plant.local": true, "http://[fd00::2]:8470": true,
				"https://192.168.1.20:8470": false, "http://localhost:8470": false, "http://127.0.0.1:8470": false, "http://[::1]:8470": false} {
				if got := strings.Contains(s.from(base+path, http.StatusOK), "set the phone up"); got != want {
					t.Errorf("%s%s says that it keeps nothing: %v, want %v", base, path, got, want)
				}
			}
		}
	}
}

// What is printed leads to HTTPS, by the address the reader used where the certificate gives it.
func TestLabelsLeadToHTTPS(t *testing.T) {
	s := empty(t)
	base := func(secure web.Secure, address string) (got string) {
		t.Helper()
		srv, err := web.New(web.Options{Service: s.service, Archive: s.store, Blobs: s.store, Secure: secure,
			Papers: []web.Paper{{Name: "x.pdf", Title: "x", Whole: true, Write: func(_ context.Context, _ io.Writer, r web.PaperRequest) error { got = r.Base; return nil }}}})
		if err != nil {
			t.Fatal(err)
		}
		srv.ServeHTTP(httptest.NewRecorder(), httptest.NewRequest(http.MethodGet, address+"/paper/x.pdf", nil))
		return got
	}
	on := given{[]string{"dust.works.example", "10.0.0.9"}}
	for _, c := range []struct {
		secure        web.Secure
		address, want string
	}{
		{nil, "http://10.0.0.9:8470", "http://10.0.0.9:8470"}, {nil, "https://10.0.0.9", "https://10.0.0.9"},
		{on, "http://dust.works.example:8470", "https://dust.works.example:8470"}, {on, "https://dust.works.example", "https://dust.works.example"},
		{on, "http://other.example:8470", "https://dust.works.example:8470"}, {on, "http://localhost:8470", "https://dust.works.example:8470"},
		{on, "http://[::1]", "https://dust.works.example"}, {given{}, "http://10.0.0.9:8470", "https://10.0.0.9:8470"},
	} {
		if got := base(c.secure, c.address); got != c.want {
			t.Errorf("opened at %s, labels lead to %s, want %s", c.address, got, c.want)
		}
	}
}

// spellings are the ways in which a key could leave.
func spellings(t *testing.T, key *ecdsa.PrivateKey) map[string][]byte {
	t.Helper()
	raw, err := key.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	return map[string][]byte{"bytes": raw, "hex": []byte(hex.EncodeToString(raw)), "base64": []byte(base64.StdEncoding.EncodeToString(raw)),
		"PEM": []byte(base64.StdEncoding.EncodeToString(der)[:60]), "number": []byte(new(big.Int).SetBytes(raw).String()), "a key's heading": []byte("PRIVATE KEY")}
}

func TestNoKeyLeavesByAnyRoute(t *testing.T) {
	s, dir := secured(t)
	text, err := os.ReadFile(filepath.Join(dir, "https", "authority.pem"))
	if err != nil {
		t.Fatal(err)
	}
	_, rest := pem.Decode(text)
	block, _ := pem.Decode(rest)
	secret, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		t.Fatal(err)
	}
	never := spellings(t, secret.(*ecdsa.PrivateKey))
	if !bytes.Contains(bytes.ReplaceAll(text, []byte("\n"), nil), never["PEM"]) {
		t.Fatal("the key would not be found in its own file")
	}
	names := []string{"authority.pem", "authority.crt", "authority.key", "labels.pdf", "plant.db", url.PathEscape("../https/authority.pem"), url.PathEscape("../../https/authority.pem"), "https", "..%2fhttps%2fauthority.pem"}
	asked := 0
	for _, rt := range web.RouteAddresses() {
		for _, name := range names {
			path := strings.NewReplacer("{$}", "", "{tag}", "DC-1", "{name}", name, "{id}", name, "{step}", "arrival").Replace(rt[1])
			for _, query := range []string{"", "?download", "?id=" + name + "&file=" + name} {
				r := httptest.NewRequest(rt[0], path+query, strings.NewReader("by=J&file="+name+"&id="+plant.NewID()))
				r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
				w := httptest.NewRecorder()
				s.web.ServeHTTP(w, r)
				asked++
				for how, piece := range never {
					if bytes.Contains(w.Body.Bytes(), piece) || strings.Contains(fmt.Sprint(w.Header()), string(piece)) {
						t.Errorf("%s %s: the answer holds the key (%s)", rt[0], path+query, how)
					}
				}
			}
			if !strings.Contains(rt[1], "{name}") && !strings.Contains(rt[1], "{id}") {
				break
			}
		}
	}
	if asked < 100 {
		t.Errorf("only %d addresses were asked", asked)
	}
	for _, path := range []string{"/https/authority.pem", "/phones/authority.pem", "/phones/authority.key", "/phones/../https/authority.pem", "/assets/authority.pem", "/data/https/authority.pem"} {
		w := httptest.NewRecorder()
		s.web.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
		if w.Code == http.StatusOK {
			t.Errorf("%s is answered", path)
		}
	}
}
