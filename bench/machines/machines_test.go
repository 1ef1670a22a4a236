package machines

import (
	"math/rand/v2"
	"testing"
)

// One machine in some hundreds is drawn with a fan too weak for its ducts; it is drawn again and no trial is lost.
func TestMachinesLeaveSomethingForTheDamper(t *testing.T) {
	weak := 0
	for seed := range uint64(1500) {
		c, err := machine(rand.New(rand.NewPCG(seed, 5)))
		if err != nil {
			t.Fatal(err)
		}
		if _, err = c.AirPath(); err != nil {
			weak++
		}
		if c, err = Draw(rand.New(rand.NewPCG(seed, 5))); err != nil {
			t.Fatal(err)
		}
		if _, err = c.AirPath(); err != nil {
			t.Errorf("seed %d: %v", seed, err)
		}
	}
	if weak == 0 {
		t.Error("no machine of 1,500 is too weak: nothing was tried")
	}
}
