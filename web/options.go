package web

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io"
	"log/slog"
	"time"

	"dustwright/plant"
	"dustwright/sense"
	"dustwright/unit"
)

// Archive keeps what pages show beside the plant's view.
type Archive interface {
	Records(ctx context.Context, q plant.RecordQuery) ([]plant.Record, error)
	Verify(ctx context.Context) (n int64, head string, err error)
	Envelope(ctx context.Context, tag string, ch sense.Channel, from, to time.Time, n int) ([]plant.Bucket, error)
}

// Blobs keeps photos, recordings and traces.
type Blobs interface {
	PutBlob(ctx context.Context, r io.Reader) (name string, err error)
	Blob(name string) (io.ReadSeekCloser, error)
}

// Sound is a recording drawn down to one channel.
type Sound struct {
	Samples []float32 // -1 to 1
	Rate    int       // samples per second
}

// PaperRequest says what is to be printed.
type PaperRequest struct {
	Tag   string    // collector; "" where the paper is of the whole plant
	Month time.Time // of a log; zero: the current one
	Paper string    // "a4" or "letter"
	Units unit.System
	Base  string // address of the pages, for labels
	ID    string // of a record
}

// Paper is something that can be printed or taken away: a certificate, a log, an export.
type Paper struct {
	Name  string     // last part of its address, such as "certificate.pdf"
	Title string     // as a person would ask for it
	Type  string     // media type
	Whole bool       // of the whole plant rather than one collector
	Of    plant.Kind // it prints the newest record of this kind, and is offered where there is one; empty: always
	Write func(ctx context.Context, w io.Writer, r PaperRequest) error
}

// Secure holds certificates. Its methods are safe for concurrent use.
type Secure interface {
	GetCertificate(*tls.ClientHelloInfo) (*tls.Certificate, error) // for tls.Config
	Names() []string                                               // what phones may call this computer, the best first
	Vouches(host string) bool                                      // whether browsers find a host's name or address in the certificate
	Root() *x509.Certificate                                       // authority for phones to take; nil: they trust it already
}

// Options say what a Server works with.
type Options struct {
	Service *plant.Service
	Archive Archive
	Blobs   Blobs
	Units   unit.System // of a reader who chose none
	Listen  string      // host:port
	Log     *slog.Logger

	// Secure is what the pages prove themselves with over HTTPS, which is then served at the same port as plain HTTP.
	// nil: plain HTTP only.
	Secure Secure

	// Sound reads a recording; the error is a sentence for the person.
	// nil: the page says that it can't be done here.
	Sound  func(name string, data []byte) (Sound, error)
	Papers []Paper
}

// check says what is missing.
func (o *Options) check() error {
	var errs []error
	for name, missing := range map[string]bool{"Service": o.Service == nil, "Archive": o.Archive == nil, "Blobs": o.Blobs == nil} {
		if missing {
			errs = append(errs, errors.New("web: option "+name+" is needed"))
		}
	}
	return errors.Join(errs...)
}
