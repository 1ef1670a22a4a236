package main

import (
	"fmt"
	"log/slog"
	"net"
	"net/url"
	"strings"

	"dustwright/web"
	"dustwright/web/trust"
)

// httpsFlags say how the pages are served, and what they prove themselves with.
type httpsFlags struct {
	Listen string   `placeholder:"HOST:PORT" help:"Where the pages are served: 127.0.0.1:8470 without it, which only this computer reaches; 0.0.0.0:8470, every address of this computer, with --https."`
	HTTPS  bool     `name:"https" help:"Serve HTTPS too, at the same port: phones keep pages without signal, and give microphone and camera, over HTTPS only. The plant's own authority is made in the data folder; the page /phones says how a phone takes it."`
	Name   []string `placeholder:"NAME" sep:"none" help:"With --https: a host name or address by which phones open the pages, beside those this computer has. May be given several times; labels lead to the first."`
	Cert   string   `placeholder:"FILE" help:"HTTPS with the plant's own certificate instead, PEM, those up to its authority after it. Read again when the file changes."`
	Key    string   `placeholder:"FILE" help:"Its key, PEM."`
}

// check finds flags that don't go together.
func (h *httpsFlags) check() error {
	var f flags
	if (h.Cert == "") != (h.Key == "") {
		f.fault("--cert and --key go together: the certificate, and the key that belongs to it")
	}
	if len(h.Name) > 0 && !h.on() {
		f.fault("--name is what the certificate gives: it goes with --https, or with --cert and --key")
	}
	return f.err()
}

// on tells whether HTTPS is asked for.
func (h *httpsFlags) on() bool { return h.HTTPS || h.Cert != "" }

// listen is where the pages are served.
func (h *httpsFlags) listen() string {
	switch {
	case h.Listen != "":
		return h.Listen
	case h.on():
		return "0.0.0.0:8470"
	}
	return "127.0.0.1:8470"
}

// secure is what the pages prove themselves with, nil without HTTPS. Where it was asked for and can't be had, that is
// an error: nobody may think a page safe from others that is not.
func (h *httpsFlags) secure(e *env, data string) (web.Secure, error) {
	o := trust.Options{Names: h.Name, Now: e.now, Log: e.log()}
	switch {
	case h.Cert != "":
		return trust.OpenFiles(h.Cert, h.Key, o)
	case h.HTTPS:
		return trust.OpenAuthority(data, o)
	}
	return nil, nil //nolint:nilnil // plain HTTP is what was asked for
}

// log is where a server tells what its keeper should know.
func (e *env) log() *slog.Logger {
	return slog.New(slog.NewTextHandler(e.stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))
}

// pages serves the pages of an open plant until it is told to stop.
func (p *openedPlant) pages(e *env, data string, h *httpsFlags) error {
	secure, err := h.secure(e, data)
	if err != nil {
		return err
	}
	srv, err := p.server(e, h.listen(), secure)
	if err != nil {
		return err
	}
	return e.serve(srv, func(address string) { fmt.Fprint(e.stdout, told(address, secure)) })
}

// told says where the pages are, and what there is to do once on a phone.
func told(address string, secure web.Secure) string {
	out := fmt.Sprintf("The pages are at %s  (Ctrl-C stops)\n", address)
	u, err := url.Parse(address)
	switch {
	case err != nil:
		return out
	case secure == nil && u.Hostname() != "localhost" && !net.ParseIP(u.Hostname()).IsLoopback():
		return out + "Over plain HTTP phones keep no pages without signal and give no microphone or camera: --https is for them.\n"
	case secure == nil || secure.Root() == nil:
		return out
	}
	u.Scheme = "http"
	print := web.Fingerprint(secure.Root())
	return out + fmt.Sprintf("Once on each phone: open %s and do what it says.\nThe certificate that it takes must have this SHA-256 fingerprint:\n  %s\n  %s\n",
		u.JoinPath("phones"), strings.Join(print[:4], "  "), strings.Join(print[4:], "  "))
}
