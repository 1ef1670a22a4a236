package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"sort"
	"strings"
	"sync"

	"dustwright/collector"
	"dustwright/plant"
	"dustwright/report/text"
	"dustwright/unit"
)

// folder judges every collector of a folder: each NAME.toml with the logs whose names begin with NAME,
// all processors at once, worst first. One that can't be judged is told on stderr and left out.
func (j *judgeCmd) folder(e *env) error {
	files, err := filepath.Glob(filepath.Join(j.Collector, "*.toml"))
	if err != nil || len(files) == 0 {
		return fmt.Errorf("%s holds no collector file; put NAME.toml and its logs NAME.csv side by side", j.Collector)
	}
	sort.Strings(files)
	answers, faults := make([]*plant.Judgement, len(files)), make([]error, len(files))
	told := make([]bytes.Buffer, len(files)) // what could not be read, kept in order
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(len(files), runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for i := range next {
				own := *e
				own.stderr = &told[i]
				answers[i], faults[i] = j.one(&own, files[i], files)
			}
		})
	}
	for i := range files {
		next <- i
	}
	close(next)
	wg.Wait()
	var list []*plant.Judgement
	for i, a := range answers {
		fmt.Fprint(e.stderr, told[i].String())
		if faults[i] != nil {
			fmt.Fprintln(e.stderr, faults[i])
			continue
		}
		list = append(list, a)
	}
	if err := e.ctx.Err(); err != nil {
		return err
	}
	if len(list) == 0 {
		return fmt.Errorf("%s: no collector of %d could be judged", j.Collector, len(files))
	}
	sort.SliceStable(list, func(a, b int) bool {
		if ra, rb := list[a].Standing.Rank(), list[b].Standing.Rank(); ra != rb {
			return ra > rb
		}
		return list[a].Standing.Rank() > 0 && list[a].Causes[0].P > list[b].Causes[0].P // the surest first
	})
	return e.emit(j.output, list, func(w io.Writer, sys unit.System) error { return text.Plant(w, sys, list) })
}

// one judges one collector of a folder; files are all collector files there.
func (j *judgeCmd) one(e *env, file string, files []string) (*plant.Judgement, error) {
	c, err := collector.Load(file)
	if err != nil {
		return nil, err
	}
	logs, err := logsBeside(file, files)
	if err != nil {
		return nil, err
	}
	return j.answer(e, c, logs)
}

// logsBeside returns the logs that belong to a collector file: those whose name is the file's, or begins
// with it and goes on with a mark that no other collector file there matches better.
func logsBeside(file string, files []string) ([]string, error) {
	base := strings.TrimSuffix(file, ".toml")
	entries, err := os.ReadDir(filepath.Dir(file))
	if err != nil {
		return nil, err
	}
	var logs []string
	for _, entry := range entries {
		path := filepath.Join(filepath.Dir(file), entry.Name())
		if stem(path) == "" || !belongs(stem(path), base) {
			continue
		}
		better := false
		for _, other := range files {
			o := strings.TrimSuffix(other, ".toml")
			better = better || len(o) > len(base) && belongs(stem(path), o)
		}
		if !better {
			logs = append(logs, path)
		}
	}
	if len(logs) == 0 {
		return nil, fmt.Errorf("%s has no log beside it; name it %s.csv", file, filepath.Base(base))
	}
	return logs, nil
}

// stem returns a log's path without what makes it one, "" for what is no log.
func stem(path string) string {
	p := strings.TrimSuffix(path, ".gz")
	for _, ext := range []string{".csv", ".xlsx"} {
		if s, ok := strings.CutSuffix(p, ext); ok {
			return s
		}
	}
	return ""
}

// belongs reports that a log's stem is the collector's, or goes on after it with "-", "_", "." or a space.
func belongs(stem, base string) bool {
	rest, ok := strings.CutPrefix(stem, base)
	return ok && (rest == "" || strings.ContainsRune("-_. ", rune(rest[0])))
}
