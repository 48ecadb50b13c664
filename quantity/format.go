package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Exact returns a text, in the kind's own unit, that Parse reads back to the
// identical float64: "2.4 m", "18 °C", "5 g/m3 as N". Shares are in %, ratios in
// ppm, counts and plain numbers bare; a currency, which the number does not
// know, is written ¤. It holds for zero and for magnitudes from 1e-90 to 1e90;
// NaN and infinities give a text that Parse refuses.
func Exact(si float64, kind Kind) string {
	rule, ok := kindRules[kind]
	if !ok {
		return decimals(si, 0)
	}
	text := decimals(si, rule.shift)
	if rule.exact == "" {
		return text
	}
	if strings.HasPrefix(rule.exact, "1/") {
		return text + rule.exact[1:]
	}
	return text + " " + rule.exact
}

// decimals prints the shortest decimal that identifies v, its point moved shift
// places to the right.
func decimals(v float64, shift int) string {
	if v == 0 {
		return "0" // never "-0"
	}
	text := strconv.FormatFloat(v, 'e', -1, 64)
	mantissa, power, ok := strings.Cut(text, "e")
	if !ok {
		return text // NaN or infinite
	}
	exponent, err := strconv.Atoi(power)
	if err != nil {
		return text
	}
	exponent += shift
	sign := ""
	if mantissa[0] == '-' {
		sign, mantissa = "-", mantissa[1:]
	}
	digits := strings.Replace(mantissa, ".", "", 1)
	switch {
	case exponent < -6 || exponent > 20:
		return fmt.Sprintf("%s%se%d", sign, mantissa, exponent)
	case exponent < 0:
		return sign + "0." + strings.Repeat("0", -exponent-1) + digits
	case len(digits) <= exponent+1:
		return sign + digits + strings.Repeat("0", exponent+1-len(digits))
	}
	return sign + digits[:exponent+1] + "." + digits[exponent+1:]
}

// Format returns a value for people: in a unit of the reader's system that suits
// its size, with about three significant digits ("900 L", "2.5 g", "1.2 kW",
// "1 h 30 min"). Temperatures keep one decimal. Money and prices name no currency,
// for the number does not know it: "12.50", "4.20/kg"; see FormatMoney. NaN and
// infinities give "no value". What it prints is rounded: to store a value, use
// Exact.
func Format(si float64, kind Kind, sys System) string {
	if math.IsNaN(si) || math.IsInf(si, 0) {
		return "no value"
	}
	rule, ok := kindRules[kind]
	if !ok {
		return significant(si)
	}
	list := rule.metricList
	if sys == USCustomary {
		list = rule.usList
	}
	switch {
	case kind == Duration:
		return formatDuration(si)
	case kind == Temperature:
		if list[0].text == "°F" {
			return oneDecimal(si*9/5+32) + " °F"
		}
		return oneDecimal(si) + " °C"
	case kind == Count && si == math.Trunc(si) && math.Abs(si) < 1e15:
		return strconv.FormatFloat(si, 'f', 0, 64)
	case len(list) == 0:
		return significant(si)
	}
	unit := choose(si, list)
	v := si * unit.perSI
	if rest, priced := strings.CutPrefix(unit.text, "¤"); priced {
		return moneyDigits(v, rest != "") + rest
	}
	return join(significant(v), unit.text)
}

// FormatIn returns a value for people in a unit of the caller's choice, with about
// three significant digits. It fails when the unit does not measure that kind.
func FormatIn(si float64, kind Kind, unit string) (string, error) {
	v, err := In(si, kind, unit)
	if err != nil {
		return "", err
	}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "no value", nil
	}
	if kind == Temperature {
		return join(oneDecimal(v), unit), nil
	}
	return join(significant(v), unit), nil
}

// FormatMoney returns an amount with two decimals and its currency: "12.50 EUR".
func FormatMoney(amount float64, currency string) string {
	if math.IsNaN(amount) || math.IsInf(amount, 0) {
		return "no value"
	}
	return join(moneyDigits(amount, false), currency)
}

// join puts a unit behind a number; "/m2" follows without a space.
func join(number, unit string) string {
	if unit == "" || strings.HasPrefix(unit, "/") {
		return number + unit
	}
	return number + " " + unit
}

// choose returns the largest unit in which the rounded value is at least 1, or
// the smallest unit; zero has a unit of its own.
func choose(si float64, list []shown) shown {
	best := list[0]
	for _, unit := range list {
		if si == 0 {
			if unit.forZero {
				return unit
			}
			continue
		}
		if math.Abs(rounded(si*unit.perSI)) >= 1 {
			best = unit
		}
	}
	return best
}

// rounded rounds to three significant digits.
func rounded(v float64) float64 {
	out, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 2, 64), 64)
	if err != nil {
		return v
	}
	return out
}

// significant prints three significant digits without trailing zeros.
func significant(v float64) string {
	v = rounded(v)
	if size := math.Abs(v); v != 0 && (size < 1e-4 || size >= 1e9) {
		return strings.Replace(strconv.FormatFloat(v, 'g', 3, 64), "e+", "e", 1)
	}
	return unsigned(strconv.FormatFloat(v, 'f', -1, 64))
}

func oneDecimal(v float64) string {
	return unsigned(strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0"))
}

// moneyDigits prints two decimals, or three digits for a small price per unit.
func moneyDigits(v float64, price bool) string {
	if price && v != 0 && math.Abs(v) < 1 {
		return significant(v)
	}
	return unsigned(strconv.FormatFloat(v, 'f', 2, 64))
}

// unsigned takes the sign from a number that rounding has made zero.
func unsigned(number string) string {
	if strings.Trim(number, "-0.") == "" {
		return strings.TrimPrefix(number, "-")
	}
	return number
}

// formatDuration prints seconds, minutes, hours with minutes, or days.
func formatDuration(s float64) string {
	sign, size := "", math.Abs(s)
	if s < 0 {
		sign = "-"
	}
	minutes := math.Round(size / 60)
	switch {
	case size == 0:
		return "0 min"
	case rounded(size) < 60:
		return sign + significant(size) + " s"
	case minutes < 60:
		return sign + significant(size/60) + " min"
	case minutes < 48*60:
		h, m := math.Floor(minutes/60), math.Mod(minutes, 60)
		if m == 0 {
			return fmt.Sprintf("%s%g h", sign, h)
		}
		return fmt.Sprintf("%s%g h %g min", sign, h, m)
	}
	return sign + significant(size/86400) + " d"
}
