// Command fleet measures how fast a fleet of collectors is judged from the store: all of them with every reading
// read back, again after an hour of new readings, and one with a year of one-minute history. The fleet is built
// with bench/madeup and kept with store; a reading is one channel's value at one time.
//
//	go run ./bench/fleet -collectors 1000 -days 90
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"log"
	"os"
	"runtime"
	"runtime/debug"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"dustwright/bench/madeup"
	"dustwright/plant"
)

// yearTag is the collector with a year of history.
const yearTag = "Y-000"

func main() {
	var o options
	flag.IntVar(&o.fleet, "collectors", 1000, "how many collectors")
	flag.IntVar(&o.days, "days", 90, "days of history of each, a row a minute")
	flag.StringVar(&o.channels, "channels", "running,dp,fan_current", "channels of each log")
	flag.IntVar(&o.updates, "updates", 50, "how many collectors get an hour of new readings")
	flag.StringVar(&o.file, "file", "", "the collector of which the fleet is made; empty: that of bench/madeup")
	flag.StringVar(&o.dir, "data", "", "data folder to keep and use again; empty: a temporary one")
	flag.StringVar(&o.profile, "cpuprofile", "", "file for a profile of the processor's time while the fleet is judged")
	flag.Parse()
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(300) // as the program has it
	}
	if err := run(context.Background(), o); err != nil {
		log.Fatal(err)
	}
}

type options struct {
	fleet, days, updates int
	file, dir, channels  string
	profile              string
}

func run(ctx context.Context, o options) (err error) {
	s, done, err := madeup.Data(ctx, o.dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, done()) }()
	keep := &meter{Store: s}
	service := plant.NewService(plant.ServiceOptions{Keeper: keep, Zone: time.UTC})
	if err := build(ctx, s, service, o); err != nil {
		return err
	}
	if err := whole(ctx, keep, service, o); err != nil {
		return err
	}
	if err := updates(ctx, keep, service, min(o.updates, o.fleet)); err != nil {
		return err
	}
	return year(ctx, keep, service)
}

// whole judges all of the fleet, nothing known of it but its readings.
func whole(ctx context.Context, keep *meter, service *plant.Service, o options) error {
	stop, err := madeup.Profile(o.profile)
	if err != nil {
		return err
	}
	defer stop()
	keep.reset()
	began, worked := time.Now(), processorTime()
	if err := judgeAll(ctx, service, o.fleet); err != nil {
		return err
	}
	took := time.Since(began).Seconds()
	fmt.Printf("%d collectors judged from the store on %d processors: %.2f s, %.0f ms each\n", o.fleet, runtime.GOMAXPROCS(0), took, 1000*took/float64(o.fleet))
	fmt.Printf("  %.1f million readings (%.1f million rows) read back: %.1f million readings a second end to end\n",
		float64(keep.readings.Load())/1e6, float64(keep.rows.Load())/1e6, float64(keep.readings.Load())/1e6/took)
	if worked = processorTime() - worked; worked > 0 {
		fmt.Printf("  %.1f ms of processor time each: %.1f million readings a second where the processors do nothing else\n", ms(worked)/float64(o.fleet),
			float64(keep.readings.Load())/1e6/worked.Seconds()*float64(runtime.GOMAXPROCS(0)))
	}
	return nil
}

// judgeAll judges the fleet, as many at once as there are processors.
func judgeAll(ctx context.Context, service *plant.Service, fleet int) error {
	var next atomic.Int64
	faults := make([]error, runtime.GOMAXPROCS(0))
	var group sync.WaitGroup
	for w := range faults {
		group.Go(func() {
			for i := int(next.Add(1)) - 1; i < fleet && faults[w] == nil; i = int(next.Add(1)) - 1 {
				_, faults[w] = service.Judge(ctx, madeup.Tag(i))
			}
		})
	}
	group.Wait()
	return errors.Join(faults...)
}

// updates gives collectors an hour of new readings each, one after another, and says how soon each is judged anew
// and how much was read back for it.
func updates(ctx context.Context, keep *meter, service *plant.Service, n int) error {
	if n == 0 {
		return nil
	}
	took := make([]time.Duration, n)
	var rows, added int64
	var worked time.Duration
	for i := range n {
		hour, err := nextHour(ctx, keep.Store, madeup.Tag(i))
		if err != nil {
			return err
		}
		keep.reset()
		began, before := time.Now(), processorTime()
		more, _, err := service.Import(ctx, madeup.Tag(i), hour.hand)
		if err != nil {
			return err
		}
		took[i] = time.Since(began)
		worked += processorTime() - before
		rows, added = rows+keep.rows.Load(), added+int64(more)
	}
	slices.Sort(took)
	fmt.Printf("an hour of new readings kept and judged: median %.1f ms, longest %.1f ms over %d collectors\n", ms(took[n/2]), ms(took[n-1]), n)
	fmt.Printf("  %d rows each read back, of %d new readings each; %.1f ms of processor time each\n", rows/int64(n), added/int64(n), ms(worked)/float64(n))
	return nil
}

// year judges the collector with a year of history, nothing known of it but its readings.
func year(ctx context.Context, keep *meter, service *plant.Service) error {
	keep.reset()
	began := time.Now()
	if _, err := service.Judge(ctx, yearTag); err != nil {
		return err
	}
	took := time.Since(began)
	fmt.Printf("a year at one minute judged: %.0f ms, %d rows read back\n", ms(took), keep.rows.Load())
	return nil
}

func ms(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }
