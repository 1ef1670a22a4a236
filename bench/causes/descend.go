package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"sync"

	"gonum.org/v1/gonum/floats"
)

// lecture is what a network is fitted to.
type lecture interface {
	lessons() int
	// study returns the loss of a lesson and adds its slopes to grad, where that is not nil.
	study(r *run, lesson int, grad *network) float64
}

// course is how a network is fitted.
type course struct {
	passes int     // over all lessons
	fast   float64 // the greatest step
	direct float64 // precision of the weights that lead to the outputs at once
	hidden float64 // and of all others
	drop   float64 // share of terms and units that are dropped
	seed   uint64
	known  []float64 // to which all weights are drawn, what older lessons taught; nil: to nothing
}

// At a time batch lessons are learned from. The step grows for a tenth of the course and then falls along a half cosine, from and to
// small parts of the greatest (Smith and Topin, Super-convergence, 2018, from memory).
const (
	batch     = 512
	growing   = 0.1
	slowStart = 1.0 / 25
	slowEnd   = 1e-6
)

// pace is the step at a share of the way through the course.
func (c *course) pace(done float64) float64 {
	half := func(from, to, x float64) float64 { return to + (from-to)*(1+math.Cos(math.Pi*x))/2 }
	if done < growing {
		return c.fast * half(slowStart, 1, done/growing)
	}
	return c.fast * half(1, slowEnd, (done-growing)/(1-growing))
}

// take fits a network, by the steepest way down each weight by itself (Kingma and Ba, Adam: a method for stochastic
// optimization, 2015, from memory), lessons shuffled anew for each pass. The same seed finds the same weights.
func (c *course) take(n *network, of lecture) {
	r := rand.New(rand.NewPCG(c.seed, 11))
	total := of.lessons()
	order := make([]int, total)
	for i := range order {
		order[i] = i
	}
	workers := [2]*worker{newWorker(n, c, 1), newWorker(n, c, 2)}
	first, second := make([]float64, len(n.all)), make([]float64, len(n.all))
	steps, step := c.passes*((total+batch-1)/batch), 0
	for p := range c.passes {
		r.Shuffle(total, func(i, j int) { order[i], order[j] = order[j], order[i] })
		loss := 0.0
		for from := 0; from < total; from += batch {
			some := order[from:min(from+batch, total)]
			var wg sync.WaitGroup
			for i, w := range workers {
				wg.Go(func() { w.study(of, some[i*len(some)/2:(i+1)*len(some)/2]) })
			}
			wg.Wait()
			grad := workers[0].grad.all
			floats.Add(grad, workers[1].grad.all)
			floats.Scale(1/float64(len(some)), grad)
			loss += workers[0].loss + workers[1].loss
			step++
			c.draw(n, grad, 1/float64(total))
			down(n.all, grad, moments{first, second, step, c.pace(float64(step) / float64(steps))})
		}
		fmt.Fprintf(os.Stderr, "pass %d of %d: loss %.4f\n", p+1, c.passes, loss/float64(total))
	}
}

// draw adds the slopes of what draws the weights to nothing, or to what is known, but for those of the term that is always there
// and the biases.
func (c *course) draw(n *network, grad []float64, share float64) {
	at := 0
	for _, part := range [...]struct {
		w    []float64
		free int
		by   float64
	}{{n.direct, n.out, c.direct}, {n.first, n.units, c.hidden}, {n.between, 0, c.hidden}, {n.bias, n.units, c.hidden}, {n.last, 0, c.hidden}} {
		floats.AddScaled(grad[at+part.free:at+len(part.w)], share*part.by, part.w[part.free:])
		if c.known != nil {
			floats.AddScaled(grad[at+part.free:at+len(part.w)], -share*part.by, c.known[at+part.free:at+len(part.w)])
		}
		at += len(part.w)
	}
}

// moments are the running means of slopes and of their squares, at a step, and how far it goes.
type moments struct {
	first, second []float64
	step          int
	pace          float64
}

// down moves every weight one step.
func down(w, grad []float64, m moments) {
	const keep1, keep2, least = 0.9, 0.999, 1e-8
	scale1, scale2 := 1/(1-math.Pow(keep1, float64(m.step))), 1/(1-math.Pow(keep2, float64(m.step)))
	for i, g := range grad {
		m.first[i] = keep1*m.first[i] + (1-keep1)*g
		m.second[i] = keep2*m.second[i] + (1-keep2)*g*g
		w[i] -= m.pace * m.first[i] * scale1 / (math.Sqrt(m.second[i]*scale2) + least)
	}
}

// worker studies a part of each batch.
type worker struct {
	run  *run
	grad *network
	loss float64
}

func newWorker(n *network, c *course, number uint64) *worker {
	return &worker{run: newRun(n, &dropper{c.drop, rand.New(rand.NewPCG(c.seed, 100+number))}), grad: newNetwork(n.in, n.units, n.out)}
}

func (w *worker) study(of lecture, lessons []int) {
	clear(w.grad.all)
	w.loss = 0
	for _, i := range lessons {
		w.loss += of.study(w.run, i, w.grad)
	}
}
