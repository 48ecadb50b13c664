package power

import (
	"fmt"
	"strings"

	"tidebed/quantity"
	"tidebed/table"
)

// Largest values taken: beyond them a unit is wrong, or the building is none of ours.
const (
	MostPowerW    = 1e7
	MostPowerKW   = MostPowerW / 1000
	MostEnergyKWh = 1e9
	MostTankUnits = 1e9  // litres, kilograms, cubic metres of a fuel
	MostPrice     = 1e6  // money for a unit
	LowestAirC    = -60. // of the air outside
	HighestAirC   = 60.
	DaysOfMonth   = 365.0 / 12
	waterKWhPerLK = 4.186 / 3600 // kWh to warm a litre by a kelvin
	kcalPerKWh    = 3.6e6 / 4184 // the kilocalorie of food labels
	absoluteZeroC = -273.15
	hoursOfDay    = 24
)

// bound is a value with its limits and unit.
type bound struct {
	name      string
	v, lo, hi float64
	unit      string
}

// check refuses the first value outside its limits.
func check(what string, list ...bound) error {
	for _, b := range list {
		if err := quantity.InRange(b.name, b.v, b.lo, b.hi, b.unit); err != nil {
			return fmt.Errorf("%s: %w", what, err)
		}
	}
	return nil
}

// outside is an error of the kind check gives, for a rule that is no plain range.
func outside(what, format string, args ...any) error {
	return fmt.Errorf("%s: %s: %w", what, fmt.Sprintf(format, args...), quantity.ErrRange)
}

// Spread is a figure at its low end, typically, and at its high end.
type Spread struct{ Low, Typical, High float64 }

// Scaled returns all three figures times by.
func (s Spread) Scaled(by float64) Spread { return Spread{s.Low * by, s.Typical * by, s.High * by} }

// spread reads the three cells of a figure.
func spread(r table.Row, low, typical, high string) Spread {
	return Spread{r.Number(low), r.Number(typical), r.Number(high)}
}

// find looks a typed name up by key, then by full name; the error names the keys
// most like it.
func find[T any](what, name string, x *table.Index[T], nameOf func(T) string) (T, error) {
	tidy := Slug(name)
	if row, ok := x.Find(tidy); ok {
		return row, nil
	}
	for _, row := range x.All() {
		if Slug(nameOf(row)) == tidy {
			return row, nil
		}
	}
	var none T
	return none, fmt.Errorf("%s %q: not in the table; nearest are %s", what, clip(name), strings.Join(table.Nearest(clip(tidy), x.Keys(), 3), ", "))
}

// Slug writes a name as the keys of the tables are written: small letters and
// figures, all else as single hyphens.
func Slug(name string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < '0' || r > '9')
	}), "-")
}

// clip keeps a text short enough for a sentence.
func clip(text string) string {
	const most = 60
	if text = strings.ToValidUTF8(text, "�"); len(text) <= most {
		return text
	}
	return strings.ToValidUTF8(text[:most], "") + "…"
}
