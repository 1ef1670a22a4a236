package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strings"
)

//go:embed assets/*
var assetFiles embed.FS

// assets are the files that pages need, under names that carry their checksum, so that a browser keeps
// them for good.
type assets struct {
	byName  map[string]string // "app.css" to "/assets/app.1a2b3c4d.css"
	byPath  map[string]*answer
	version string // checksum over all
}

func loadAssets() (*assets, error) {
	files, err := fs.Glob(assetFiles, "assets/*")
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	a := &assets{byName: map[string]string{}, byPath: map[string]*answer{}}
	all := sha256.New()
	for _, f := range files {
		text, err := assetFiles.ReadFile(f)
		if err != nil {
			return nil, fmt.Errorf("web: %w", err)
		}
		sum := sha256.Sum256(text)
		all.Write(sum[:])
		name := path.Base(f)
		ext := path.Ext(name)
		p := "/assets/" + strings.TrimSuffix(name, ext) + "." + hex.EncodeToString(sum[:4]) + ext
		a.byName[name] = p
		a.byPath[p] = newAnswer(mime.TypeByExtension(ext), text)
	}
	a.version = hex.EncodeToString(all.Sum(nil)[:6])
	return a, nil
}

// address returns where an asset is found; a page that names one that is not there fails at the start.
func (a *assets) address(name string) (string, error) {
	if p, ok := a.byName[name]; ok {
		return p, nil
	}
	return "", fmt.Errorf("there is no asset %q", name)
}

// asset serves a file under its checksum.
func (s *Server) asset(w http.ResponseWriter, r *http.Request) error {
	a := s.assets.byPath[r.URL.Path]
	if a == nil {
		return &problem{status: http.StatusNotFound, says: "There is no file " + r.URL.Path + "."}
	}
	return a.send(w, r, "public, max-age=31536000, immutable")
}

// worker serves the service worker with the list of what it keeps for a phone without signal.
func (s *Server) worker(w http.ResponseWriter, r *http.Request) error {
	var list []string
	for _, name := range []string{"app.css", "app.js", "icon.svg"} {
		list = append(list, s.assets.byName[name])
	}
	text := fmt.Sprintf("const VERSION = %q;\nconst KEEP = [\"%s\"];\n", s.assets.version, strings.Join(list, `", "`))
	body, err := assetFiles.ReadFile("assets/worker.js")
	if err != nil {
		return fmt.Errorf("the service worker: %w", err)
	}
	return newAnswer("text/javascript; charset=utf-8", append([]byte(text), body...)).send(w, r, "no-cache")
}

// manifest serves what a phone needs to put the pages on its home screen.
func (s *Server) manifest(w http.ResponseWriter, r *http.Request) error {
	text := fmt.Sprintf(`{"name":"Dustwright","short_name":"Dustwright","start_url":"/","display":"standalone","background_color":"#f6f4ee","theme_color":"#f6f4ee","icons":[{"src":%q,"sizes":"any","type":"image/svg+xml"}]}`,
		s.assets.byName["icon.svg"])
	return newAnswer("application/manifest+json", []byte(text)).send(w, r, "no-cache")
}
