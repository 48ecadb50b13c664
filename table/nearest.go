package table

import (
	"slices"
	"strings"
)

// Nearest returns up to most of the words that are most like word, the most
// alike first: by the bytes to put in, take out or change, where a word that
// holds the other counts a quarter of them; alike ones stay in their order. It
// takes every text as it is: fold capitals and cut what a person typed before.
func Nearest(word string, words []string, most int) []string {
	type scored struct {
		word string
		cost int
	}
	all := make([]scored, len(words))
	for i, w := range words {
		cost := 4 * distance(word, w)
		if len(word) > 2 && (strings.Contains(w, word) || strings.Contains(word, w)) {
			cost /= 4
		}
		all[i] = scored{w, cost}
	}
	slices.SortStableFunc(all, func(a, b scored) int { return a.cost - b.cost })
	out := []string{}
	for _, s := range all[:max(0, min(most, len(all)))] {
		out = append(out, s.word)
	}
	return out
}

// distance is the number of bytes to put in, take out or change to turn a into
// b.
func distance(a, b string) int {
	above := make([]int, len(b)+1)
	for j := range above {
		above[j] = j
	}
	for i := range len(a) {
		row := make([]int, len(b)+1)
		row[0] = i + 1
		for j := range len(b) {
			change := above[j]
			if a[i] != b[j] {
				change++
			}
			row[j+1] = min(change, above[j+1]+1, row[j]+1)
		}
		above = row
	}
	return above[len(b)]
}
