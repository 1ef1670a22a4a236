package main

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"regexp"
)

// wanted finds what a page makes a browser fetch.
var wanted = regexp.MustCompile(`(?:src|href)="(/assets/[^"]+|/manifest[^"]+)"`)

// visits prints what the first visit of each page carries over the line, heads included, and what later ones
// do: to a page that has changed since, whose assets the browser has, and to one that has not.
func visits(host string, pages ...string) error {
	for _, path := range pages {
		page, err := fetch(host, path, "")
		if err != nil {
			return err
		}
		first, later := page.wire, page.wire
		html, err := unpack(page)
		if err != nil {
			return err
		}
		more := []string{"/worker.js"}
		for _, m := range wanted.FindAllSubmatch(html, -1) {
			more = append(more, string(m[1]))
		}
		for _, address := range more {
			got, err := fetch(host, address, "")
			if err != nil {
				return err
			}
			first += got.wire
			if got.head.Get("Cache-Control") == "no-cache" { // asked for again each time
				if got, err = fetch(host, address, got.head.Get("ETag")); err != nil {
					return err
				}
				later += got.wire
			}
		}
		same, err := fetch(host, path, page.head.Get("ETag"))
		if err != nil {
			return err
		}
		fmt.Printf("%-10s first visit %.1f kB with %d files; again, changed since: %.1f kB; unchanged: %.1f kB; unpacked the page has %.0f kB\n",
			path, kB(first), 1+len(more), kB(later), kB(later-page.wire+same.wire), kB(len(html)))
	}
	return nil
}

func kB(n int) float64 { return float64(n) / 1000 }

// unpack returns a page as the browser reads it.
func unpack(g *got) ([]byte, error) {
	if g.head.Get("Content-Encoding") != "gzip" {
		return g.body, nil
	}
	z, err := gzip.NewReader(bytes.NewReader(g.body))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(z)
}
