package web

import (
	"context"
	"net/http"
	"sync"
	"time"

	"dustwright/plant"
	"dustwright/unit"
)

// cache keeps whole answers of one version of the plant for a quarter of an hour: without a new version only
// the day turns on a page, and every clock's midnight falls on a quarter.
type cache struct {
	mu      sync.Mutex
	version plant.Version
	quarter int64 // hours of the clock, in quarters
	kept    map[string]*making
	bytes   int
}

// making is an answer that one reader makes and others wait for.
type making struct {
	once sync.Once
	a    *answer
	err  error
}

// cacheBytes is the most the cache holds before it starts afresh.
const cacheBytes = 64 << 20

func newCache() *cache { return &cache{kept: map[string]*making{}} }

// get returns the answer kept under key, or makes it; readers of the same key wait for one.
func (c *cache) get(v plant.Version, quarter int64, key string, make func() (*answer, error)) (*answer, error) {
	c.mu.Lock()
	if c.version != v || c.quarter != quarter || c.bytes > cacheBytes {
		c.version, c.quarter, c.kept, c.bytes = v, quarter, map[string]*making{}, 0
	}
	e := c.kept[key]
	if e == nil {
		e = &making{}
		c.kept[key] = e
	}
	c.mu.Unlock()
	e.once.Do(func() {
		e.a, e.err = make()
		c.mu.Lock()
		defer c.mu.Unlock()
		if e.err != nil {
			if c.kept[key] == e {
				delete(c.kept, key) // the next reader tries again
			}
			return
		}
		c.bytes += len(e.a.body) + len(e.a.gzip)
	})
	return e.a, e.err
}

// cached answers from the cache; make gets the view of the plant the answer belongs to.
func (s *Server) cached(w http.ResponseWriter, r *http.Request, make func(ctx context.Context, v *plant.View) (*answer, error)) error {
	v, err := s.o.Service.View(r.Context())
	if err != nil {
		return err
	}
	key := r.URL.RequestURI() + " " + unitsName(s.unitsOf(r))
	if wantsJSON(r) {
		key += " json"
	}
	if s.overPlain(r) {
		key += " plain"
	}
	// The first reader's going away must not fail the others.
	ctx := context.WithoutCancel(r.Context())
	a, err := s.cache.get(v.Version, s.o.Service.Now().Unix()/(15*60), key, func() (*answer, error) { return make(ctx, v) })
	if err != nil {
		return err
	}
	return a.send(w, r, "no-cache")
}

// html makes a cached page.
func (s *Server) html(name string, p *page) (*answer, error) {
	p.By, p.ID, p.Told = "", "", "" // nothing of one reader may show to another
	body, err := s.make(name, p)
	if err != nil {
		return nil, err
	}
	return newAnswer("text/html; charset=utf-8", body), nil
}

// midnight is the start of a day by its own clock.
func midnight(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, t.Location())
}

// unitsName is the choice of units as it stands in addresses and cookies.
func unitsName(sys unit.System) string {
	if sys == unit.SI {
		return "si"
	}
	return "us"
}
