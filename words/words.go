package words

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// micro is the sign of a millionth.
const micro = '\u00b5'

// List joins words by commas and "and": "", "a", "a and b", "a, b and c". No
// comma stands before the "and".
func List(words []string) string { return join(words, " and ") }

// ListOr joins words to a choice: "", "a", "a or b", "a, b or c".
func ListOr(words []string) string { return join(words, " or ") }

func join(words []string, last string) string {
	n := len(words)
	if n < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:n-1], ", ") + last + words[n-1]
}

// Capital makes the first letter of a text large, as a sentence begins: "the
// pump" to "The pump". A text whose second letter is large keeps its form, for
// it begins with a sign: "pH", "kWh", "dKH". So does one that begins with the
// micro of a unit, "µmol": its large form would be another letter.
func Capital(text string) string {
	first, second, size := start(text)
	if large := unicode.ToUpper(first); large != first && first != micro && !unicode.IsUpper(second) {
		return string(large) + text[size:]
	}
	return text
}

// Lower makes the first letter of a sentence small, for a place within another:
// "A valve sticks" to "a valve sticks". A text whose second letter is large
// begins with a short form and keeps it: "CO2", "NFT", "LED". So does one
// letter alone. It knows no proper name: "Nile tilapia" would become "nile
// tilapia".
func Lower(text string) string {
	first, second, size := start(text)
	if small := unicode.ToLower(first); small != first && size < len(text) && !unicode.IsUpper(second) {
		return string(small) + text[size:]
	}
	return text
}

// LowerName makes the first letter of a name small, for a place within a
// sentence: "Chard" to "chard". It does so only where a small letter follows:
// beside what Lower keeps, "F1 cress", "A-frame" and "B 2" keep their form.
func LowerName(name string) string {
	if _, second, _ := start(name); !unicode.IsLower(second) {
		return name
	}
	return Lower(name)
}

// start is the first letter of a text, the second, and the bytes of the first;
// a letter that is not there or is no valid text is utf8.RuneError.
func start(text string) (first, second rune, size int) {
	first, size = utf8.DecodeRuneInString(text)
	second, _ = utf8.DecodeRuneInString(text[size:])
	return first, second, size
}

// Plural chooses the word for n things: one for 1 and many for all others, 0
// and numbers below it among them.
func Plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// Count says how many of a thing there are, in digits: "1 bed", "0 beds", "3
// beds".
func Count(n int, one, many string) string {
	return strconv.Itoa(n) + " " + Plural(n, one, many)
}

var spelled = [...]string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}

// Spelled says how many of a thing there are, spelled out to twelve: "no
// people", "one person", "six people"; other numbers in digits, "13 people".
func Spelled(n int, one, many string) string {
	if n < 0 || n >= len(spelled) {
		return Count(n, one, many)
	}
	return spelled[n] + " " + Plural(n, one, many)
}

// Loop is a loop's name as a sentence has it: "north loop". A name that has the
// word in it, whatever its letters, keeps its form.
func Loop(name string) string {
	if strings.Contains(strings.ToLower(name), "loop") {
		return name
	}
	return name + " loop"
}
