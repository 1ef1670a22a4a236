package main

import (
	"context"
	"errors"
	"time"

	"dustwright/feed/sound"
	"dustwright/plant"
	"dustwright/store"
	"dustwright/unit"
	"dustwright/web"
)

// serveCmd is dustwright serve.
type serveCmd struct {
	Data string `default:"plant" placeholder:"FOLDER" help:"The data folder: everything the plant's records need. It is made where there is none."`
	httpsFlags
	Units string `enum:"us,si" default:"us" help:"Units of pages, until a reader chooses: us or si."`
}

// Run serves until it is told to stop.
func (c *serveCmd) Run(e *env) error {
	if err := c.check(); err != nil {
		return err
	}
	p, err := openPlant(e, c.Data, output{Units: c.Units}.system())
	if err != nil {
		return err
	}
	return errors.Join(p.pages(e, c.Data, &c.httpsFlags), p.close())
}

// serve runs a server and tells its address once it answers.
func (e *env) serve(srv *web.Server, tell func(address string)) error {
	ctx, stop := context.WithCancel(e.ctx)
	defer stop()
	done := make(chan error, 1)
	go func() { done <- srv.Run(ctx); stop() }()
	if address, err := srv.Ready(ctx); err == nil {
		tell(address)
	}
	return <-done
}

// openedPlant is a data folder in use.
type openedPlant struct {
	store   *store.Store
	service *plant.Service
	units   unit.System
}

// openPlant opens a data folder.
func openPlant(e *env, dir string, units unit.System) (*openedPlant, error) {
	known, err := experienceIn(dir)
	if err != nil {
		return nil, err
	}
	s, err := store.Open(e.ctx, dir)
	if err != nil {
		return nil, err
	}
	service := plant.NewService(plant.ServiceOptions{Keeper: s, Now: e.now, Units: units, Zone: time.Local, Experience: known})
	return &openedPlant{s, service, units}, nil
}

func (p *openedPlant) close() error { return p.store.Close() }

// server makes the pages of an open plant.
func (p *openedPlant) server(e *env, listen string, secure web.Secure) (*web.Server, error) {
	return web.New(web.Options{
		Service: p.service, Archive: p.store, Blobs: p.store, Units: p.units, Listen: listen, Secure: secure,
		Log: e.log(), Sound: decodeSound, Papers: p.papers(),
	})
}

// decodeSound reads a recording for the page of valves.
func decodeSound(name string, data []byte) (web.Sound, error) {
	clip, err := sound.Decode(data, name)
	if err != nil {
		return web.Sound{}, err
	}
	return web.Sound{Samples: clip.Samples, Rate: clip.Rate}, nil
}
