package sound

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The clips in testdata hold the same tone, 440 Hz at half scale for 0.5 s at 16 kHz, written by
// sox 14.4.2: an encoder that shares no code with these decoders.
func TestDecodersAgreeOnATone(t *testing.T) {
	for _, c := range []struct {
		file, format string
		tolerance    float64 // of the level; lossy formats keep it within a few per cent
		lossy        bool
	}{
		{"tone.wav", "WAV", 1e-3, false},
		{"tone24.wav", "WAV", 1e-3, false},
		{"tonef.wav", "WAV", 1e-3, false},
		{"tone.flac", "FLAC", 1e-3, false},
		{"tone.ogg", "Ogg Vorbis", 0.05, true},
		{"tone.mp3", "MP3", 0.1, true},
	} {
		t.Run(c.file, func(t *testing.T) {
			data, err := os.ReadFile(filepath.Join("testdata", c.file))
			if err != nil {
				t.Fatal(err)
			}
			clip, err := Decode(data, c.file)
			if err != nil {
				t.Fatal(err)
			}
			if clip.Format != c.format || clip.Lossy != c.lossy || clip.Rate != 16000 || clip.Cut {
				t.Errorf("got format %s, lossy %v, rate %d, cut %v", clip.Format, clip.Lossy, clip.Rate, clip.Cut)
			}
			if s := clip.Seconds(); s < 0.49 || s > 0.75 {
				t.Errorf("length %.3f s, want 0.5 s and at most some codec padding", s)
			}
			mid := clip.Samples[3000:6200] // 0.2 s: 88 whole periods
			if rms := math.Sqrt(tone(mid, 440, 16000)); math.Abs(rms-0.5) > 0.5*c.tolerance {
				t.Errorf("amplitude at 440 Hz %.4f, want 0.5", rms)
			}
		})
	}
}

// tone returns the squared amplitude of the sine of frequency f in s (Goertzel's sum written out).
func tone(s []float32, f, rate float64) float64 {
	var re, im float64
	for i, v := range s {
		re += float64(v) * math.Cos(2*math.Pi*f*float64(i)/rate)
		im += float64(v) * math.Sin(2*math.Pi*f*float64(i)/rate)
	}
	return 4 * (re*re + im*im) / float64(len(s)*len(s))
}

func TestUnusableRecordingsGetOneSentence(t *testing.T) {
	whole, err := os.ReadFile("testdata/tone.wav")
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"empty.wav":   {nil, "the file is empty"},
		"picture.wav": {[]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR"), "a picture (PNG)"},
		"notes.wav":   {[]byte("time,dp\n1,2\n"), "looks like text"},
		"phone.m4a":   {[]byte("\x00\x00\x00\x18ftypM4A "), "M4A"},
		"cut.wav":     {whole[:30], "cut off"},
		"nosound.wav": {EncodeWAV(nil, 48000), "holds no sound"},
		"slow.wav":    {EncodeWAV(make([]float32, 100), 50), "sampling rate of 50 Hz"},
		"cut.flac":    {[]byte("fLaC\x00\x00\x00"), "can't be decoded"},
		"cut.ogg":     {[]byte("OggS\x00\x02"), "can't be decoded"},
	} {
		_, err := Decode(c.data, name)
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.HasPrefix(err.Error(), name+": ") {
			t.Errorf("%s: %v, want the file's name and %q", name, err, c.want)
		}
		if err != nil && strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: more than one line: %v", name, err)
		}
	}
}

func TestATruncatedRecordingGivesWhatIsThere(t *testing.T) {
	whole, err := os.ReadFile("testdata/tone.wav")
	if err != nil {
		t.Fatal(err)
	}
	clip, err := Decode(whole[:len(whole)/2], "half.wav")
	if err != nil || !clip.Cut {
		t.Fatalf("half a file: %v, cut %v; want it read and marked as cut", err, clip != nil && clip.Cut)
	}
	if n := len(clip.Samples); n < 3900 || n > 4000 {
		t.Errorf("%d samples of half the file, want about 3990", n)
	}
	binary.LittleEndian.PutUint32(whole[40:], 0xFFFFFFFF) // a recorder stopped hard never filled in the size
	if clip, err = Decode(whole, "open.wav"); err != nil || len(clip.Samples) != 8000 {
		t.Errorf("a file with an open size: %v", err)
	}
}

func TestWAVRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := rapid.SliceOfN(rapid.Float32Range(-1, 1), 1, 400).Draw(t, "samples")
		rate := rapid.SampledFrom([]int{8000, 16000, 44100, 48000}).Draw(t, "rate")
		clip, err := Read(bytes.NewReader(EncodeWAV(in, rate)), "x.wav")
		if err != nil || clip.Rate != rate || len(clip.Samples) != len(in) {
			t.Fatalf("round trip: %v", err)
		}
		for i, v := range in {
			if math.Abs(float64(clip.Samples[i]-v)) > 1.0/16384 {
				t.Fatalf("sample %d: %v, want %v", i, clip.Samples[i], v)
			}
		}
	})
}

func FuzzDecode(f *testing.F) {
	files, _ := filepath.Glob("testdata/tone*")
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		clip, err := Decode(data, "fuzz")
		if err == nil && (clip.Rate <= 0 || len(clip.Samples) == 0) {
			t.Fatal("accepted a recording without sound or rate")
		}
		if err != nil && !strings.HasPrefix(err.Error(), "fuzz: ") {
			t.Fatalf("an error without the file's name: %v", err)
		}
	})
}

func BenchmarkDecodeWAV(b *testing.B) {
	data := EncodeWAV(make([]float32, 60*48000), 48000)
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, err := Decode(data, "bench.wav"); err != nil {
			b.Fatal(err)
		}
	}
}
