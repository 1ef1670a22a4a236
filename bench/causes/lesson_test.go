package main

import (
	"maps"
	"testing"
)

// A lesson is read back as it was written, but for what the valves say together and what lies beyond all bends; what is no
// lesson is an error.
func TestLessonIsReadBack(t *testing.T) {
	w := newWords()
	r := newReader(w)
	l, err := r.lesson("17\tall\tend\tvalve-dead:12\traw/sure=0.5\tdrop/trend=-3.7e+94\tvalve 12:left/past=-0.25\tvalve 12:share=1\tvalve 1:share=1\tvalves:valve-dead=3")
	if err != nil {
		t.Fatal(err)
	}
	if l.seed != 17 || l.level != "all" || !l.end || l.truth != "valve-dead" || l.number != 12 {
		t.Errorf("read %+v", l)
	}
	named := func(some []seen) map[string]float32 {
		out := map[string]float32{}
		for _, x := range some {
			out[w.names[x.word]] = x.x
		}
		return out
	}
	if got := named(l.sights); !maps.Equal(got, map[string]float32{"raw/sure": 0.5, "drop/trend": -farthest}) {
		t.Errorf("sights %v", got)
	}
	if len(l.valves) != 2 || l.valves[0].number != 12 || l.valves[1].number != 1 ||
		!maps.Equal(named(l.valves[0].sights), map[string]float32{"left/past": -0.25, "share": 1}) {
		t.Errorf("valves %+v", l.valves)
	}
	for _, text := range []string{"", "17\tall", "17\tall\tend", "17\tall\tend\tnone:x", "1\tall\tnever\tnone:0", "x\tall\tend\tnone:0", "1\tall\tend\tnone:0\traw=x", "1\tall\tend\tnone:0\tvalve a:left=1", "1\tall\tend\tnone:0\traw"} {
		if _, err := r.lesson(text); err == nil {
			t.Errorf("%q was read without an error", text)
		}
	}
}

// Any line is read or refused with an error.
func FuzzLesson(f *testing.F) {
	f.Add("17\tall\tend\tvalve-dead:12\traw/sure=0.5\tvalve 12:left/past=-0.25\tvalves:valve-dead=3")
	f.Add("1\tdP only\tbefore\tnone:0")
	f.Add("1\tall\tend\tnone\traw=")
	f.Fuzz(func(t *testing.T, text string) {
		w := newWords()
		l, err := newReader(w).lesson(text)
		if err != nil {
			return
		}
		for _, s := range l.sights {
			if int(s.word) >= len(w.names) {
				t.Errorf("%q: word %d of %d", text, s.word, len(w.names))
			}
		}
	})
}
