package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"net/url"
	"path"
	"strconv"
	"strings"
	"time"

	"dustwright/judge"
	"dustwright/plant"
	"dustwright/unit"
)

//go:embed pages/*.html
var pageFiles embed.FS

// pages are the templates by name.
type pages map[string]*template.Template

// parsePages parses every template together with the layout.
func parsePages(a *assets) (pages, error) {
	files, err := fs.Glob(pageFiles, "pages/*.html")
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	out := pages{}
	funcs := template.FuncMap{"asset": a.address, "path": url.PathEscape, "words": dashed, "minutes": minutes}
	for _, f := range files {
		name := strings.TrimSuffix(path.Base(f), ".html")
		if strings.HasPrefix(name, "_") {
			continue
		}
		t, err := template.New("_layout.html").Funcs(funcs).Option("missingkey=error").ParseFS(pageFiles, "pages/_*.html", f)
		if err != nil {
			return nil, fmt.Errorf("web: page %s: %w", name, err)
		}
		out[name] = t
	}
	return out, nil
}

// page is what the layout needs of every page.
type page struct {
	Title   string
	Sub     string // beside the title, quiet
	Tag     string // of the collector the page is about
	Caution *cautionBox
	By      string // who used this browser last
	Units   unit.System
	Now     time.Time
	Back    string // address of the page, with what was asked of it
	ID      string // for the record that the page's form makes, where no script gives one
	Told    string // a sentence about what was just done
	Plain   bool   // it came over plain HTTP from another computer, where HTTPS is to be had
	Body    any
}

// cautionBox opens a page that leads to hands on the machine.
type cautionBox struct {
	Text string
	Tick bool // a box to tick that goes on record
}

// deference stands under every caution.
const deference = "Local codes, the equipment's own manual and licensed practice come first."

// Deference returns the sentence that stands under every caution.
func (cautionBox) Deference() string { return deference }

// page starts a page's data; the caution of its route is put in.
func (s *Server) page(r *http.Request, title string) *page {
	p := &page{Title: title, Units: s.unitsOf(r), Now: s.o.Service.Now(), Back: r.URL.RequestURI(), Tag: r.PathValue("tag"), ID: plant.NewID(), Plain: s.overPlain(r) && r.URL.Path != "/phones"}
	if c, err := r.Cookie("by"); err == nil {
		if name, err := url.QueryUnescape(c.Value); err == nil {
			p.By = name
		}
	}
	if id := routeOf(r).caution; id != "" {
		p.Caution = &cautionBox{Text: sentence(judge.Caution(id).In(p.Units)), Tick: routeOf(r).tick}
	}
	return p
}

// unitsOf is the reader's choice of units.
func (s *Server) unitsOf(r *http.Request) unit.System {
	choice := r.URL.Query().Get("units")
	if c, err := r.Cookie("units"); choice == "" && err == nil {
		choice = c.Value
	}
	switch choice {
	case "si":
		return unit.SI
	case "us":
		return unit.US
	}
	return s.o.Units
}

// render makes a page in memory and sends it whole, or an error and nothing.
func (s *Server) render(w http.ResponseWriter, status int, name string, p *page) error {
	body, err := s.make(name, p)
	if err != nil {
		return err
	}
	if w.Header().Get("Cache-Control") == "" {
		w.Header().Set("Cache-Control", "no-cache")
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, err = w.Write(body)
	return gone(err)
}

func (s *Server) make(name string, p *page) ([]byte, error) {
	t := s.pages[name]
	if t == nil {
		panic("web: no page " + name)
	}
	var b bytes.Buffer
	if err := t.Execute(&b, p); err != nil {
		return nil, fmt.Errorf("page %s: %w", name, err)
	}
	return b.Bytes(), nil
}

// gone drops the error of writing to a reader who left: there is nobody to tell, and no fault of ours.
func gone(error) error { return nil }

// json answers in JSON.
func (s *Server) json(w http.ResponseWriter, status int, v any) {
	body, err := json.Marshal(v)
	if err != nil {
		s.log.Error("an answer can't be written as JSON", "error", err)
		status, body = http.StatusInternalServerError, []byte(`{"error":"the answer can't be written; the details are in the server's log"}`)
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-cache")
	w.WriteHeader(status)
	_, _ = w.Write(append(body, '\n')) // a reader who left can't be told
}

// wantsJSON reports whether a program asks.
func wantsJSON(r *http.Request) bool {
	return strings.HasPrefix(r.URL.Path, "/api/") || strings.Contains(r.Header.Get("Accept"), "application/json")
}

// answer is a whole answer ready to send.
type answer struct {
	kind       string // media type
	body, gzip []byte
	etag       string
}

func newAnswer(kind string, body []byte) *answer {
	sum := sha256.Sum256(body)
	return &answer{kind: kind, body: body, gzip: squeeze(body), etag: `"` + hex.EncodeToString(sum[:8]) + `"`}
}

// squeeze compresses; a buffer takes every write.
func squeeze(body []byte) []byte {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	_, _ = z.Write(body) // a buffer takes every write
	_ = z.Close()        // likewise
	return b.Bytes()
}

// send sends an answer, or says that the reader has it already.
func (a *answer) send(w http.ResponseWriter, r *http.Request, caching string) error {
	h := w.Header()
	h.Set("Cache-Control", caching)
	h.Set("ETag", a.etag)
	h.Set("Content-Type", a.kind)
	h.Add("Vary", "Accept-Encoding")
	if r.Header.Get("If-None-Match") == a.etag {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	body := a.body
	if len(a.gzip) < len(body) && strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		h.Set("Content-Encoding", "gzip")
		body = a.gzip
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	_, err := w.Write(body)
	return gone(err)
}
