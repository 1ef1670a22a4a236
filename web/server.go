package web

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log"
	"log/slog"
	"net"
	"net/http"
	"runtime/debug"
	"sync"
	"time"

	"dustwright/plant"
)

// Server serves the pages and the API. New builds it and touches nothing, Run serves until its context
// ends, Ready waits until it answers.
type Server struct {
	o       Options
	log     *slog.Logger
	pages   pages
	assets  *assets
	cache   *cache
	courses courses
	plain   http.Handler // the pages alone
	handler http.Handler // with what goes around every answer
	ready   chan struct{}
	addr    net.Addr // set before ready is closed
	once    sync.Once
}

// New returns a server for the options; what is wrong with them, with a template or with the table of
// routes is an error here and not on a page.
func New(o Options) (*Server, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	s := &Server{o: o, log: o.Log, cache: newCache(), ready: make(chan struct{})}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	var err error
	if s.assets, err = loadAssets(); err != nil {
		return nil, err
	}
	if s.pages, err = parsePages(s.assets); err != nil {
		return nil, err
	}
	list := append(routes(), apiRoutes()...)
	if err := checkRoutes(list); err != nil {
		return nil, err
	}
	s.plain = s.mux(list)
	s.handler = s.wrap(s.plain)
	return s, nil
}

// ServeHTTP answers one request. Safe for concurrent use.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// stopWithin is how long requests under way may take once the server is told to stop.
const stopWithin = 5 * time.Second

// Run listens and serves until ctx ends, then lets requests under way finish, and returns why it ended:
// nil when ctx did. It first makes up for what a crash left undone. Run may be called once.
func (s *Server) Run(ctx context.Context) error {
	if err := s.o.Service.Recover(ctx); err != nil {
		return err
	}
	l, err := new(net.ListenConfig).Listen(ctx, "tcp", s.o.Listen)
	if err != nil {
		return fmt.Errorf("nothing can listen on %s: %w", s.o.Listen, err)
	}
	s.addr = l.Addr()
	srv := &http.Server{Handler: s, ReadHeaderTimeout: 10 * time.Second, BaseContext: func(net.Listener) context.Context { return ctx },
		ErrorLog: slog.NewLogLogger(s.log.Handler(), slog.LevelWarn)}
	stopped := make(chan error, 1)
	stop := context.AfterFunc(ctx, func() {
		limit, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopWithin)
		defer cancel()
		stopped <- srv.Shutdown(limit)
	})
	s.once.Do(func() { close(s.ready) })
	var warming sync.WaitGroup
	warming.Go(func() { s.warm(ctx) })
	defer warming.Wait()
	err = s.serve(srv, l)
	if stop() { // the context has not ended: the listener failed
		return errors.Join(err, srv.Close())
	}
	if err := <-stopped; err != nil {
		return errors.Join(fmt.Errorf("requests were cut off: %w", err), srv.Close())
	}
	return nil
}

// serve answers at a listener until it fails or the server is shut down: over plain HTTP and, where there is something to
// prove it with, over HTTPS.
func (s *Server) serve(srv *http.Server, l net.Listener) error {
	if s.o.Secure == nil {
		return srv.Serve(l)
	}
	srv.TLSConfig = &tls.Config{GetCertificate: s.o.Secure.GetCertificate,
		NextProtos: []string{"h2", "http/1.1"}} // else the plain half, where it is first, would set the server up without HTTP/2
	srv.ErrorLog = log.New(&strangers{log: s.log}, "", 0)
	d := newDoors(l)
	plain := make(chan error, 1)
	go func() { plain <- srv.Serve(d.plain) }()
	err := srv.ServeTLS(d.secure, "", "")
	return errors.Join(err, <-plain)
}

// warm looks at every collector once, so that the first reader of a page need not wait for its history.
func (s *Server) warm(ctx context.Context) {
	v, err := s.o.Service.View(ctx)
	if err != nil {
		return // the first page says what is wrong
	}
	for _, o := range v.List {
		if ctx.Err() != nil {
			return
		}
		if _, err := s.courseOf(ctx, o); err != nil {
			s.log.Warn("a history can't be read; import the log again", "collector", o.Machine.Tag, "error", err)
		}
	}
}

// Ready waits until the server listens and returns the address of its pages, or ctx's error.
func (s *Server) Ready(ctx context.Context) (string, error) {
	select {
	case <-s.ready:
		return s.opened(), nil
	case <-ctx.Done():
		return "", ctx.Err()
	}
}

// maxForm is the largest upload taken: a recording of a few minutes, or photos.
const maxForm = 64 << 20

// wrap puts around every answer what all of them need.
func (s *Server) wrap(next http.Handler) http.Handler {
	guarded := http.NewCrossOriginProtection().Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			if p := recover(); p != nil {
				ref := plant.NewID()[:8]
				s.log.Error("a page failed", "reference", ref, "path", r.URL.Path, "panic", p, "stack", string(debug.Stack()))
				s.problem(w, r, &problem{status: http.StatusInternalServerError, says: "This page failed, and that is our mistake. Reference " + ref + "; the details are in the server's log."})
			}
		}()
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'self'; img-src 'self' blob: data:; object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'self'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Vary", "Accept, Cookie")
		r.Body = http.MaxBytesReader(w, r.Body, maxForm)
		guarded.ServeHTTP(w, r)
	})
}

// mux turns the table into a handler.
func (s *Server) mux(list []route) *http.ServeMux {
	m := http.NewServeMux()
	for _, rt := range list {
		m.HandleFunc(rt.method+" "+rt.path, func(w http.ResponseWriter, r *http.Request) {
			r = r.WithContext(withRoute(r.Context(), rt)) // it holds the form, once it is read
			if err := rt.handle(s, w, r); err != nil {
				s.problem(w, r, err)
			}
		})
	}
	m.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		s.problem(w, r, &problem{status: http.StatusNotFound, says: "There is nothing at " + r.URL.Path + "."})
	})
	return m
}

type routeKey struct{}

func withRoute(ctx context.Context, rt route) context.Context {
	return context.WithValue(ctx, routeKey{}, rt)
}

// routeOf returns the row of the table that a request came in by.
func routeOf(r *http.Request) route {
	rt, _ := r.Context().Value(routeKey{}).(route)
	return rt
}
