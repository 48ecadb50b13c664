package quantity

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxText is the longest text Parse looks at, in bytes; maxExponent the largest
// power of ten it reads.
const (
	maxText     = 120
	maxExponent = 99
)

// Parse reads a number with its unit and returns it in the kind's own unit (see
// Kind; temperatures in °C). The result is the float64 nearest to the exact
// product of the decimal number and the unit's factor, so 35 % is 0.35.
//
// It reads "2.4 m", "6,5 kg", "8 ft 6 in", "1 h 30 min", "64F", "17 gal/h",
// "5 mg/L as NO3", "W/m2K", "W/(m² K)", "1.6 A at 230 V" (a power). Counts and
// plain numbers have no unit; a share may be a bare number from 0 to 1. A
// concentration of nitrogen, phosphorus or carbon that names no ion is that of
// the element; an alkalinity in mg/L is as CaCO3; ppm in water is mg/L.
//
// It refuses, with a sentence that says how to mend it: a bare number where a
// unit is needed, a unit of another dimension, an unknown unit, thousands marks
// ("1,200" could mean two things), hexadecimal, NaN and infinity, powers of ten
// beyond 99, texts longer than 120 bytes and temperatures below absolute zero.
func Parse(text string, kind Kind) (si float64, err error) {
	return parseText(text, kind, "")
}

// ParseBare reads as Parse does, but takes a bare number to be in bareUnit.
func ParseBare(text string, kind Kind, bareUnit string) (float64, error) {
	return parseText(text, kind, bareUnit)
}

// ParseMoney reads an amount with its currency, as "12 EUR", "€12" or "12,50 USD",
// and returns the currency's ISO 4217 code. The sign $ is taken as USD. It
// refuses what Parse refuses, and an amount without a currency.
func ParseMoney(text string) (amount float64, currency string, err error) {
	amount, err = Parse(text, Money)
	if err != nil {
		return 0, "", err
	}
	_, code, err := scanNumber(moneyLast(normalise(text)))
	if err != nil {
		return 0, "", sentence(text, err)
	}
	switch code {
	case "€":
		code = "EUR"
	case "$":
		code = "USD"
	case "£":
		code = "GBP"
	}
	if len(code) != 3 || strings.ToUpper(code) != code {
		return 0, "", sentence(text, errors.New("say the currency by its code, such as EUR, USD or GBP"))
	}
	return amount, code, nil
}

// In returns a value of a kind as a number of unit. It fails when the unit is
// unknown or does not measure that kind.
func In(si float64, kind Kind, unit string) (float64, error) {
	rule, ok := kindRules[kind]
	if !ok {
		return 0, fmt.Errorf("unknown kind of quantity %s", show(string(kind)))
	}
	conv, err := rule.conversion(normalise(unit))
	if err != nil {
		return 0, rule.explain(unit, err)
	}
	return conv.fromSI(si), nil
}

// sentence puts the text a person typed before what is wrong with it.
func sentence(text string, err error) error {
	text = strings.TrimSpace(text)
	if !printable(text) {
		text = strconv.Quote(text)
	}
	if text == "" {
		return err
	}
	return fmt.Errorf("%s: %w", text, err)
}

func printable(text string) bool {
	for _, r := range text {
		if r == utf8.RuneError || !unicode.IsPrint(r) {
			return false
		}
	}
	return true
}

func parseText(text string, kind Kind, bareUnit string) (float64, error) {
	rule, ok := kindRules[kind]
	if !ok {
		return 0, fmt.Errorf("unknown kind of quantity %s", show(string(kind)))
	}
	if len(text) > maxText {
		return 0, fmt.Errorf("%s…: too long for a quantity (over %d bytes)", strconv.Quote(strings.ToValidUTF8(text[:20], "")), maxText)
	}
	if !utf8.ValidString(text) {
		return 0, sentence(text, errors.New("not readable as text (UTF-8)"))
	}
	plain := normalise(text)
	if kind == Money {
		plain = moneyLast(plain)
	}
	if plain == "" {
		return 0, fmt.Errorf("nothing is typed; %s is needed%s", rule.noun, rule.unitsAfter(": "))
	}
	value, err := rule.read(plain, normalise(bareUnit))
	if err != nil {
		return 0, rule.explain(text, err)
	}
	si, _ := value.Float64()
	if math.IsInf(si, 0) {
		return 0, sentence(text, errors.New("too large a number"))
	}
	return si, nil
}

// moneyLast moves a currency that stands before the number behind it.
func moneyLast(text string) string {
	code := leadingSymbol(text)
	if unit, ok := unitTable[code]; ok && unit.dim == dimMoney {
		return strings.TrimSpace(text[len(code):]) + " " + code
	}
	return text
}

// read returns the exact value of a normalised text in the kind's own unit.
func (rule *kindRule) read(text, bareUnit string) (*big.Rat, error) {
	switch rule.kind {
	case Length, Mass, Duration:
		if value, used, err := rule.readParts(text); used {
			return value, err
		}
	case Power:
		if value, used, err := readVoltAmpere(text); used {
			return value, err
		}
	}
	number, unit, err := scanNumber(text)
	if err != nil {
		return nil, err
	}
	if unit == "" {
		switch {
		case bareUnit != "":
			unit = bareUnit
		case rule.kind == Count, rule.kind == Plain:
			return number, nil
		case rule.kind == Share:
			if number.Sign() < 0 || number.Cmp(big.NewRat(1, 1)) > 0 {
				return nil, errors.New("a share without % must lie between 0 and 1; for a percentage write the %, as in 35 %")
			}
			return number, nil
		default:
			return nil, fmt.Errorf("a number needs its unit; for %s write one of %s", rule.noun, rule.unitsAfter(""))
		}
	}
	conv, err := rule.conversion(unit)
	if err != nil {
		return nil, err
	}
	value := conv.toSI(number)
	if rule.kind == Temperature && value.Cmp(absoluteZeroC) < 0 {
		return nil, errors.New("below absolute zero (-273.15 °C)")
	}
	return value, nil
}

var absoluteZeroC = fraction("-273.15")

// readParts reads "8 ft 6 in": two or three numbers with units, each smaller than
// the one before. used is false when the text is not of that form.
func (rule *kindRule) readParts(text string) (sum *big.Rat, used bool, err error) {
	sum = new(big.Rat)
	var last *big.Rat
	negative := false
	for parts := 0; ; parts++ {
		number, rest, err := scanNumber(text)
		if err != nil {
			return nil, parts > 0, err
		}
		symbol := leadingSymbol(rest)
		text = strings.TrimSpace(rest[len(symbol):])
		if parts == 0 && (symbol == "" || !startsPart(text)) {
			return nil, false, nil // one number with one unit
		}
		if symbol == "" {
			return nil, true, errors.New("the last number needs its unit, as in 8 ft 6 in")
		}
		unit, err := parseScale(symbol)
		if err != nil {
			return nil, true, err
		}
		if unit.dim != rule.baseUnit.dim {
			return nil, true, &dimensionError{unit.dim}
		}
		if last != nil && unit.factor.Cmp(last) >= 0 {
			return nil, true, errors.New("each further unit must be smaller than the one before, as in 8 ft 6 in")
		}
		last = unit.factor
		if parts == 0 {
			negative = number.Sign() < 0
		} else if negative {
			number.Neg(number)
		}
		sum.Add(sum, number.Mul(number, unit.factor))
		if text == "" {
			return sum, true, nil
		}
	}
}

// startsPart reports whether text is a further number with a unit, and not the
// exponent of a unit like m2.
func startsPart(text string) bool {
	if text == "" || text[0] < '0' || text[0] > '9' {
		return false
	}
	_, unit, err := scanNumber(text)
	return err != nil || leadingSymbol(unit) != ""
}

// readVoltAmpere reads "1.6 A at 230 V" and "1.6 A 230 V" as watts.
func readVoltAmpere(text string) (watts *big.Rat, used bool, err error) {
	number, rest, err := scanNumber(text)
	if err != nil {
		return nil, false, nil
	}
	symbol := leadingSymbol(rest)
	current, ok := unitTable[symbol]
	if !ok || current.dim != dimCurrent {
		return nil, false, nil
	}
	rest = strings.TrimSpace(rest[len(symbol):])
	rest = strings.TrimSpace(strings.TrimPrefix(rest, "at "))
	if rest == "" {
		return nil, true, errors.New("this is a current; a power needs the volts too, as in 1.6 A at 230 V")
	}
	volts, rest, err := scanNumber(rest)
	if err != nil {
		return nil, true, err
	}
	voltage, ok := unitTable[rest]
	if !ok || voltage.dim != dimVoltage {
		return nil, true, errors.New("after the current its voltage is expected, as in 1.6 A at 230 V")
	}
	watts = number.Mul(number, current.factor)
	return watts.Mul(watts, volts.Mul(volts, voltage.factor)), true, nil
}

// scanNumber reads the decimal number a normalised text begins with and returns
// it with the rest, spaces trimmed.
func scanNumber(text string) (number *big.Rat, rest string, err error) {
	i := 0
	if i < len(text) && (text[i] == '-' || text[i] == '+') {
		i++
	}
	whole := i
	digits := func() int {
		start := i
		for i < len(text) && text[i] >= '0' && text[i] <= '9' {
			i++
		}
		return i - start
	}
	before, after := digits(), 0
	if before == 1 && text[whole] == '0' && i < len(text) && (text[i] == 'x' || text[i] == 'X') {
		return nil, "", errors.New("hexadecimal numbers are not read; write it in decimals")
	}
	mark := byte(0)
	markAt := i
	if i < len(text) && (text[i] == '.' || text[i] == ',') {
		mark = text[i]
		i++
		after = digits()
	}
	if before+after == 0 {
		return nil, "", errors.New("a number is expected first, such as 12 or 6.5")
	}
	mantissa := text[:i]
	if mark == ',' && after == 3 && strings.Trim(text[whole:markAt], "0") != "" {
		return nil, "", fmt.Errorf("a comma before three digits can mean thousands or decimals; write %s%s for thousands or %s.%s for decimals",
			text[:markAt], text[markAt+1:i], text[:markAt], text[markAt+1:i])
	}
	if i+1 < len(text) && strings.IndexByte(".,'", text[i]) >= 0 && text[i+1] >= '0' && text[i+1] <= '9' && (mark != 0 || text[i] != '\'') {
		return nil, "", errors.New("there are two marks in the number; write it without thousands marks, with one decimal point or comma")
	}
	exponent := 0
	if i < len(text) && (text[i] == 'e' || text[i] == 'E') {
		j := i + 1
		if j < len(text) && (text[j] == '-' || text[j] == '+') {
			j++
		}
		end := j
		for end < len(text) && text[end] >= '0' && text[end] <= '9' {
			end++
		}
		if end > j {
			if exponent, err = strconv.Atoi(text[i+1 : end]); err != nil || exponent > maxExponent || exponent < -maxExponent {
				return nil, "", fmt.Errorf("the power of ten must lie between -%d and %d", maxExponent, maxExponent)
			}
			i = end
		}
	}
	mantissa = strings.Replace(mantissa, ",", ".", 1)
	number, ok := new(big.Rat).SetString(mantissa + "e" + strconv.Itoa(exponent))
	if !ok {
		return nil, "", errors.New("the number cannot be read")
	}
	return number, strings.TrimSpace(text[i:]), nil
}

// conversion leads from a unit to the kind's own: value = (number + before)·factor - after.
type conversion struct {
	factor        *big.Rat
	before, after *big.Rat // nil but for temperatures
}

func (c conversion) toSI(number *big.Rat) *big.Rat {
	value := new(big.Rat).Set(number)
	if c.before != nil {
		value.Add(value, c.before)
	}
	value.Mul(value, c.factor)
	if c.after != nil {
		value.Sub(value, c.after)
	}
	return value
}

func (c conversion) fromSI(si float64) float64 {
	value := new(big.Rat)
	if value.SetFloat64(si) == nil {
		return si // NaN or infinite: stays so
	}
	if c.after != nil {
		value.Add(value, c.after)
	}
	value.Quo(value, c.factor)
	if c.before != nil {
		value.Sub(value, c.before)
	}
	out, _ := value.Float64()
	return out
}

// countWords may stand where a number per area counts things.
var countWords = []string{"plants", "plant", "heads", "seeds", "fish", "trays"}

// conversion works out a normalised unit for the kind, or says why it does not fit.
func (rule *kindRule) conversion(unit string) (conversion, error) {
	kind := rule.kind
	switch kind {
	case Count:
		for _, w := range countWords {
			if unit == w {
				return conversion{factor: big.NewRat(1, 1)}, nil
			}
		}
		return conversion{}, fmt.Errorf("a count has no unit")
	case PerArea:
		for _, w := range countWords {
			if rest, ok := strings.CutPrefix(unit, w); ok {
				unit = strings.TrimSpace(rest)
				break
			}
		}
	case Radiation, LightSum:
		for _, end := range []string{"/d", "/day"} {
			unit = strings.TrimSuffix(unit, end)
		}
		unit = strings.TrimSuffix(unit, " d-1")
	}
	substances := speciesOf[kind]
	name, named := "", false
	if substances != nil {
		var err error
		if unit, name, named, err = cutSpecies(kind, unit); err != nil {
			return conversion{}, err
		}
	}
	if substances != nil || kind == Concentration {
		switch unit {
		case "ppm":
			unit = "mg/L"
		case "ppb":
			unit = "ug/L"
		}
	}
	s, err := parseScale(unit)
	if err != nil {
		return conversion{}, err
	}
	if substances != nil {
		equivalents := strings.HasPrefix(unit, "meq") || strings.HasPrefix(unit, "eq")
		switch {
		case s.dim == dimMassM3:
			grams := new(big.Rat).Mul(s.factor, big.NewRat(1000, 1))
			return conversion{factor: grams.Mul(grams, substances[name].perGram)}, nil
		case s.dim != dimAmountM3:
			return conversion{}, &dimensionError{s.dim}
		case kind == Alkalinity && (equivalents || !named):
			return conversion{factor: s.factor}, nil
		case equivalents || strings.Contains(unit, "H"):
			return conversion{}, &dimensionError{dimAmountM3}
		}
		return conversion{factor: new(big.Rat).Mul(s.factor, substances[name].perMole)}, nil
	}
	if s.dim != rule.baseUnit.dim {
		return conversion{}, &dimensionError{s.dim}
	}
	if kind == Temperature {
		if s.offset == nil {
			return conversion{}, &dimensionError{s.dim}
		}
		return conversion{factor: s.factor, before: s.offset, after: rule.baseUnit.offset}, nil
	}
	return conversion{factor: new(big.Rat).Quo(s.factor, rule.baseUnit.factor)}, nil
}

// dimensionError says that a unit measures something else.
type dimensionError struct{ dim dim }

func (e *dimensionError) Error() string {
	for _, row := range kindRows {
		if row.base == "1" && e.dim == dimNone {
			return "this is a number without dimension"
		}
		if kindRules[row.kind].baseUnit.dim == e.dim {
			return "this is " + row.noun
		}
	}
	return "this measures something else"
}

// explain completes an error with the text typed and with the units that fit.
func (rule *kindRule) explain(text string, err error) error {
	var unknown *unknownUnitError
	var wrong *dimensionError
	switch {
	case errors.As(err, &wrong), errors.As(err, new(*speciesError)):
		err = fmt.Errorf("%w; %s is needed%s", err, rule.noun, rule.unitsAfter(": "))
	case errors.As(err, &unknown):
		if near := suggestion(unknown.symbol); near != "" {
			err = fmt.Errorf("%w; did you mean %s?", err, near)
		}
		if list := rule.unitsAfter(""); list != "" {
			err = fmt.Errorf("%w (for %s write one of %s)", err, rule.noun, list)
		}
	}
	return sentence(text, err)
}

// unitsAfter lists the usual units behind a lead, or is empty when there are none.
func (rule *kindRule) unitsAfter(lead string) string {
	units := rule.kind.Units()
	if len(units) == 0 {
		return ""
	}
	return lead + strings.Join(units, ", ")
}
