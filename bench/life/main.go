// Command life prints how well package life foretells: on invented lives of three kinds, on whole lives
// as plants log them, and on the open record of a real inlet filter under leave-one-out, beside naive
// forecasts of the same. Every figure is computed when it runs.
//
//	go run ./bench/life [-n 200] [-seed 1] [-data ../shared/data] [-part all]
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	os.Exit(run(ctx, os.Args[1:]))
}

// run returns 0, or 2 for data that are not there or can't be read.
func run(ctx context.Context, args []string) int {
	flags := flag.NewFlagSet("life", flag.ContinueOnError)
	n := flags.Int("n", 200, "lives of each kind")
	seed := flags.Uint64("seed", 1, "first seed")
	data := flags.String("data", "", "folder of the open data; found from the working folder when empty")
	part := flags.String("part", "all", "all, invented, logged or open")
	if flags.Parse(args) != nil {
		return 2
	}
	if *part == "all" || *part == "invented" {
		printInvented(os.Stdout, *n, *seed)
	}
	if *part == "all" || *part == "logged" {
		printLogged(ctx, os.Stdout, *n, *seed)
	}
	if *part == "invented" || *part == "logged" {
		return 0
	}
	root, err := projectRoot()
	if err == nil {
		if *data == "" {
			*data = filepath.Join(root, "..", "shared", "data")
		}
		err = printOpen(ctx, os.Stdout, *data, filepath.Join(root, "feed", "testdata"))
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 2
	}
	return 0
}

// projectRoot walks up from the working folder to the one that holds go.mod.
func projectRoot() (string, error) {
	dir, err := os.Getwd()
	if err != nil {
		return "", err
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir, nil
		}
		up := filepath.Dir(dir)
		if up == dir {
			return "", errors.New("life: no go.mod above the working folder; run this inside the project")
		}
		dir = up
	}
}
