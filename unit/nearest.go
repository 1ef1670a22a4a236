package unit

import "strings"

// Nearest returns the known spelling closest to word, or "" if none is near: at most one slip for
// words up to four letters and one more for every further four. Case does not count. A slip is a letter
// missing, added, wrong, or swapped with its neighbour. Of equals the first in known wins.
func Nearest(word string, known []string) string {
	if len(word) > maxText {
		return ""
	}
	w := []rune(strings.ToLower(word))
	best, bestSlips := "", 2+len(w)/4
	if len(w) < 2 {
		return ""
	}
	for _, k := range known {
		r := []rune(strings.ToLower(k))
		if len(r) > len(w)+bestSlips || len(w) > len(r)+bestSlips {
			continue
		}
		if n := slips(w, r); n < bestSlips && n < len(w) {
			best, bestSlips = k, n
		}
	}
	return best
}

// slips is the restricted Damerau-Levenshtein distance of a and b.
func slips(a, b []rune) int {
	var prev, row, next []int
	row = make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		next = make([]int, len(b)+1)
		next[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			next[j] = min(row[j]+1, next[j-1]+1, row[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				next[j] = min(next[j], prev[j-2]+1)
			}
		}
		prev, row = row, next
	}
	return row[len(b)]
}
