package web_test

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dustwright/web"
)

// trusting is a client that trusts the authority of a data folder and nothing else.
func trusting(t *testing.T, dir string) (*http.Client, *tls.Config) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, "https", "authority.pem"))
	if err != nil {
		t.Fatal(err)
	}
	block, _ := pem.Decode(text)
	root, err := x509.ParseCertificate(block.Bytes)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(root)
	conf := &tls.Config{RootCAs: pool}
	transport := &http.Transport{TLSClientConfig: conf.Clone(), ForceAttemptHTTP2: true}
	t.Cleanup(transport.CloseIdleConnections)
	return &http.Client{Transport: transport}, conf
}

func TestOnePortAnswersPlainHTTPAndHTTPS(t *testing.T) {
	s, dir := secured(t)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	ended := make(chan error, 1)
	go func() { ended <- s.web.Run(ctx) }()
	address, err := s.web.Ready(ctx)
	if err != nil {
		t.Fatal(err)
	}
	host, ok := strings.CutPrefix(strings.TrimSuffix(address, "/"), "https://127.0.0.1:")
	if !ok {
		t.Fatalf("the address is %s", address)
	}
	host = "127.0.0.1:" + host
	silent, err := new(net.Dialer).DialContext(ctx, "tcp", host)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = silent.Close() }() // the server ends it
	client, conf := trusting(t, dir)
	for _, c := range []struct {
		client *http.Client
		base   string
		major  int
	}{{http.DefaultClient, "http://", 1}, {client, "https://", 2}, {&http.Client{Transport: &http.Transport{TLSClientConfig: conf.Clone(), DisableKeepAlives: true}}, "https://", 1}} {
		r, err := http.NewRequestWithContext(ctx, http.MethodPost, c.base+host+"/c/DC-1/note", strings.NewReader("by=J&text="+strings.Repeat("x", 300<<10)))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		answer, err := c.client.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.Copy(io.Discard, answer.Body); err != nil {
			t.Error(err)
		}
		if err := answer.Body.Close(); err != nil {
			t.Error(err)
		}
		if answer.StatusCode != http.StatusOK || answer.ProtoMajor != c.major || (answer.TLS != nil) != (c.base == "https://") {
			t.Errorf("%s, HTTP/%d: %d over HTTP/%d", c.base, c.major, answer.StatusCode, answer.ProtoMajor)
		}
		r, err = http.NewRequestWithContext(ctx, http.MethodPost, c.base+host+"/c/DC-1/note", strings.NewReader("by=J&text=x"))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Origin", c.base+"elsewhere.example")
		if answer, err = c.client.Do(r); err != nil {
			t.Fatal(err)
		}
		if answer.StatusCode != http.StatusForbidden {
			t.Errorf("%s: another site's entry: %d", c.base, answer.StatusCode)
		}
		if err := answer.Body.Close(); err != nil {
			t.Error(err)
		}
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, "https://"+host+"/", nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := http.DefaultClient.Do(r); err == nil {
		t.Error("who does not know the authority is served")
	}
	client.CloseIdleConnections()
	http.DefaultClient.CloseIdleConnections()
	stop()
	if err := <-ended; err != nil {
		t.Errorf("it ends with %v", err)
	}
	if n, err := silent.Read(make([]byte, 1)); n != 0 || err == nil {
		t.Errorf("who says nothing is left hanging: %d %v", n, err)
	}
}

// What is told at the start can be opened from a phone, wherever the server listens; where it can't, the page says so.
func TestTheAddressToldIsOneThatPhonesReach(t *testing.T) {
	s := empty(t)
	for listen, want := range map[string]string{":0": "https://dust.works.example:", "0.0.0.0:0": "https://dust.works.example:", "127.0.0.1:0": "https://127.0.0.1:"} {
		srv, err := web.New(web.Options{Service: s.service, Archive: s.store, Blobs: s.store, Listen: listen, Secure: given{[]string{"dust.works.example", "10.0.0.9"}}})
		if err != nil {
			t.Fatal(err)
		}
		ctx, stop := context.WithCancel(t.Context())
		defer stop()
		ended := make(chan error, 1)
		go func() { ended <- srv.Run(ctx) }()
		address, err := srv.Ready(ctx)
		if err != nil || !strings.HasPrefix(address, want) {
			t.Errorf("listening on %s the address told is %q, want %s; %v", listen, address, want, err)
		}
		w := httptest.NewRecorder()
		srv.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "http://localhost/phones", nil))
		if alone := strings.Contains(w.Body.String(), "No phone reaches this address"); alone != strings.Contains(want, "127.0.0.1") {
			t.Errorf("listening on %s, said to be out of reach: %v", listen, alone)
		}
		stop()
		if err := <-ended; err != nil {
			t.Errorf("it ends with %v", err)
		}
	}
}
