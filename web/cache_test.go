package web

import (
	"errors"
	"sync"
	"testing"

	"dustwright/plant"
)

func TestTheCacheMakesAnAnswerOnceAndForgetsFailures(t *testing.T) {
	c := newCache()
	made, fail := 0, true
	get := func(v plant.Version, quarter int64) error {
		_, err := c.get(v, quarter, "/", func() (*answer, error) {
			made++
			if fail {
				return nil, errors.New("disk full")
			}
			return newAnswer("text/plain", []byte("x")), nil
		})
		return err
	}
	if get(plant.Version{}, 1) == nil {
		t.Error("a failure is not told")
	}
	fail = false
	for range 3 {
		if err := get(plant.Version{}, 1); err != nil {
			t.Errorf("a failure is kept: %v", err)
		}
	}
	if made != 2 {
		t.Errorf("made %d times, want once after the failure", made)
	}
	for i, v := range []plant.Version{{Records: 1}, {Records: 1}} {
		if err := get(v, int64(1+i)); err != nil {
			t.Error(err)
		}
	}
	if made != 4 {
		t.Errorf("made %d times, want anew for a new version and a new quarter of an hour", made)
	}
}

func TestManyReadersWaitForOne(t *testing.T) {
	c := newCache()
	var mu sync.Mutex
	made := 0
	var group sync.WaitGroup
	for range 50 {
		group.Go(func() {
			_, err := c.get(plant.Version{}, 1, "/", func() (*answer, error) {
				mu.Lock()
				made++
				mu.Unlock()
				return newAnswer("text/plain", []byte("x")), nil
			})
			if err != nil {
				t.Error(err)
			}
		})
	}
	group.Wait()
	if made != 1 {
		t.Errorf("fifty readers had it made %d times", made)
	}
}
