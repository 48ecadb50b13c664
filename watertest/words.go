package watertest

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// digits prints a number with two digits after the first one, never as a power.
func digits(v float64) string {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return "0"
	}
	places := 2 - int(math.Floor(math.Log10(math.Abs(v))))
	if places < 0 {
		places = 0
	}
	if places > 6 {
		places = 6
	}
	text := strconv.FormatFloat(v, 'f', places, 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if text == "-0" {
		return "0"
	}
	return text
}

// trace prints a small amount with two digits.
func trace(v float64) string {
	switch {
	case v > 0 && v < 1e-4:
		return "under 0.0001"
	case v >= 0.1 || v <= 0:
		return digits(v)
	}
	return strconv.FormatFloat(v, 'f', 1-int(math.Floor(math.Log10(v))), 64)
}

// grams prints an amount to weigh, as finely as scales and the reckoning go.
func grams(g float64) string {
	switch {
	case g >= 10000:
		return strconv.FormatFloat(math.Round(g/100)/10, 'f', 1, 64) + " kg"
	case g >= 1000:
		return strconv.FormatFloat(math.Round(g/10)*10/1000, 'f', 2, 64) + " kg"
	case g >= 200:
		return strconv.FormatFloat(math.Round(g/5)*5, 'f', 0, 64) + " g"
	case g >= 10:
		return strconv.FormatFloat(g, 'f', 0, 64) + " g"
	case g >= 0.1:
		return strconv.FormatFloat(g, 'f', 1, 64) + " g"
	}
	return strconv.FormatFloat(g*1000, 'f', 0, 64) + " mg"
}

// percent prints a share of the water.
func percent(share float64) string { return strconv.FormatFloat(100*share, 'f', 0, 64) + " %" }

// within says a time to the next test.
func within(hours float64) string {
	switch {
	case hours < 1:
		return fmt.Sprintf("in %.0f minutes", 60*hours)
	case hours == 1:
		return "in an hour"
	case hours < 48:
		return fmt.Sprintf("in %.0f hours", hours)
	}
	return fmt.Sprintf("in %.0f days", hours/24)
}

// times prints how often.
func times(n int) string {
	words := []string{"no change", "one change", "two changes", "three changes", "four changes", "five changes", "six changes"}
	if n < len(words) {
		return words[n]
	}
	return strconv.Itoa(n) + " changes"
}

// full ends a sentence.
func full(text string) string {
	if strings.HasSuffix(text, ".") {
		return text
	}
	return text + "."
}
