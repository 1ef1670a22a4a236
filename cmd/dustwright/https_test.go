package main

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"fmt"
	"io"
	"math/big"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"dustwright/plant"
	"dustwright/store"
)

// body asks for an address and returns what came.
func body(t *testing.T, client *http.Client, address string) ([]byte, *http.Response) {
	t.Helper()
	answer, err := client.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	if err := answer.Body.Close(); err != nil {
		t.Fatal(err)
	}
	if answer.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s %.300s", address, answer.Status, text)
	}
	return text, answer
}

// phone is a client that trusts one authority and nothing else.
func phone(t *testing.T, der []byte) *http.Client {
	t.Helper()
	root, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(root)
	transport := &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}, ForceAttemptHTTP2: true}
	t.Cleanup(transport.CloseIdleConnections)
	return &http.Client{Transport: transport}
}

// The built program over HTTPS: a phone takes the authority over plain HTTP, finds the fingerprint that was printed,
// enters a reading, and after the next start trusts it still.
func TestServeOverHTTPS(t *testing.T) {
	dir := t.TempDir()
	if code, _, stderr := runWith(t, "import", "--data", dir, "--collector", filepath.Join("testdata", "sparse.toml")); code != exitDone {
		t.Fatal(stderr)
	}
	args := []string{"serve", "--data", dir, "--https", "--listen", "127.0.0.1:0"}
	c := startPages(t, args...)
	defer c.kill()
	host, ok := strings.CutPrefix(c.base, "https://127.0.0.1:")
	if !ok {
		t.Fatalf("the address is %s", c.base)
	}
	der, _ := body(t, http.DefaultClient, "http://127.0.0.1:"+host+"/phones/authority.crt")
	var told string
	for range 4 {
		c.lines.Scan()
		told += c.lines.Text() + " "
	}
	if sum := sha256.Sum256(der); !strings.Contains(strings.Join(strings.Fields(told), " "), fmt.Sprintf("% X", sum)) || !strings.Contains(told, "http://127.0.0.1:"+host+"/phones") {
		t.Errorf("it says %q", told)
	}
	client := phone(t, der)
	if page, answer := body(t, client, c.base+"/c/DC-9/round"); answer.TLS == nil || answer.ProtoMajor != 2 || !strings.Contains(string(page), "DC-9") {
		t.Errorf("the page came over HTTP/%d, TLS %v: %.200s", answer.ProtoMajor, answer.TLS != nil, page)
	}
	answer, err := client.PostForm(c.base+"/c/DC-9/round", url.Values{"id": {"one"}, "by": {"J. Roe"}, "dp": {"2.40"}})
	if err != nil || answer.StatusCode != http.StatusOK || answer.Request.URL.Scheme != "https" {
		t.Fatalf("a reading: %v %+v", err, answer)
	}
	if err := answer.Body.Close(); err != nil {
		t.Error(err)
	}
	if _, err := http.DefaultClient.Get(c.base + "/"); err == nil {
		t.Error("who does not know the authority is served")
	}
	c.kill()

	again := startPages(t, args...)
	body(t, client, again.base+"/")
	again.kill()
	readings(t, dir, 1)
	if code, _, stderr := runWith(t, "import", "--data", dir, "--collector", filepath.Join("testdata", "sparse.toml")); code != exitDone {
		t.Error(stderr)
	}
	if code, _, stderr := runWith(t, "judge", dir); code != exitDone {
		t.Error(stderr)
	}
}

// readings counts those of a data folder, opened for reading only.
func readings(t *testing.T, dir string, want int) {
	t.Helper()
	s, err := store.OpenReadOnly(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	list, err := s.Records(t.Context(), plant.RecordQuery{Kinds: []plant.Kind{plant.KindReading}})
	if err != nil || len(list) != want {
		t.Errorf("%d readings, want %d; %v", len(list), want, err)
	}
}

// ofThePlant makes a certificate as a plant would bring it.
func ofThePlant(t *testing.T, dir string) (cert, key string, der []byte) {
	t.Helper()
	k, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	c := &x509.Certificate{SerialNumber: big.NewInt(7), Subject: pkix.Name{CommonName: "a plant"}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		DNSNames: []string{"dust.plant.example"}, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageDigitalSignature}
	if der, err = x509.CreateCertificate(rand.Reader, c, c, k.Public(), k); err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(k)
	if err != nil {
		t.Fatal(err)
	}
	cert, key = filepath.Join(dir, "plant.crt"), filepath.Join(dir, "plant.key")
	for path, block := range map[string]*pem.Block{cert: {Type: "CERTIFICATE", Bytes: der}, key: {Type: "PRIVATE KEY", Bytes: secret}} {
		if err := os.WriteFile(path, pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return cert, key, der
}

func TestServeWithThePlantsOwnCertificate(t *testing.T) {
	dir := t.TempDir()
	cert, key, der := ofThePlant(t, dir)
	c := startPages(t, "serve", "--data", filepath.Join(dir, "plant"), "--cert", cert, "--key", key, "--listen", "127.0.0.1:0")
	defer c.kill()
	if page, _ := body(t, phone(t, der), c.base+"/phones"); !strings.Contains(string(page), "own certificate") {
		t.Errorf("%.400s", page)
	}
	if _, err := os.Stat(filepath.Join(dir, "plant", "https")); err == nil {
		t.Error("an authority was made that nobody asked for")
	}
}

// Where HTTPS was asked for and can't be had, nothing is served, and a sentence says why.
func TestServeNeverFallsBackToPlainHTTP(t *testing.T) {
	dir := t.TempDir()
	cert, key, _ := ofThePlant(t, dir)
	other, _, _ := ofThePlant(t, t.TempDir())
	for name, text := range map[string]string{"broken": "hello", "open": "hello"} {
		path := filepath.Join(dir, name, "https", "authority.pem")
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chmod(path, map[string]os.FileMode{"broken": 0o600, "open": 0o644}[name]); err != nil {
			t.Fatal(err)
		}
	}
	for name, c := range map[string]struct {
		args []string
		want string
	}{
		"cert alone":   {[]string{"--cert", cert}, "go together"},
		"key alone":    {[]string{"--key", key}, "go together"},
		"name alone":   {[]string{"--name", "dust.plant.example"}, "goes with --https"},
		"no fit":       {[]string{"--cert", other, "--key", key}, "can't be used together"},
		"no such name": {[]string{"--cert", cert, "--key", key, "--name", "else.example"}, "it gives dust.plant.example"},
		"no file":      {[]string{"--cert", cert + "x", "--key", key}, "can't be read"},
		"broken":       {[]string{"--https", "--data", filepath.Join(dir, "broken")}, "no certificate authority any more"},
		"open":         {[]string{"--https", "--data", filepath.Join(dir, "open")}, "chmod 600"},
		"one word":     {[]string{"--https", "--name", "dust"}, "dust.local"},
	} {
		t.Run(name, func(t *testing.T) {
			if name == "open" && runtime.GOOS == "windows" {
				t.Skip("Windows has no such modes")
			}
			args := append([]string{"serve", "--listen", "127.0.0.1:0", "--data", filepath.Join(dir, "data "+name)}, c.args...)
			code, out, stderr := runWith(t, args...)
			if code != exitUnusable || out != "" || !strings.Contains(stderr, c.want) || strings.Count(strings.TrimSpace(stderr), "\n") > 0 {
				t.Errorf("%d, %q, %q; want %q", code, out, stderr, c.want)
			}
		})
	}
	if code, out, stderr := runWith(t, "demo", "--folder", t.TempDir(), "--cert", cert); code != exitUnusable || out != "" || !strings.Contains(stderr, "go together") {
		t.Errorf("demo: %d %q %q", code, out, stderr)
	}
}

// Who serves phones over plain HTTP learns at the start what that costs; on this computer alone it costs nothing.
func TestPlainHTTPToOthersIsRemarkedOn(t *testing.T) {
	for address, want := range map[string]bool{"http://[::]:8470/": true, "http://192.168.1.20:8470/": true, "http://127.0.0.1:8470/": false, "http://[::1]:8470/": false} {
		if got := strings.Contains(told(address, nil), "--https"); got != want {
			t.Errorf("%s: remarked on %v, want %v", address, got, want)
		}
	}
}

func TestWhereThePagesAreServed(t *testing.T) {
	for want, h := range map[string]httpsFlags{"127.0.0.1:8470": {}, "0.0.0.0:8470": {HTTPS: true}, "0.0.0.0:8470 ": {Cert: "a", Key: "b"}, "10.0.0.9:80": {HTTPS: true, Listen: "10.0.0.9:80"}} {
		if got := h.listen(); got != strings.TrimSpace(want) {
			t.Errorf("%+v: %s, want %s", h, got, want)
		}
	}
}
