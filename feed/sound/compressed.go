package sound

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"

	gomp3 "github.com/hajimehoshi/go-mp3"
	"github.com/jfreymuth/oggvorbis"
	"github.com/mewkiz/flac"
)

// flacClip decodes FLAC. A stream cut short gives what came before the cut.
func flacClip(data []byte) (*Clip, error) {
	stream, err := flac.New(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	clip := &Clip{Rate: int(stream.Info.SampleRate), Format: "FLAC"}
	full := float32(int64(1) << (stream.Info.BitsPerSample - 1))
	for {
		frame, err := stream.ParseNext()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			clip.Cut = true
			break
		}
		scale := 1 / (full * float32(len(frame.Subframes)))
		for i := range frame.Subframes[0].Samples {
			var sum float32
			for _, sub := range frame.Subframes {
				sum += float32(sub.Samples[i])
			}
			clip.Samples = append(clip.Samples, sum*scale)
		}
		if clip.Rate > 0 && clip.Seconds() > MaxSeconds {
			break
		}
	}
	if n := stream.Info.NSamples; n > 0 && uint64(len(clip.Samples)) < n {
		clip.Cut = true
	}
	return clip, nil
}

// mp3 decodes MPEG layer III; the library gives 16 bit stereo.
func mp3(data []byte) (*Clip, error) {
	d, err := gomp3.NewDecoder(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	clip := &Clip{Rate: d.SampleRate(), Format: "MP3", Lossy: true}
	limit := int64(MaxSeconds+1) * int64(max(clip.Rate, 1)) * 4
	pcm, err := io.ReadAll(io.LimitReader(d, limit))
	if err != nil {
		clip.Cut = true
	}
	clip.Samples = make([]float32, len(pcm)/4)
	for i := range clip.Samples {
		left := int16(binary.LittleEndian.Uint16(pcm[4*i:]))
		right := int16(binary.LittleEndian.Uint16(pcm[4*i+2:]))
		clip.Samples[i] = (float32(left) + float32(right)) / 65536
	}
	return clip, nil
}

// ogg decodes Vorbis in Ogg; other codecs in Ogg are told by name.
func ogg(data []byte) (*Clip, error) {
	if bytes.Contains(data[:min(len(data), 128)], []byte("OpusHead")) {
		return nil, refuse("", "this is Opus in Ogg, which is not read here; save it as WAV, or upload it in the pages, where the browser decodes it")
	}
	r, err := oggvorbis.NewReader(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	clip := &Clip{Rate: r.SampleRate(), Format: "Ogg Vorbis", Lossy: true}
	channels := max(r.Channels(), 1)
	buf := make([]float32, 8192*channels)
	for clip.Rate > 0 && clip.Seconds() <= MaxSeconds {
		n, err := r.Read(buf)
		for i := 0; i+channels <= n; i += channels {
			var sum float32
			for _, s := range buf[i : i+channels] {
				sum += s
			}
			clip.Samples = append(clip.Samples, sum/float32(channels))
		}
		if err != nil {
			clip.Cut = !errors.Is(err, io.EOF)
			break
		}
	}
	return clip, nil
}
