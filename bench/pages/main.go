// Command pages measures how fast the pages answer: Today and Collector at a fleet of collectors with years
// of one-minute history each, built with rehearse, under many readers at once. It runs in one process over
// real sockets, so the readers take their share of the processors too.
//
//	go run ./bench/pages -collectors 200 -days 730 -readers 50
package main

import (
	"context"
	_ "embed"
	"flag"
	"fmt"
	"io"
	"log"
	"math/rand/v2"
	"net/http"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"dustwright/collector"
	"dustwright/plant"
	"dustwright/rehearse"
	"dustwright/sense"
	"dustwright/store"
	"dustwright/web"
)

// file is the collector of which the fleet is made.
//
//go:embed collector.toml
var file string

// kinds is how many different histories the fleet has.
const kinds = 4

func main() {
	fleet := flag.Int("collectors", 200, "how many collectors")
	days := flag.Int("days", 730, "days of history of each, a row a minute")
	channels := flag.String("channels", "running,dp,fan_current", "channels of each log")
	readers := flag.Int("readers", 50, "readers at once")
	each := flag.Duration("for", 10*time.Second, "how long each page is read")
	dir := flag.String("data", "", "data folder to keep and use again; empty: a temporary one")
	flag.Parse()
	if err := run(context.Background(), options{*fleet, *days, *readers, *each, *dir, *channels}); err != nil {
		log.Fatal(err)
	}
}

type options struct {
	fleet, days, readers int
	each                 time.Duration
	dir, channels        string
}

func run(ctx context.Context, o options) (err error) {
	if o.dir == "" {
		if o.dir, err = os.MkdirTemp("", "pages"); err != nil {
			return err
		}
		defer func() { _ = os.RemoveAll(o.dir) }() // a leftover temporary folder hurts nobody
	}
	s, err := store.Open(ctx, o.dir)
	if err != nil {
		return err
	}
	defer func() { _ = s.Close() }() // read only by now
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
	if err != nil {
		stop()
		return err
	}
	began := time.Now()
	if err := once(base); err != nil {
		stop()
		return err
	}
	fmt.Printf("first Today after the start: %d ms\n", time.Since(began).Milliseconds())
	read("Today", o, func() string { return base })
	read("Collector, each for the first time or again", o, func() string { return fmt.Sprintf("%sc/B-%03d", base, rand.IntN(o.fleet)) })
	read("Collector, all seen", o, func() string { return fmt.Sprintf("%sc/B-%03d", base, rand.IntN(o.fleet)) })
	stop()
	return <-done
}

// build makes the fleet: a few histories of the simulation, entered again and again under other tags.
func build(ctx context.Context, s *store.Store, service *plant.Service, o options) error {
	if list, err := s.Collectors(ctx); err != nil || len(list) == o.fleet {
		return err
	}
	c, err := collector.Parse("collector.toml", []byte(file))
	if err != nil {
		return err
	}
	var logs [kinds]*sense.Series
	began := time.Now()
	for i := range o.fleet {
		log := &logs[i%kinds]
		if *log == nil {
			if *log, err = history(ctx, c, o, uint64(i)); err != nil {
				return err
			}
		}
		tag := fmt.Sprintf("B-%03d", i)
		text := strings.Replace(file, `"`+c.Tag+`"`, `"`+tag+`"`, 1)
		if _, err := service.Enrol(ctx, []byte(text), "bench", plant.NewID()); err != nil {
			return err
		}
		if _, _, err := service.Import(ctx, tag, func(take func(*sense.Series) error) error { return take(*log) }); err != nil {
			return err
		}
	}
	fmt.Printf("built %d collectors of %d days, %d rows each, in %.0f s\n", o.fleet, o.days, logs[0].Len(), time.Since(began).Seconds())
	return nil
}

// history simulates one log.
func history(ctx context.Context, c *collector.Collector, o options, seed uint64) (*sense.Series, error) {
	opts := rehearse.NewOptions(c)
	opts.Seed, opts.Spread, opts.Keep, opts.ChangeAtLimit = seed, 1, true, true
	opts.Start, opts.Length = time.Now().Truncate(time.Hour).AddDate(0, 0, -o.days), time.Duration(o.days)*24*time.Hour
	var wanted []rehearse.Channel
	for name := range strings.SplitSeq(o.channels, ",") {
		ch, ok := rehearse.ParseChannel(name)
		if !ok {
			return nil, fmt.Errorf("there is no channel %q", name)
		}
		wanted = append(wanted, ch)
	}
	opts.Channels = rehearse.Wired(c, wanted)
	res, err := rehearse.Run(ctx, c, opts)
	if err != nil {
		return nil, err
	}
	return &sense.Series{Time: res.Series.Time, Zone: time.UTC, Col: res.Series.Col}, nil
}

func once(url string) error {
	answer, err := http.Get(url)
	if err != nil {
		return err
	}
	defer func() { _ = answer.Body.Close() }() // read whole below
	if _, err := io.Copy(io.Discard, answer.Body); err != nil {
		return err
	}
	if answer.StatusCode != http.StatusOK {
		return fmt.Errorf("%s: %s", url, answer.Status)
	}
	return nil
}

// read lets readers ask one after another as fast as they are answered, and prints how long it took.
func read(name string, o options, url func() string) {
	http.DefaultTransport.(*http.Transport).MaxIdleConnsPerHost = o.readers
	var mu sync.Mutex
	var took []time.Duration
	var group sync.WaitGroup
	limit := time.Now().Add(o.each)
	for range o.readers {
		group.Go(func() {
			for time.Now().Before(limit) {
				began := time.Now()
				if err := once(url()); err != nil {
					log.Print(err)
					return
				}
				d := time.Since(began)
				mu.Lock()
				took = append(took, d)
				mu.Unlock()
			}
		})
	}
	group.Wait()
	slices.Sort(took)
	at := func(p float64) float64 { return took[min(len(took)-1, int(p*float64(len(took))))].Seconds() * 1000 }
	fmt.Printf("%-45s %7d answers, %5.0f a second; median %5.1f ms, 95 %% %5.1f ms, 99 %% %5.1f ms\n", name, len(took), float64(len(took))/o.each.Seconds(), at(0.5), at(0.95), at(0.99))
}
