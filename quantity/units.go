package quantity

import (
	"fmt"
	"math/big"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// dim holds the exponents of metre, kilogram, second, kelvin, ampere, mole,
// degree of angle and money.
type dim [8]int8

func (d dim) plus(e dim, power int) dim {
	for i := range d {
		d[i] += e[i] * int8(power)
	}
	return d
}

// Dimensions of the table below.
var (
	dimNone     = dim{}
	dimLength   = dim{1}
	dimArea     = dim{2}
	dimVolume   = dim{3}
	dimMass     = dim{0, 1}
	dimTime     = dim{0, 0, 1}
	dimTemp     = dim{0, 0, 0, 1}
	dimCurrent  = dim{0, 0, 0, 0, 1}
	dimAmount   = dim{0, 0, 0, 0, 0, 1}
	dimAngle    = dim{0, 0, 0, 0, 0, 0, 1}
	dimMoney    = dim{0, 0, 0, 0, 0, 0, 0, 1}
	dimEnergy   = dim{2, 1, -2}
	dimPower    = dim{2, 1, -3}
	dimPressure = dim{-1, 1, -2}
	dimVoltage  = dim{2, 1, -3, 0, -1}
	dimSiemens  = dim{-2, -1, 3, 0, 2}
	dimAmountM3 = dim{-3, 0, 0, 0, 0, 1}
	dimMassM3   = dim{-3, 1}
	dimSpeed    = dim{1, 0, -1}
	dimFlow     = dim{3, 0, -1}
)

// unitRow is one unit: all its spellings, its dimension, and how many coherent
// SI units (m, kg, s, K, A, mol; degree for angles) it holds. offset, for
// temperatures alone, is added before the factor: K = (number + offset)·factor.
type unitRow struct {
	symbols string // the first is the one suggested; "_" stands for a space
	dim     dim
	factor  string // exact: a decimal or a fraction
	offset  string
}

// unitRows is the one table of units. Factors to the SI are the exact ones of
// [nist-sp-811], appendix B.8, unless a line says otherwise; the gallon is the US
// gallon of 231 cubic inches. The kilocalorie is the thermochemical one (4184 J,
// that of food labels), the BTU that of the International Table.
var unitRows = []unitRow{
	{"m metre metres meter meters", dimLength, "1", ""},
	{"km", dimLength, "1000", ""},
	{"dm", dimLength, "0.1", ""},
	{"cm", dimLength, "0.01", ""},
	{"mm", dimLength, "0.001", ""},
	{"um", dimLength, "0.000001", ""},
	{"ft foot feet '", dimLength, "0.3048", ""},
	{"in inch inches \"", dimLength, "0.0254", ""},
	{"yd yard yards", dimLength, "0.9144", ""},
	{"mi mile miles", dimLength, "1609.344", ""},

	{"ha", dimArea, "10000", ""},
	{"acre acres", dimArea, "4046.8564224", ""}, // 43 560 square feet of 0.3048 m

	{"L l litre litres liter liters", dimVolume, "0.001", ""},
	{"mL ml", dimVolume, "0.000001", ""},
	{"cL cl", dimVolume, "0.00001", ""},
	{"dL dl", dimVolume, "0.0001", ""},
	{"hL hl", dimVolume, "0.1", ""},
	{"gal gallon gallons gal_US US_gal", dimVolume, "0.003785411784", ""},
	{"gal_UK UK_gal", dimVolume, "0.00454609", ""},
	{"qt quart quarts", dimVolume, "0.000946352946", ""},
	{"pt pint pints", dimVolume, "0.000473176473", ""},
	{"cup cups", dimVolume, "0.0002365882365", ""},
	{"fl_oz", dimVolume, "0.0000295735295625", ""},

	{"gpm", dimFlow, "0.003785411784/60", ""},
	{"gph", dimFlow, "0.003785411784/3600", ""},
	{"lpm", dimFlow, "0.001/60", ""},
	{"lph", dimFlow, "0.001/3600", ""},
	{"cfm", dimFlow, "0.028316846592/60", ""},

	{"kg", dimMass, "1", ""},
	{"g gram grams", dimMass, "0.001", ""},
	{"mg", dimMass, "0.000001", ""},
	{"ug", dimMass, "0.000000001", ""},
	{"t tonne tonnes", dimMass, "1000", ""},
	{"lb lbs pound pounds", dimMass, "0.45359237", ""},
	{"oz ounce ounces", dimMass, "0.028349523125", ""},

	{"s sec second seconds", dimTime, "1", ""},
	{"ms", dimTime, "0.001", ""},
	{"min mins minute minutes", dimTime, "60", ""},
	{"h hr hrs hour hours", dimTime, "3600", ""},
	{"d day days", dimTime, "86400", ""},
	{"week weeks wk", dimTime, "604800", ""},
	{"year years yr", dimTime, "31536000", ""}, // of 365 days, as the guide has it

	{"°C C degC", dimTemp, "1", "273.15"},
	{"°F F degF", dimTemp, "5/9", "459.67"},
	{"K", dimTemp, "1", "0"},

	{"A amp amps", dimCurrent, "1", ""},
	{"mA", dimCurrent, "0.001", ""},
	{"V volt volts", dimVoltage, "1", ""},
	{"mV", dimVoltage, "0.001", ""},
	{"kV", dimVoltage, "1000", ""},
	{"S", dimSiemens, "1", ""},
	{"dS", dimSiemens, "0.1", ""},
	{"mS", dimSiemens, "0.001", ""},
	{"uS", dimSiemens, "0.000001", ""},

	{"W watt watts", dimPower, "1", ""},
	{"mW", dimPower, "0.001", ""},
	{"kW", dimPower, "1000", ""},
	{"MW", dimPower, "1000000", ""},
	{"hp", dimPower, "745.69987158227022", ""}, // 550 foot pounds-force a second
	{"J", dimEnergy, "1", ""},
	{"kJ", dimEnergy, "1000", ""},
	{"MJ", dimEnergy, "1000000", ""},
	{"GJ", dimEnergy, "1000000000", ""},
	{"Wh", dimEnergy, "3600", ""},
	{"kWh", dimEnergy, "3600000", ""},
	{"MWh", dimEnergy, "3600000000", ""},
	{"kcal", dimEnergy, "4184", ""},
	{"BTU Btu btu", dimEnergy, "1055.05585262", ""},

	{"Pa", dimPressure, "1", ""},
	{"hPa", dimPressure, "100", ""},
	{"kPa", dimPressure, "1000", ""},
	{"MPa", dimPressure, "1000000", ""},
	{"mbar", dimPressure, "100", ""},
	{"bar", dimPressure, "100000", ""},
	{"atm", dimPressure, "101325", ""},
	{"psi", dimPressure, "4.4482216152605/0.00064516", ""}, // pound-force on a square inch
	{"mmHg", dimPressure, "133.322387415", ""},             // 13 595.1 kg/m3 at 9.806 65 m/s2
	{"inHg", dimPressure, "3386.388640341", ""},
	{"mH2O", dimPressure, "9806.65", ""}, // conventional water column, 1000 kg/m3
	{"cmH2O", dimPressure, "98.0665", ""},
	{"mmH2O", dimPressure, "9.80665", ""},
	{"inH2O", dimPressure, "249.08891", ""},
	{"ftH2O", dimPressure, "2989.06692", ""},

	{"mph", dimSpeed, "0.44704", ""},

	{"mol", dimAmount, "1", ""},
	{"mmol", dimAmount, "0.001", ""},
	{"umol", dimAmount, "0.000001", ""},
	{"eq", dimAmount, "1", ""},
	{"meq", dimAmount, "0.001", ""},
	// German degree: 10 mg/L as CaO, 56.077 g/mol, two charges. French degree:
	// 10 mg/L as CaCO3, 100.086 g/mol. Definitions from memory.
	{"°dH dH °KH dKH °dKH", dimAmountM3, "20/56.077", ""},
	{"°fH", dimAmountM3, "20/100.086", ""},

	{"deg ° degree degrees", dimAngle, "1", ""},
	{"rad", dimAngle, "57.295779513082320876798154814105", ""},

	{"% percent", dimNone, "0.01", ""},
	{"‰", dimNone, "0.001", ""},
	{"ppm", dimNone, "0.000001", ""},
	{"ppb", dimNone, "0.000000001", ""},

	{"¤ EUR USD GBP CHF SEK NOK DKK ISK PLN CZK HUF RON CAD AUD NZD JPY CNY KRW SGD INR ZAR BRL MXN € $ £", dimMoney, "1", ""},
	{"ct cent cents", dimMoney, "0.01", ""},
}

// scale is a unit worked out: its dimension, its size in coherent SI units and,
// for a temperature alone, the offset of its zero.
type scale struct {
	dim    dim
	factor *big.Rat
	offset *big.Rat // nil unless the unit is one bare temperature unit
}

// unitTable maps every spelling to its scale.
var unitTable = func() map[string]scale {
	table := make(map[string]scale, 3*len(unitRows))
	for _, row := range unitRows {
		s := scale{dim: row.dim, factor: fraction(row.factor)}
		if row.offset != "" {
			s.offset = fraction(row.offset)
		}
		for symbol := range strings.FieldsSeq(row.symbols) {
			if _, twice := table[symbol]; twice {
				panic("quantity: unit " + symbol + " stands twice in the table") // a fault in the table above
			}
			table[symbol] = s
		}
	}
	return table
}()

// fraction reads a factor of the tables: a decimal or one decimal over another.
func fraction(text string) *big.Rat {
	over, under, found := strings.Cut(text, "/")
	r, ok := new(big.Rat).SetString(over)
	if found && ok {
		var d *big.Rat
		if d, ok = new(big.Rat).SetString(under); ok {
			r.Quo(r, d)
		}
	}
	if !ok {
		panic("quantity: factor " + text + " is no number") // a fault in a table of this package
	}
	return r
}

// normaliser brings the many ways to write one unit to the one the table uses.
var normaliser = strings.NewReplacer(
	"\u00a0", " ", "\u202f", " ", "\u2009", " ", "\t", " ",
	"\u2212", "-", "⁻", "-", "⁺", "+", "¹", "1", "²", "2", "³", "3", "⁴", "4",
	"₂", "2", "₃", "3", "₄", "4", "₅", "5",
	"\u00b5", "u", "\u03bc", "u", "\u00ba", "°", "℃", "°C", "℉", "°F", "° C", "°C", "° F", "°F",
	"⋅", "·", "*", "·", "′", "'", "″", `"`,
	" per ", "/", "fl oz", "fl_oz", "gal UK", "gal_UK", "UK gal", "UK_gal",
	"gal US", "gal_US", "US gal", "US_gal",
)

// normalise trims a text and brings its signs to one form.
func normalise(text string) string { return strings.TrimSpace(normaliser.Replace(text)) }

// waterColumns are the symbols with a digit inside, which the scanner takes whole.
var waterColumns = []string{"mmH2O", "cmH2O", "mH2O", "inH2O", "ftH2O"}

// parseScale works out a normalised unit such as "m", "g/m2/d", "W/(m2 K)" or
// "mol m-2 s-1". All that follows a stroke, up to the next, stands below it, so
// "W/m2K" and "W/m2 K" are watts over square metre and kelvin.
func parseScale(text string) (scale, error) {
	if s, ok := unitTable[text]; ok {
		return s, nil
	}
	out := scale{factor: big.NewRat(1, 1)}
	for i, part := range strings.Split(text, "/") {
		part = strings.TrimSpace(part)
		sign := -1
		if i == 0 {
			if sign = 1; part == "" || part == "1" {
				if !strings.Contains(text, "/") && part == "" {
					return scale{}, fmt.Errorf("the unit is missing")
				}
				continue // "/m2" and "1/m2"
			}
		}
		if inner, ok := strings.CutPrefix(part, "("); ok {
			if part, ok = strings.CutSuffix(inner, ")"); !ok {
				return scale{}, fmt.Errorf("a bracket is not closed in the unit %s", show(text))
			}
		}
		if err := out.product(part, sign); err != nil {
			return scale{}, err
		}
	}
	return out, nil
}

// product multiplies s by the units of part, raised to sign.
func (s *scale) product(part string, sign int) error {
	if sign < 0 { // "per 100 g"
		for _, n := range []string{"1000", "100"} {
			if rest, ok := strings.CutPrefix(part, n); ok {
				s.multiply(scale{factor: fraction(n)}, sign)
				part = rest
				break
			}
		}
	}
	atoms := 0
	for rest := strings.Trim(part, " ·"); rest != ""; rest = strings.TrimLeft(rest, " ·") {
		symbol := leadingSymbol(rest)
		if symbol == "" {
			if first, _ := utf8.DecodeRuneInString(rest); unicode.IsDigit(first) {
				return fmt.Errorf("a number stands where a unit is expected: %s (thousands are written without a gap, and a second number needs its own unit)", show(rest))
			}
			return fmt.Errorf("%s is not part of a unit", show(rest))
		}
		unit, ok := unitTable[symbol]
		if !ok {
			return &unknownUnitError{symbol}
		}
		rest = rest[len(symbol):]
		power, length := leadingPower(rest)
		if power == 0 || power > 4 || power < -4 {
			return fmt.Errorf("%s cannot be raised to that power", symbol)
		}
		if atoms++; atoms > 4 {
			return fmt.Errorf("the unit has too many parts")
		}
		s.multiply(unit, sign*power)
		rest = rest[length:]
		if strings.HasPrefix(rest, "-") || strings.HasPrefix(rest, "+") {
			return fmt.Errorf("%s is not part of a unit", show(rest))
		}
	}
	if atoms == 0 {
		return fmt.Errorf("a unit is missing beside the stroke")
	}
	return nil
}

func (s *scale) multiply(unit scale, power int) {
	s.dim = s.dim.plus(unit.dim, power)
	for ; power > 0; power-- {
		s.factor.Mul(s.factor, unit.factor)
	}
	for ; power < 0; power++ {
		s.factor.Quo(s.factor, unit.factor)
	}
}

// leadingSymbol returns the letters and signs a unit text begins with.
func leadingSymbol(text string) string {
	for _, w := range waterColumns {
		if strings.HasPrefix(text, w) {
			return w
		}
	}
	for i, r := range text {
		if !unicode.IsLetter(r) && !strings.ContainsRune(`°%‰¤€$£'"_`, r) {
			return text[:i]
		}
	}
	return text
}

// leadingPower reads an exponent such as "2", "^2" or "-2" and returns it with
// the bytes it took; without one it returns 1 and 0.
func leadingPower(text string) (power, length int) {
	i := 0
	if i < len(text) && text[i] == '^' {
		i++
	}
	start := i
	if i < len(text) && text[i] == '-' {
		i++
	}
	digits := i
	for i < len(text) && text[i] >= '0' && text[i] <= '9' {
		i++
	}
	if i == digits {
		return 1, 0
	}
	power, err := strconv.Atoi(text[start:i])
	if err != nil {
		return 0, i
	}
	return power, i
}

// unknownUnitError names a unit that is not in the table.
type unknownUnitError struct{ symbol string }

func (e *unknownUnitError) Error() string { return "unknown unit " + show(e.symbol) }

// suggestion returns the table's spelling nearest to an unknown unit, preferring
// those that differ in case alone, or "".
func suggestion(symbol string) string {
	best, bestCost := "", 3
	if utf8.RuneCountInString(symbol) < 4 {
		bestCost = 2
	}
	symbols := make([]string, 0, len(unitTable))
	for s := range unitTable {
		symbols = append(symbols, s)
	}
	slices.Sort(symbols)
	var folded []string
	for _, s := range symbols {
		if strings.EqualFold(s, symbol) {
			folded = append(folded, s)
			continue
		}
		if utf8.RuneCountInString(symbol) < 2 || utf8.RuneCountInString(s) < 2 {
			continue
		}
		if cost := editDistance(strings.ToLower(s), strings.ToLower(symbol)); cost < bestCost {
			best, bestCost = s, cost
		}
	}
	if len(folded) > 0 {
		best = strings.Join(folded, " or ")
	}
	return strings.ReplaceAll(best, "_", " ")
}

// editDistance counts the letters to add, drop or change between two texts.
func editDistance(a, b string) int {
	from, to := []rune(a), []rune(b)
	row := make([]int, len(to)+1)
	for j := range row {
		row[j] = j
	}
	for i := range from {
		before := row[0]
		row[0] = i + 1
		for j := range to {
			change := before
			if from[i] != to[j] {
				change++
			}
			before = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(to)]
}

// show quotes a piece of a person's text for a message.
func show(text string) string { return strconv.Quote(strings.ReplaceAll(text, "_", " ")) }
