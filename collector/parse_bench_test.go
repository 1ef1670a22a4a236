package collector

import (
	"os"
	"testing"

	"dustwright/unit"
)

func BenchmarkParse(b *testing.B) {
	data, err := os.ReadFile("testdata/dc1.toml")
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Parse("dc1.toml", data); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTOML(b *testing.B) {
	c := dc1(b)
	b.ReportAllocs()
	for b.Loop() {
		_ = c.TOML(unit.US)
	}
}
