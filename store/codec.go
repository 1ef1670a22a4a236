package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"

	"github.com/klauspost/compress/zstd"
)

// samples is one channel over a stretch: times in unix ns, ascending, and values. Values are kept as
// 32 bit floats: 1 part in 16 million, far below what any instrument of the trade resolves.
type samples struct {
	t []int64
	v []float32
}

func (s samples) slice(i, j int) samples { return samples{s.t[i:j], s.v[i:j]} }

// codec packs and unpacks chunks: as a table where there is little to tell apart, else compressed. It is safe for
// concurrent use.
type codec struct {
	enc *zstd.Encoder
	dec *zstd.Decoder
	raw sync.Pool // *[]byte, to unpack into
}

// compressed is the first byte of a compressed chunk.
const compressed = 1

// maxChunk bounds what a damaged chunk may claim to hold.
const maxChunk = 1 << 16

func newCodec() (*codec, error) {
	enc, err := zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedFastest), zstd.WithEncoderConcurrency(runtime.GOMAXPROCS(0)), zstd.WithEncoderCRC(true))
	if err != nil {
		return nil, fmt.Errorf("store: %w", err)
	}
	dec, err := zstd.NewReader(nil, zstd.WithDecoderConcurrency(2), zstd.WithDecoderMaxMemory(64<<20))
	if err != nil {
		return nil, fmt.Errorf("store: %w", err)
	}
	return &codec{enc: enc, dec: dec, raw: sync.Pool{New: func() any { return new([]byte) }}}, nil
}

// pack writes samples: as a table where they make one, otherwise the format, their number, the first time, each next step's difference from the
// step before (zero for a steady logger), then the values' bytes, first bytes together, second
// bytes together and so on, since those of neighbouring readings are alike. All but the format is
// compressed, with a checksum.
func (c *codec) pack(s samples) []byte {
	if data, ok := table(s); ok {
		return data
	}
	raw := make([]byte, 0, 16+6*len(s.t))
	raw = binary.AppendUvarint(raw, uint64(len(s.t)))
	var last, step int64
	for _, t := range s.t {
		raw = binary.AppendVarint(raw, (t-last)-step)
		step, last = t-last, t
	}
	at := len(raw)
	raw = append(raw, make([]byte, 4*len(s.v))...)
	for i, v := range s.v {
		bits := math.Float32bits(v)
		for b := 0; b < 4; b++ {
			raw[at+b*len(s.v)+i] = byte(bits >> (8 * b))
		}
	}
	return c.enc.EncodeAll(raw, []byte{compressed})
}

// packAll packs chunks, some on each processor where there are enough.
func (c *codec) packAll(pieces []samples) [][]byte {
	out := make([][]byte, len(pieces))
	workers := min(runtime.GOMAXPROCS(0), 1+len(pieces)/8)
	var group sync.WaitGroup
	for w := range workers {
		group.Go(func() {
			for i := w; i < len(pieces); i += workers {
				out[i] = c.pack(pieces[i])
			}
		})
	}
	group.Wait()
	return out
}

var errDamaged = errors.New("a stored stretch of readings is damaged")

// unpack appends the samples of a packed chunk to into.
func (c *codec) unpack(data []byte, into *samples) error {
	switch {
	case len(data) < 2:
		return errDamaged
	case data[0] == tabled:
		return untable(data[1:], into)
	case data[0] != compressed:
		return errDamaged
	}
	buf := c.raw.Get().(*[]byte)
	defer c.raw.Put(buf)
	raw, err := c.dec.DecodeAll(data[1:], (*buf)[:0])
	if err != nil {
		return fmt.Errorf("%w: %w", errDamaged, err)
	}
	*buf = raw
	n64, k := binary.Uvarint(raw)
	if k <= 0 || n64 > maxChunk {
		return errDamaged
	}
	raw, n := raw[k:], int(n64)
	from := len(into.t)
	times, values := slices.Grow(into.t, n)[:from+n], slices.Grow(into.v, n)[:from+n]
	var last, step int64
	for i := range times[from:] {
		if len(raw) > 0 && raw[0] == 0 { // the logger is steady
			raw = raw[1:]
		} else {
			d, k := binary.Varint(raw)
			if k <= 0 {
				return errDamaged
			}
			raw = raw[k:]
			step += d
		}
		last += step
		times[from+i] = last
	}
	if len(raw) != 4*n {
		return errDamaged
	}
	b0, b1, b2, b3 := raw[:n], raw[n:2*n], raw[2*n:3*n], raw[3*n:]
	for i := range n {
		values[from+i] = math.Float32frombits(uint32(b0[i]) | uint32(b1[i])<<8 | uint32(b2[i])<<16 | uint32(b3[i])<<24)
	}
	into.t, into.v = times, values
	return nil
}

// merge puts two stretches together; where both have a time, what kept says stands.
func merge(kept, more samples) samples {
	out := samples{make([]int64, 0, len(kept.t)+len(more.t)), make([]float32, 0, len(kept.t)+len(more.t))}
	i, j := 0, 0
	for i < len(kept.t) || j < len(more.t) {
		switch {
		case j == len(more.t) || i < len(kept.t) && kept.t[i] < more.t[j]:
			out.t, out.v = append(out.t, kept.t[i]), append(out.v, kept.v[i])
			i++
		case i == len(kept.t) || more.t[j] < kept.t[i]:
			out.t, out.v = append(out.t, more.t[j]), append(out.v, more.v[j])
			j++
		default:
			t := kept.t[i]
			for i < len(kept.t) && kept.t[i] == t {
				out.t, out.v = append(out.t, t), append(out.v, kept.v[i])
				i++
			}
			for j < len(more.t) && more.t[j] == t {
				j++
			}
		}
	}
	return out
}
