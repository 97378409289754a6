package ingest

import "strings"

// nothingWords are spellings of "no value", in lower case. Any other word in a
// column of numbers is missing too, and is told as one that was not expected.
var nothingWords = []string{
	"nan", "-nan", "+nan", "nan()", "null", `\n`, "nil", "none", "n/a", "#n/a", "na", "-", "--", "---", "----", "?", "*", ".",
	"inf", "-inf", "+inf", "infinity", "-infinity", "err", "error", "over", "under", "off", "bad", "invalid",
	"1.#qnan", "-1.#qnan", "1.#ind", "-1.#ind", "1.#inf", "-1.#inf", "1.#snan", "#div/0!", "#value!", "#ref!", "#num!", "no data", "nodata", "missing", "undefined",
}

// stateWords are spellings of on and off, in lower case.
var stateWords = map[string]float64{
	"on": 1, "true": 1, "yes": 1, "rf on": 1, "rf_on": 1, "enabled": 1, "running": 1, "t": 1, "y": 1,
	"off": 0, "false": 0, "no": 0, "rf off": 0, "rf_off": 0, "disabled": 0, "standby": 0, "trip": 0, "tripped": 0, "fault": 0, "stopped": 0, "f": 0, "n": 0,
}

// stillWords are what a column of trip reasons says while there is none.
var stillWords = map[string]bool{"ok": true, "no": true, "no trip": true, "on": true, "running": true, "0": true, "good": true, "normal": true}

// wordsForNothing returns the set of nothingWords with the user's own.
func wordsForNothing(own []string) map[string]bool {
	words := make(map[string]bool, len(nothingWords)+len(own))
	for _, word := range nothingWords {
		words[word] = true
	}
	for _, word := range own {
		words[strings.ToLower(strings.TrimSpace(word))] = true
	}
	return words
}

// codesForNothing returns those of the user's words that are numbers: they are
// compared by value.
func codesForNothing(own []string) []float64 {
	var codes []float64
	for _, word := range own {
		if v, ok := slowNumber([]byte(strings.TrimSpace(word)), '.', false); ok {
			codes = append(codes, v)
		}
	}
	return codes
}
