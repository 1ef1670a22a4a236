// Command pages measures how fast the pages answer: Today and Collector at a fleet of collectors with years
// of one-minute history each, built with bench/madeup, under many readers at once. It runs in one process over
// real sockets, so the readers take their share of the processors too.
//
//	go run ./bench/pages -collectors 200 -days 730 -readers 50
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"log"
	"math/rand/v2"
	"strings"
	"time"

	"dustwright/bench/madeup"
	"dustwright/plant"
	"dustwright/sense"
	"dustwright/store"
	"dustwright/web"
)

func main() {
	fleet := flag.Int("collectors", 200, "how many collectors")
	days := flag.Int("days", 730, "days of history of each, a row a minute")
	channels := flag.String("channels", "running,dp,fan_current", "channels of each log")
	readers := flag.Int("readers", 50, "readers at once")
	each := flag.Duration("for", 10*time.Second, "how long each page is read")
	profile := flag.String("cpuprofile", "", "file for a profile of the processor's time while pages are read")
	dir := flag.String("data", "", "data folder to keep and use again; empty: a temporary one")
	flag.Parse()
	if err := run(context.Background(), options{*fleet, *days, *readers, *each, *dir, *channels, *profile}); err != nil {
		log.Fatal(err)
	}
}

type options struct {
	fleet, days, readers int
	each                 time.Duration
	dir, channels        string
	profile              string
}

func run(ctx context.Context, o options) (err error) {
	s, shut, err := madeup.Data(ctx, o.dir)
	if err != nil {
		return err
	}
	defer func() { _ = shut() }() // read only by now
	service := plant.NewService(plant.ServiceOptions{Keeper: s})
	if err := build(ctx, s, service, o); err != nil {
		return err
	}
	srv, err := web.New(web.Options{Service: service, Archive: s, Blobs: s, Listen: "127.0.0.1:0"})
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(ctx)
	done := make(chan error, 1)
	go func() { done <- srv.Run(ctx) }()
	base, err := srv.Ready(ctx)
	if err == nil {
		err = measure(strings.TrimSuffix(strings.TrimPrefix(base, "http://"), "/"), o)
	}
	stop()
	return errors.Join(err, <-done)
}

// measure prints what a reader waits for and what a visit carries.
func measure(host string, o options) error {
	stop, err := madeup.Profile(o.profile)
	if err != nil {
		return err
	}
	defer stop()
	began := time.Now()
	first, err := fetch(host, "/", "")
	if err != nil {
		return err
	}
	fmt.Printf("first Today after the start: %d ms\n", time.Since(began).Milliseconds())
	collector := func() string { return "/c/" + madeup.Tag(rand.IntN(o.fleet)) }
	if err := visits(host, "/", "/c/"+madeup.Tag(0)); err != nil {
		return err
	}
	page, err := fetch(host, "/c/"+madeup.Tag(0), "")
	if err != nil {
		return err
	}
	for _, p := range []struct {
		name string
		path func() string
		size int
	}{
		{"Today", func() string { return "/" }, len(first.body)},
		{"Collector, each for the first time or again", collector, len(page.body)},
		{"Collector, all seen", collector, len(page.body)},
	} {
		if err := beside(p.name, host, p.path, p.size, o); err != nil {
			return err
		}
	}
	return nil
}

// build keeps the fleet and judges it.
func build(ctx context.Context, s *store.Store, service *plant.Service, o options) error {
	list, err := s.Collectors(ctx)
	if err != nil || len(list) == o.fleet {
		return err
	}
	if len(list) > 0 {
		return fmt.Errorf("%s holds %d collectors, not the %d of this run; give another folder", o.dir, len(list), o.fleet)
	}
	began, rows := time.Now(), 0
	fleet := madeup.Fleet{File: madeup.File, Collectors: o.fleet, Days: o.days, Channels: o.channels, End: began}
	err = fleet.Build(ctx, service, func(ctx context.Context, tag string, log *sense.Series) error {
		rows = log.Len()
		_, _, err := service.Import(ctx, tag, func(take func(*sense.Series) error) error { return take(log) })
		return err
	})
	if err != nil {
		return err
	}
	fmt.Printf("built %d collectors of %d days, %d rows each, in %.0f s\n", o.fleet, o.days, rows, time.Since(began).Seconds())
	return nil
}
