// Package sound brings recordings in: WAV, FLAC, MP3 and Ogg Vorbis become one channel of samples.
// The kind is told from the first bytes, never from the file's name. It judges nothing; what the
// samples mean is package sense/ear's work. Formats: RIFF/WAVE as in the multimedia programming
// interface of 1991 with the extensible header; the others through libraries.
package sound

import (
	"bytes"
	"errors"
	"fmt"
	"io"
)

// Clip is a recording drawn down to one channel.
type Clip struct {
	Samples []float32 // -1 to 1, mean of the channels
	Rate    int       // samples per second
	Format  string    // "WAV", "FLAC", "MP3", "Ogg Vorbis"
	Lossy   bool      // the format changes levels: timing can be trusted, absolute level can't
	Cut     bool      // the file ends before it says it would; what is there was read
}

// Seconds is the length of the clip.
func (c *Clip) Seconds() float64 { return float64(len(c.Samples)) / float64(c.Rate) }

// MaxSeconds is the longest recording taken in; a cleaning cycle takes a few minutes at most.
const MaxSeconds = 30 * 60

// MaxBytes is the largest file taken in.
const MaxBytes = 1 << 30

// Error is a recording that can't be used, as a sentence that says what to do.
type Error struct {
	Name string // file name
	Says string
}

// Error returns the sentence.
func (e *Error) Error() string { return e.Name + ": " + e.Says }

func refuse(name, format string, args ...any) error {
	return &Error{name, fmt.Sprintf(format, args...)}
}

// Read takes in a whole recording. name serves messages only. It returns *Error for bytes that are
// no usable recording and the reader's own error where reading stops.
func Read(r io.Reader, name string) (*Clip, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	if len(data) > MaxBytes {
		return nil, refuse(name, "larger than 1 GB; cut the recording to the minutes around one cleaning cycle")
	}
	return Decode(data, name)
}

// Decode is Read on bytes already in memory.
func Decode(data []byte, name string) (*Clip, error) {
	if len(data) == 0 {
		return nil, refuse(name, "the file is empty; record again and check that the phone saved it")
	}
	decode := decoderFor(data)
	if decode == nil {
		return nil, refuse(name, "%s; use WAV, FLAC, MP3 or Ogg Vorbis, or upload it in the pages, where the browser decodes what the phone recorded", looksLike(data))
	}
	clip, err := guard(decode, data)
	if err != nil {
		var said *Error
		if errors.As(err, &said) {
			said.Name = name
			return nil, said
		}
		return nil, refuse(name, "the recording can't be decoded (%v); it may be damaged, record again", err)
	}
	if clip.Rate < 1000 || clip.Rate > 768000 {
		return nil, refuse(name, "a sampling rate of %d Hz can't be right; record at 44.1 or 48 kHz", clip.Rate)
	}
	if len(clip.Samples) == 0 {
		return nil, refuse(name, "the recording holds no sound; record again")
	}
	if clip.Seconds() > MaxSeconds {
		return nil, refuse(name, "the recording is longer than %d minutes; cut it to the minutes around one cleaning cycle", MaxSeconds/60)
	}
	return clip, nil
}

// guard runs a decoder and turns a panic inside a library, which damaged bytes can cause, into an
// error: bad input must never bring the program down.
func guard(decode func([]byte) (*Clip, error), data []byte) (clip *Clip, err error) {
	defer func() {
		if p := recover(); p != nil {
			clip, err = nil, fmt.Errorf("damaged data: %v", p)
		}
	}()
	return decode(data)
}

// decoderFor tells the format from the first bytes.
func decoderFor(data []byte) func([]byte) (*Clip, error) {
	has := func(at int, magic string) bool {
		return len(data) >= at+len(magic) && string(data[at:at+len(magic)]) == magic
	}
	switch {
	case (has(0, "RIFF") || has(0, "RF64")) && has(8, "WAVE"):
		return wav
	case has(0, "fLaC"):
		return flacClip
	case has(0, "OggS"):
		return ogg
	case has(0, "ID3"), len(data) > 1 && data[0] == 0xFF && data[1]&0xE6 == 0xE2:
		return mp3
	}
	return nil
}

// looksLike names what the bytes are instead of a recording, as far as they show it.
func looksLike(data []byte) string {
	for _, k := range []struct {
		at          int
		magic, says string
	}{
		{0, "\x89PNG", "this is a picture (PNG), not a recording"},
		{0, "\xff\xd8\xff", "this is a picture (JPEG), not a recording"},
		{0, "GIF8", "this is a picture (GIF), not a recording"},
		{0, "%PDF", "this is a PDF, not a recording"},
		{0, "PK\x03\x04", "this is an archive or a spreadsheet, not a recording"},
		{4, "ftyp", "this is an M4A or MP4 file, which is not read here"},
		{0, "\x1aE\xdf\xa3", "this is a WebM file, which is not read here"},
		{0, "FORM", "this is an AIFF file, which is not read here"},
		{0, "#!AMR", "this is an AMR voice note, which is not read here"},
	} {
		if len(data) >= k.at+len(k.magic) && string(data[k.at:k.at+len(k.magic)]) == k.magic {
			return k.says
		}
	}
	if !bytes.ContainsRune(data[:min(len(data), 512)], 0) {
		return "this looks like text, not a recording"
	}
	return "this is no recording this program knows"
}
