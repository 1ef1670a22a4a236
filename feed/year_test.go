package feed

import (
	"bufio"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"dustwright/sense"
)

// yearHeader has 12 channels beside the time.
const yearHeader = "time,running,cleaning,dp[in.w.g.],header[psi],header_low[psi],pulse,fan_current[A],inlet_sp[in.w.g.],damper[%],temperature[degF],humidity[%],barometer[inHg]\n"

// writeYear writes rows of one-minute readings of an invented collector.
func writeYear(tb testing.TB, path string, rows int) {
	f, err := os.Create(path)
	if err != nil {
		tb.Fatal(err)
	}
	w := bufio.NewWriterSize(f, 1<<20)
	rnd := rand.New(rand.NewPCG(1, 2))
	at := time.Date(2026, 3, 2, 7, 0, 0, 0, time.FixedZone("", -6*3600))
	w.WriteString(yearHeader)
	for i := range rows {
		pulse, cleaning := "", 0
		if i%97 < 3 {
			pulse, cleaning = "1 2 3 4 5 6", 1
		}
		fmt.Fprintf(w, "%s,1,%d,%.2f,%.1f,%.1f,%s,%.1f,%.2f,%d,%.1f,%d,%.2f\n", at.Add(time.Duration(i)*time.Minute).Format(time.RFC3339), cleaning,
			2+math.Sin(float64(i)/500)+rnd.Float64()/10, 60+rnd.Float64(), 59+rnd.Float64(), pulse, 15+rnd.Float64(), -3.5+rnd.Float64()/10, 47+i%3,
			68+10*math.Sin(float64(i)/1440), 40+i%20, 29.9+rnd.Float64()/10)
	}
	if err := w.Flush(); err != nil {
		tb.Fatal(err)
	}
	if err := f.Close(); err != nil {
		tb.Fatal(err)
	}
}

func BenchmarkReadYear(b *testing.B) {
	path := filepath.Join(b.TempDir(), "year.csv")
	writeYear(b, path, 525600)
	info, err := os.Stat(path)
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(info.Size())
	b.ReportAllocs()
	b.ResetTimer()
	for range b.N {
		s, _, err := Read(context.Background(), []string{path}, Options{})
		if err != nil || s.Len() != 525600 {
			b.Fatal(err)
		}
	}
}

// BenchmarkScan parses the lines of a year's log in one goroutine, without reading the file.
func BenchmarkScan(b *testing.B) {
	path := filepath.Join(b.TempDir(), "year.csv")
	writeYear(b, path, 4000)
	text, err := os.ReadFile(path)
	if err != nil {
		b.Fatal(err)
	}
	lay, err := studyHead(path, text, true, &Options{}, &Report{})
	if err != nil {
		b.Fatal(err)
	}
	blk := &block{lines: 4001, buf: append(text, make([]byte, padding)...)[:len(text)]}
	for i := range padding {
		blk.buf[:len(text)+padding][len(text)+i] = '\n'
	}
	blk.skip(lay.start)
	s := &scanner{layout: lay, keep: 9}
	b.SetBytes(int64(len(blk.buf)))
	b.ReportAllocs()
	b.ResetTimer()
	for range b.N {
		blk.out.prepare(lay, blk.lines+1)
		s.scan(blk.buf, blk.line, false, &blk.out)
	}
	if blk.out.rows != 4000 {
		b.Fatal(blk.out.rows)
	}
}

// BenchmarkStreamYear hands a year's log on in pieces, as judge reads it.
func BenchmarkStreamYear(b *testing.B) {
	path := filepath.Join(b.TempDir(), "year.csv")
	writeYear(b, path, 525600)
	info, err := os.Stat(path)
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(info.Size())
	b.ReportAllocs()
	b.ResetTimer()
	for range b.N {
		rows := 0
		_, err := Stream(context.Background(), []string{path}, Options{}, func() func(*sense.Series) error {
			return func(s *sense.Series) error { rows += s.Len(); return nil }
		})
		if err != nil || rows != 525600 {
			b.Fatal(rows, err)
		}
	}
}
