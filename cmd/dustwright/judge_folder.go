package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sort"
	"strings"

	"github.com/schollz/progressbar/v3"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/life"
	"dustwright/plant"
	"dustwright/report/text"
	"dustwright/store"
	"dustwright/unit"
)

// plant judges every collector of a folder: one of collector files and logs, or a data folder.
func (j *judgeCmd) plant(e *env) error {
	if len(j.Logs) > 0 {
		return fmt.Errorf("%s is a folder: its logs are taken from there, %s can't be given with it", j.Collector, j.Logs[0])
	}
	if store.Holds(j.Collector) {
		return j.kept(e)
	}
	return j.folder(e)
}

// folder judges every collector of a folder: each NAME.toml with the logs whose names begin with NAME.
func (j *judgeCmd) folder(e *env) error {
	files, err := filepath.Glob(filepath.Join(j.Collector, "*.toml"))
	files = slices.DeleteFunc(files, func(f string) bool { return filepath.Base(f) == experienceFile })
	if err != nil || len(files) == 0 {
		if inner := filepath.Join(j.Collector, "data"); store.Holds(inner) {
			return fmt.Errorf("%s holds no collector file; the plant kept in it is judged by dustwright judge %s", j.Collector, inner)
		}
		return fmt.Errorf("%s holds no collector file; put NAME.toml and its logs NAME.csv side by side", j.Collector)
	}
	sort.Strings(files)
	known, err := j.experience(j.Collector)
	if err != nil {
		return err
	}
	f := fileFolder{files, known}
	kin, answers := make([]plant.Kin, len(files)), make([]*plant.Judgement, len(files))
	_, err = j.all(e, len(files), func(own *env, i int) (*plant.Judgement, error) {
		c, err := collector.Load(files[i])
		if err != nil {
			return nil, err
		}
		kin[i].Collector = c
		answers[i], kin[i].Past, err = j.one(own, f, i, c, nil)
		return answers[i], err
	})
	if err != nil {
		return err
	}
	if err := j.again(e, f, answers, kin); err != nil {
		return err
	}
	return j.show(e, slices.DeleteFunc(answers, func(a *plant.Judgement) bool { return a == nil }))
}

// again judges once more those whose sisters' filters have been changed: how long these lasted is known only now.
func (j *judgeCmd) again(e *env, f fileFolder, answers []*plant.Judgement, kin []plant.Kin) error {
	judged := slices.DeleteFunc(slices.Clone(kin), func(k plant.Kin) bool { return k.Collector == nil })
	var which []int
	sisters := make([][]life.Record, len(kin))
	for i, answer := range answers {
		if answer == nil {
			continue
		}
		if sisters[i] = plant.SistersOf(kin[i].Collector, answer.At, judged); len(sisters[i]) > 0 {
			which = append(which, i)
		}
	}
	if len(which) == 0 {
		return nil
	}
	quiet := *e
	quiet.stderr = io.Discard // what can't be read was told before
	_, err := j.all(&quiet, len(which), func(own *env, k int) (*plant.Judgement, error) {
		i := which[k]
		again, _, err := j.one(own, f, i, kin[i].Collector, sisters[i])
		if err == nil {
			answers[i] = again
		}
		return again, err
	})
	return err
}

// all judges n collectors, on all processors at once. One that can't be judged is told on stderr and left out; what is
// told stands in order.
func (j *judgeCmd) all(e *env, n int, one func(own *env, i int) (*plant.Judgement, error)) ([]*plant.Judgement, error) {
	answers, faults := make([]*plant.Judgement, n), make([]error, n)
	told := make([]bytes.Buffer, n)
	bar := e.bar(progressbar.OptionSetDescription("judging collectors"), progressbar.OptionShowCount())
	next, done := make(chan int), make(chan struct{})
	for range min(n, runtime.GOMAXPROCS(0)) {
		go func() {
			for i := range next {
				own := *e
				own.stderr = &told[i]
				answers[i], faults[i] = one(&own, i)
				done <- struct{}{}
			}
		}()
	}
	go func() {
		defer close(next)
		for i := range n {
			next <- i
		}
	}()
	for i := range n {
		<-done
		if bar != nil {
			bar(int64(i+1), int64(n))
		}
	}
	if err := e.ctx.Err(); err != nil {
		return nil, err
	}
	var list []*plant.Judgement
	for i, a := range answers {
		fmt.Fprint(e.stderr, told[i].String())
		if faults[i] != nil {
			fmt.Fprintln(e.stderr, faults[i])
			continue
		}
		list = append(list, a)
	}
	if len(list) == 0 {
		return nil, fmt.Errorf("%s: no collector of %d could be judged", j.Collector, n)
	}
	return list, nil
}

// show prints a plant, worst first.
func (j *judgeCmd) show(e *env, list []*plant.Judgement) error {
	sort.SliceStable(list, func(a, b int) bool { return plant.Worse(list[a], list[b]) })
	return e.emit(j.output, list, func(w io.Writer, sys unit.System) error { return text.Plant(w, sys, list) })
}

// fileFolder is a folder of collector files, in order, with what is known beside them.
type fileFolder struct {
	files []string
	known judge.Experience
}

// one judges the collector of the folder's i-th file.
func (j *judgeCmd) one(e *env, f fileFolder, i int, c *collector.Collector, sisters []life.Record) (*plant.Judgement, []life.Record, error) {
	logs, err := logsBeside(f.files[i], f.files)
	if err != nil {
		return nil, nil, err
	}
	return j.answer(e, c, logs, f.known, sisters)
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
