package sound

import (
	"encoding/binary"
	"math"
)

// wavFormat is what the "fmt " chunk says.
type wavFormat struct {
	code, channels, bits int
	rate, frame          int
}

// Format codes of the "fmt " chunk.
const (
	wavPCM        = 1
	wavFloat      = 3
	wavExtensible = 0xFFFE
)

// wav reads RIFF/WAVE: 8, 16, 24 and 32 bit integers, 32 and 64 bit floats, any number of channels.
// A file cut short, or one whose sizes were never filled in because the recorder was stopped
// hard, gives what is there, marked as cut.
func wav(data []byte) (*Clip, error) {
	var f wavFormat
	for at := 12; at+8 <= len(data); {
		id, size := string(data[at:at+4]), int64(binary.LittleEndian.Uint32(data[at+4:]))
		body := data[at+8:]
		switch id {
		case "fmt ":
			if size < 16 || int64(len(body)) < size {
				return nil, refuse("", "the recording's header is cut off; record again")
			}
			f = readWavFormat(body[:size])
		case "data":
			if f.frame == 0 {
				return nil, refuse("", "the recording has no usable format header (PCM or float WAV is needed); save it again as WAV")
			}
			cut := size > int64(len(body))
			if !cut {
				body = body[:size]
			}
			clip := &Clip{Samples: f.samples(body), Rate: f.rate, Format: "WAV", Cut: cut}
			return clip, nil
		}
		next := int64(at) + 8 + size + size&1
		if next > int64(len(data)) {
			break
		}
		at = int(next)
	}
	return nil, refuse("", "the recording ends before its sound begins; it was cut off, record again")
}

// readWavFormat returns the format, with frame 0 where it is none that can be read.
func readWavFormat(b []byte) wavFormat {
	f := wavFormat{
		code:     int(binary.LittleEndian.Uint16(b)),
		channels: int(binary.LittleEndian.Uint16(b[2:])),
		rate:     int(binary.LittleEndian.Uint32(b[4:])),
		bits:     int(binary.LittleEndian.Uint16(b[14:])),
	}
	if f.code == wavExtensible && len(b) >= 26 {
		f.code = int(binary.LittleEndian.Uint16(b[24:]))
	}
	integer := f.code == wavPCM && (f.bits == 8 || f.bits == 16 || f.bits == 24 || f.bits == 32)
	float := f.code == wavFloat && (f.bits == 32 || f.bits == 64)
	if (integer || float) && f.channels >= 1 && f.channels <= 64 {
		f.frame = f.channels * f.bits / 8
	}
	return f
}

// samples draws interleaved frames together into one channel.
func (f wavFormat) samples(b []byte) []float32 {
	n := len(b) / f.frame
	out := make([]float32, n)
	if f.code == wavPCM && f.bits == 16 && f.channels == 1 {
		for i := range out {
			out[i] = float32(int16(binary.LittleEndian.Uint16(b[2*i:]))) * (1.0 / 32768)
		}
		return out
	}
	width := f.bits / 8
	scale := 1 / float32(f.channels)
	for i := range out {
		var sum float32
		for c := 0; c < f.channels; c++ {
			at := i*f.frame + c*width
			sum += f.sample(b[at : at+width])
		}
		out[i] = sum * scale
	}
	return out
}

// sample reads one number; a float that is none counts as silence.
func (f wavFormat) sample(b []byte) float32 {
	switch {
	case f.code == wavFloat && f.bits == 32:
		return finite(math.Float32frombits(binary.LittleEndian.Uint32(b)))
	case f.code == wavFloat:
		return finite(float32(math.Float64frombits(binary.LittleEndian.Uint64(b))))
	case f.bits == 8:
		return (float32(b[0]) - 128) / 128
	case f.bits == 16:
		return float32(int16(binary.LittleEndian.Uint16(b))) / 32768
	case f.bits == 24:
		return float32(int32(uint32(b[0])<<8|uint32(b[1])<<16|uint32(b[2])<<24)) / 2147483648
	default:
		return float32(int32(binary.LittleEndian.Uint32(b))) / 2147483648
	}
}

func finite(v float32) float32 {
	if v != v || v > 1e6 || v < -1e6 {
		return 0
	}
	return v
}

// EncodeWAV returns samples as a 16 bit mono WAV file; values outside -1 to 1 are held at the ends.
func EncodeWAV(samples []float32, rate int) []byte {
	out := make([]byte, 44, 44+2*len(samples))
	copy(out, "RIFF")
	binary.LittleEndian.PutUint32(out[4:], uint32(36+2*len(samples)))
	copy(out[8:], "WAVEfmt ")
	binary.LittleEndian.PutUint32(out[16:], 16)
	binary.LittleEndian.PutUint16(out[20:], wavPCM)
	binary.LittleEndian.PutUint16(out[22:], 1)
	binary.LittleEndian.PutUint32(out[24:], uint32(rate))
	binary.LittleEndian.PutUint32(out[28:], uint32(2*rate))
	binary.LittleEndian.PutUint16(out[32:], 2)
	binary.LittleEndian.PutUint16(out[34:], 16)
	copy(out[36:], "data")
	binary.LittleEndian.PutUint32(out[40:], uint32(2*len(samples)))
	for _, s := range samples {
		v := math.Round(float64(max(-1, min(1, s))) * 32767)
		out = binary.LittleEndian.AppendUint16(out, uint16(int16(v)))
	}
	return out
}
