package store

import (
	"testing"
	"time"

	"dustwright/plant"
)

func TestJudgementsFollowConclusionsAndTheVersionMoves(t *testing.T) {
	s := open(t)
	put(t, s, "DC-1", "DC-2")
	was, err := s.Version(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for i, text := range []string{`{"standing":"steady"}`, `{"standing":"drifting"}`} {
		c := plant.Conclusion{UpTo: int64(i), History: make([]byte, 1<<16), At: time.UnixMilli(int64(1000 + i)), Judgement: []byte(text)}
		if err := s.PutConclusion(t.Context(), "DC-2", c); err != nil {
			t.Fatal(err)
		}
		list, err := s.Judgements(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if len(list) != 1 || list[0].Tag != "DC-2" || string(list[0].Judgement) != text || list[0].UpTo != int64(i) {
			t.Errorf("judgements %+v, want only DC-2's %s", list, text)
		}
		now, err := s.Version(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if now == was {
			t.Errorf("a conclusion was kept and the version is still %+v", now)
		}
		was = now
	}
	if _, err := s.Append(t.Context(), note("r1", "a")); err != nil {
		t.Fatal(err)
	}
	if now, err := s.Version(t.Context()); err != nil || now == was {
		t.Errorf("a record was kept and the version is still %+v (%v)", now, err)
	}
}
