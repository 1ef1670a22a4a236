package main

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dustwright/feed/sound"
	"dustwright/sense/ear/eartest"
)

// clip writes a recording of six valves, the second dead, the fourth weak, the sixth stuck open, and
// returns its path and samples.
func clip(t *testing.T) (string, []float32) {
	t.Helper()
	x, _ := eartest.Scene{Seed: 4, Rate: 22050, Valves: 6, Interval: 5, Nominal: 5, Due: 12, Lead: 2, Tail: 2.5, SNR: 20,
		Faults: []eartest.Fault{eartest.Good, eartest.Dead, eartest.Good, eartest.Weak, eartest.Good, eartest.Stuck},
		Form:   eartest.Returns, Talk: math.Inf(-1)}.Make()
	return writeClip(t, "clip.wav", x, 22050), x
}

func writeClip(t *testing.T, name string, samples []float32, rate int) string {
	return write(t, name, string(sound.EncodeWAV(samples, rate)))
}

// TestListenPage pins the page and its JSON on a made recording.
func TestListenPage(t *testing.T) {
	path, _ := clip(t)
	svg := filepath.Join(t.TempDir(), "cycle.svg")
	for name, args := range map[string][]string{
		"listen_us":    {"listen", path, dc1, "--interval", "5 s", "--plot", svg},
		"listen_flags": {"listen", path, "--valves", "6"},
		"listen_json":  {"listen", path, "--valves", "6", "--interval", "5 s", "--json"},
	} {
		t.Run(name, func(t *testing.T) {
			out, bad, code := do(t, args...)
			if code != exitDone || bad != "" {
				t.Fatalf("exit %d, stderr %q", code, bad)
			}
			golden(t, name+".golden", out)
		})
	}
	if drawing, err := os.ReadFile(svg); err != nil || !bytes.Contains(drawing, []byte("<svg")) {
		t.Errorf("the drawing: %v, %d bytes", err, len(drawing))
	}
}

// TestListenRefusesInOneSentence gives it what is no usable recording.
func TestListenRefusesInOneSentence(t *testing.T) {
	path, x := clip(t)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	slow := make([]float32, 0, len(x)*8000/22050+1)
	for i := 0.0; int(i) < len(x); i += 22050.0 / 8000 {
		slow = append(slow, x[int(i)])
	}
	picture := "\x89PNG\r\n\x1a\n" + strings.Repeat("\x00\x01\x02\x03", 500)
	for _, tc := range []struct{ name, path, says string }{
		{"a picture", write(t, "picture.wav", picture), "picture"},
		{"cut off in the header", write(t, "head.wav", string(whole[:30])), ""},
		{"cut off after 7 s", write(t, "cut.wav", string(whole[:44+7*2*22050])), "cut off"},
		{"silence", writeClip(t, "silence.wav", make([]float32, 40*22050), 22050), "silent"},
		{"a song", writeClip(t, "song.wav", eartest.Song(1, 22050, 60), 22050), "good enough"},
		{"three seconds", writeClip(t, "short.wav", x[:3*22050], 22050), "3.0 s long"},
		{"8 kHz", writeClip(t, "slow.wav", slow, 8000), "8000 samples"},
		{"no file", filepath.Join(t.TempDir(), "none.wav"), "cannot be opened"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			out, bad, code := do(t, "listen", tc.path, "--valves", "6", "--interval", "5 s")
			if code != exitUnusable || out != "" {
				t.Errorf("exit %d, stdout %q", code, out)
			}
			if !strings.Contains(bad, tc.says) || strings.Count(strings.TrimSpace(bad), "\n") > 0 {
				t.Errorf("got %q, want one sentence with %q", bad, tc.says)
			}
		})
	}
}

// TestStereoTellsTheSame listens to the same sound on two channels.
func TestStereoTellsTheSame(t *testing.T) {
	path, x := clip(t)
	twice := make([]float32, 0, 2*len(x))
	for _, v := range x {
		twice = append(twice, v, v)
	}
	stereo := sound.EncodeWAV(twice, 22050)
	binary.LittleEndian.PutUint16(stereo[22:], 2)       // channels
	binary.LittleEndian.PutUint32(stereo[28:], 4*22050) // bytes a second
	binary.LittleEndian.PutUint16(stereo[32:], 4)       // bytes a frame
	mono, _, _ := do(t, "listen", path, "--valves", "6", "--interval", "5 s", "--json")
	out, bad, code := do(t, "listen", write(t, "stereo.wav", string(stereo)), "--valves", "6", "--interval", "5 s", "--json")
	if code != exitDone || bad != "" || out != mono {
		t.Errorf("exit %d, stderr %q; on one channel:\n%s\non two:\n%s", code, bad, mono, out)
	}
}

// TestCutRecordingStillTells listens to what is left of a recording with a whole cycle in it.
func TestCutRecordingStillTells(t *testing.T) {
	path, _ := clip(t)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if n := binary.LittleEndian.Uint32(whole[40:]); int(n) != len(whole)-44 {
		t.Fatalf("the header says %d bytes of sound, there are %d", n, len(whole)-44)
	}
	out, bad, code := do(t, "listen", write(t, "cut.wav", string(whole[:44+45*2*22050])), "--valves", "6", "--interval", "5 s")
	if code != exitDone || bad != "" || !strings.Contains(out, "cut off") {
		t.Errorf("exit %d, stdout %q, stderr %q", code, out, bad)
	}
}
