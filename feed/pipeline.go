package feed

import (
	"context"
	"errors"
	"io"
	"runtime"
	"sync"
)

// blockSize is how much of a file one goroutine parses at a time; the block and what it gives fit
// into a processor's second cache.
const blockSize = 256 << 10

// file reads one log into a sink.
func (r *reading) file(ctx context.Context, path string, to sink) error {
	in, err := openInput(ctx, path)
	if errors.Is(err, errWorkbook) {
		return r.workbook(ctx, path, to)
	}
	if err != nil {
		return err
	}
	err = r.text(ctx, in, to)
	if ctx.Err() != nil {
		err = interrupted(path, ctx.Err())
	}
	if cerr := in.close(); err == nil && cerr != nil {
		err = readError(path, cerr)
	}
	r.before += in.size
	return err
}

func interrupted(path string, cause error) error {
	return &Error{File: path, Why: "reading was interrupted", Do: "nothing was changed; run it again", Cause: cause}
}

// text reads the lines of one input.
func (r *reading) text(ctx context.Context, in *input, to sink) error {
	br := &blockReader{file: in.path, r: in.text, size: min(blockSize, r.opts.maxLine()), most: r.opts.maxLine()}
	first := &block{done: make(chan struct{}, 1)}
	if err := br.next(first); err != nil {
		return err
	}
	lay, err := studyHead(in.path, first.buf, first.last, r.opts, r.report)
	if err != nil {
		return err
	}
	lay.base1904 = in.base1904
	first.skip(lay.start)
	p := &pipeline{reading: r, lay: lay, blocks: br, in: in}
	return p.run(ctx, first, to)
}

// skip takes the header off the first block.
func (b *block) skip(start int) {
	n := 0
	for _, c := range b.buf[:start] {
		if c == '\n' {
			n++
		}
	}
	b.buf, b.line, b.lines = b.buf[start:], n, b.lines-n
}

// pipeline reads blocks in one goroutine, parses them in several and hands the rows over in order.
type pipeline struct {
	*reading
	lay    *layout
	blocks *blockReader
	in     *input
	err    error // why the reader stopped; read it only after the order channel is closed
}

// run moves the whole file. All goroutines have ended when it returns.
func (p *pipeline) run(ctx context.Context, first *block, to sink) error {
	workers := p.opts.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	ctx, cancel := context.WithCancel(ctx)
	var all sync.WaitGroup
	defer all.Wait()
	defer cancel()
	depth := 2*workers + 1
	work, order, free := make(chan *block, depth), make(chan *block, depth), make(chan *block, depth)
	for range depth - 1 {
		free <- &block{done: make(chan struct{}, 1)}
	}
	all.Go(func() { p.read(ctx, first, work, order, free) })
	for range workers {
		all.Go(func() { p.parse(work) })
	}
	begun := false
	for b := range order {
		<-b.done
		if b.out.err != nil {
			return b.out.err
		}
		if !begun {
			begun = true
			if err := to.begin(p.lay, p.estimate(b)); err != nil {
				return err
			}
		}
		if err := to.take(p.lay, &b.out); err != nil {
			return err
		}
		if p.opts.Progress != nil {
			p.opts.Progress(p.before+b.bytes, p.total)
		}
		free <- b
	}
	if p.err != nil {
		return p.err
	}
	return to.end(p.lay)
}

// read fills blocks until the file ends.
func (p *pipeline) read(ctx context.Context, b *block, work, order, free chan *block) {
	defer close(work)
	defer close(order)
	for {
		b.bytes = p.in.taken.Load()
		select {
		case work <- b:
			order <- b // has room: there are no more blocks than places
		case <-ctx.Done():
			p.err = ctx.Err()
			return
		}
		select {
		case b = <-free:
		case <-ctx.Done():
			p.err = ctx.Err()
			return
		}
		if err := p.blocks.next(b); err != nil {
			if err != io.EOF {
				p.err = err
			}
			return
		}
	}
}

// parse turns blocks into batches until there are no more.
func (p *pipeline) parse(work chan *block) {
	s := &scanner{layout: p.lay, keep: p.opts.keep()}
	for b := range work {
		b.out.prepare(p.lay, b.lines+1)
		s.scan(b.buf, b.line, b.cut, &b.out)
		b.done <- struct{}{}
	}
}

// estimate returns how many rows this file and those after it will give, judged by its first block,
// and a little more. A head too short to judge by gives no more than its own rows.
func (p *pipeline) estimate(first *block) int {
	rows := first.out.rows
	taken := int64(len(first.buf))
	if p.in.gz {
		taken = first.bytes
	}
	left := max(p.total-p.before, p.in.size)
	if len(first.buf) < blockSize/8 || left < taken {
		return rows
	}
	const most = 1 << 24 // beyond that columns may move while they grow
	return min(int(float64(rows)*float64(left)/float64(taken)*1.03)+64, most)
}
