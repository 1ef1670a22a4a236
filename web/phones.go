package web

import (
	"bytes"
	"crypto/sha256"
	"crypto/x509"
	"fmt"
	"html/template"
	"net"
	"net/http"
	"net/url"
	"strings"

	go_qr "github.com/piglig/go-qr"
)

// phonesPage says how a phone comes to trust this server.
type phonesPage struct {
	On     bool     // HTTPS is served
	Own    bool     // by an authority of the plant's own, which phones have to take
	Here   bool     // opened on the computer that serves: what it shows was not changed on the way
	Alone  bool     // no phone can reach the server
	Port   string   // that phones have to reach
	Plain  codeOf   // this page, for a phone that does not trust the authority yet
	Secure codeOf   // the pages over HTTPS
	Other  []string // further addresses of the pages
	Print  []string // fingerprint of the authority
	Name   string   // of the authority, as phones list it
	Ends   string   // its last month
	Limits []string // host names it may vouch for
}

// codeOf is an address with its QR code.
type codeOf struct {
	Address string
	SVG     template.HTML
}

// phones shows the page. It is the same over plain HTTP and HTTPS.
func (s *Server) phones(w http.ResponseWriter, r *http.Request) error {
	p := s.page(r, "Phones")
	body := phonesPage{On: s.o.Secure != nil, Here: loopback(hostOf(r))}
	if body.On {
		if err := s.addresses(&body, r); err != nil {
			return err
		}
		if root := s.o.Secure.Root(); root != nil {
			body.Own, body.Print, body.Name = true, Fingerprint(root), root.Subject.CommonName
			body.Ends, body.Limits = root.NotAfter.Format("January 2006"), root.PermittedDNSDomains
		}
	}
	p.Body = body
	return s.render(w, http.StatusOK, "phones", p)
}

// addresses fills in where phones open the pages.
func (s *Server) addresses(body *phonesPage, r *http.Request) error {
	secure, err := url.Parse(s.base(r))
	if err != nil {
		return wrong("The host " + r.Host + " is no address of these pages.")
	}
	body.Alone, body.Port = loopback(secure.Hostname()), portOf(r.Host, s.port())
	plain := at("http", secure.Hostname(), body.Port).JoinPath("phones") // a page of plain HTTP has the same port, also where HTTPS need not say it
	if body.Plain, err = qrCode(plain.String()); err != nil {
		return err
	}
	if body.Secure, err = qrCode(secure.JoinPath("/").String()); err != nil {
		return err
	}
	for _, n := range s.names() {
		if a := at("https", n, body.Port).String(); a != body.Secure.Address && !body.Alone {
			body.Other = append(body.Other, a)
		}
	}
	return nil
}

// authority hands the certificate of the plant's own authority over: never its key. DER and without a file to save it
// under, so that phones offer to install it.
func (s *Server) authority(w http.ResponseWriter, r *http.Request) error {
	if s.o.Secure == nil || s.o.Secure.Root() == nil {
		return &problem{status: http.StatusNotFound, says: "There is no certificate authority of the plant's own here, so there is none to take."}
	}
	return newAnswer("application/x-x509-ca-cert", s.o.Secure.Root().Raw).send(w, r, "no-cache")
}

// Fingerprint is the SHA-256 of a certificate as phones show it, eight groups of four bytes.
func Fingerprint(c *x509.Certificate) []string {
	sum := sha256.Sum256(c.Raw)
	var out []string
	for i := 0; i < len(sum); i += 4 {
		out = append(out, fmt.Sprintf("% X", sum[i:i+4]))
	}
	return out
}

// base is the address that papers and labels lead to: over HTTPS wherever it is served, since only there a phone keeps
// pages without signal. The reader's own address of this computer counts where the certificate gives it, and else
// the best one it gives.
func (s *Server) base(r *http.Request) string {
	host := r.Host
	switch h := hostOf(r); {
	case s.o.Secure == nil && r.TLS == nil:
		return "http://" + host
	case s.o.Secure != nil && (loopback(h) || !s.o.Secure.Vouches(h)):
		if n := s.names(); len(n) > 0 {
			host = at("https", n[0], portOf(host, s.port())).Host
		}
	}
	return "https://" + host
}

// names are what phones may call this computer, as far as it listens there; none where it listens to itself alone.
func (s *Server) names() []string {
	all := s.o.Secure.Names()
	host, _, err := net.SplitHostPort(s.listens())
	ip := net.ParseIP(host)
	if err != nil || ip == nil || ip.IsUnspecified() {
		return all
	}
	var out []string
	for _, n := range all {
		if a := net.ParseIP(n); !ip.IsLoopback() && (a == nil || a.Equal(ip)) {
			out = append(out, n)
		}
	}
	return out
}

// overPlain tells whether a request came over plain HTTP from another computer although HTTPS is served: that browser keeps
// no pages. On this computer itself it does.
func (s *Server) overPlain(r *http.Request) bool {
	return s.o.Secure != nil && r.TLS == nil && !loopback(hostOf(r))
}

// hostOf is the host that a reader asked for, without the port.
func hostOf(r *http.Request) string {
	u := url.URL{Host: r.Host}
	return u.Hostname()
}

// loopback tells whether a host is this computer by the name only it goes by.
func loopback(host string) bool {
	return host == "localhost" || strings.HasSuffix(host, ".localhost") || net.ParseIP(host).IsLoopback()
}

// portOf is the port in a host that a reader asked for, or another where there is none.
func portOf(host, other string) string {
	u := url.URL{Host: host}
	if p := u.Port(); p != "" {
		return p
	}
	return other
}

// listens is the address that is listened to, "" before.
func (s *Server) listens() string {
	select {
	case <-s.ready:
		return s.addr.String()
	default:
		return ""
	}
}

// port is the one that is listened to, "" before.
func (s *Server) port() string { return portOf(s.listens(), "") }

// opened is the address of the pages, to be told at the start: over HTTPS one that phones can open.
func (s *Server) opened() string {
	if s.o.Secure == nil {
		return "http://" + s.listens() + "/"
	}
	host := s.listens()
	if n := s.names(); len(n) > 0 {
		host = at("https", n[0], s.port()).Host
	}
	return "https://" + host + "/"
}

// at is the address of the pages by a name of this computer.
func at(scheme, name, port string) *url.URL {
	u := &url.URL{Scheme: scheme, Host: net.JoinHostPort(name, port), Path: "/"}
	if port == "" {
		u.Host = strings.TrimSuffix(u.Host, ":")
	}
	return u
}

// qrCode draws the QR code of an address, dark on light in either scheme since not every camera reads the reverse, with
// the margin of four modules that readers ask for (ISO/IEC 18004, from memory).
func qrCode(address string) (codeOf, error) {
	code, err := go_qr.EncodeText(address, go_qr.Medium)
	if err != nil {
		return codeOf{}, fmt.Errorf("the QR code of %q: %w", address, err)
	}
	const margin = 4
	var b bytes.Buffer
	n := code.Size()
	fmt.Fprintf(&b, `<svg class="qr" viewBox="0 0 %d %d" role="img" aria-label="QR code of %s" shape-rendering="crispEdges"><path fill="#fff" d="M0 0h%[1]dv%[1]dH0z"/><path d="`,
		n+2*margin, n+2*margin, template.HTMLEscapeString(address))
	for y := range n {
		for x := range n {
			if code.Module(x, y) {
				fmt.Fprintf(&b, "M%d %dh1v1h-1z", x+margin, y+margin)
			}
		}
	}
	b.WriteString(`"/></svg>`)
	return codeOf{address, template.HTML(b.String())}, nil
}
