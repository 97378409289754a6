package ingest

import (
	"strings"
	"unicode/utf8"
)

// No name of a plant comes near these; they bound the work on hostile input.
const (
	nearestWordLimit  = 40
	nearestKnownLimit = 300
)

// didYouMean returns the way out for a word that is not among those known: the
// one meant, where that is plain, else the choice itself or, where that is too
// long to read, the advice otherwise given.
func didYouMean(word string, known []string, otherwise string) string {
	if near := nearestName(word, known); near != "" {
		return "did you mean " + near + "?"
	}
	if otherwise == "" {
		return "write one of " + strings.Join(known, ", ")
	}
	return otherwise
}

// nearestName returns the known name that differs from word by the fewest
// letters, empty where none is near enough to be meant.
func nearestName(word string, known []string) string {
	length := utf8.RuneCountInString(word)
	if length == 0 || length > nearestWordLimit {
		return ""
	}
	best, fewest := "", 1+max(1, length/4)
	for _, name := range known[:min(len(known), nearestKnownLimit)] {
		if strings.EqualFold(name, word) {
			return name
		}
		if d := lettersApart(strings.ToLower(word), strings.ToLower(name)); d < fewest {
			best, fewest = name, d
		}
	}
	return best
}

// lettersApart returns how many letters must be put in, taken out or changed to
// make b of a.
//
// Source: V. I. Levenshtein, Soviet Physics Doklady 10 (1966) 707, from memory.
func lettersApart(a, b string) int {
	from, to := []rune(a), []rune(b)
	if len(to) > nearestWordLimit {
		return len(to)
	}
	row := make([]int, len(to)+1)
	for j := range row {
		row[j] = j
	}
	for i, x := range from {
		diagonal := row[0]
		row[0] = i + 1
		for j, y := range to {
			change := diagonal
			if x != y {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(to)]
}
