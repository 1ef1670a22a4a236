// Command opendata runs the program's own reading of logs and finding of changes over the open data
// in ../shared/data, and prints what it finds beside what the data's own notes say and beside naive
// figures. No number is typed in but those notes, and each names its file.
//
//	go run ./bench/opendata [-data ../shared/data] [-forecasts=false]
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	os.Exit(run(ctx, os.Args[1:], os.Stdout, os.Stderr))
}

// run is main with its world handed in; 2 for data that are not there or can't be read.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("opendata", flag.ContinueOnError)
	flags.SetOutput(stderr)
	data := flags.String("data", "", "folder of the open data; found from the working folder when empty")
	forecasts := flags.Bool("forecasts", true, "forecast the inlet filter from every week, which takes a while")
	if flags.Parse(args) != nil {
		return 2
	}
	root, err := projectRoot()
	if err != nil {
		fmt.Fprintln(stderr, err)
		return 2
	}
	if *data == "" {
		*data = filepath.Join(root, "..", "shared", "data")
	}
	b := bench{data: *data, mappings: filepath.Join(root, "feed", "testdata"), forecasts: *forecasts}
	for _, part := range []func(context.Context, io.Writer) error{b.printInlet, b.printReservoir} {
		if err := part(ctx, stdout); err != nil {
			fmt.Fprintln(stderr, err)
			return 2
		}
	}
	return 0
}

// projectRoot walks up from the working folder to the one that holds go.mod.
func projectRoot() (string, error) {
	dir, err := os.Getwd()
	if err != nil {
		return "", fmt.Errorf("opendata: %w", err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir, nil
		}
		up := filepath.Dir(dir)
		if up == dir {
			return "", errors.New("opendata: run this inside the project's folder")
		}
		dir = up
	}
}
