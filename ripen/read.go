package ripen

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"tidebed/quantity"
	"tidebed/site"
)

// Field is a value a person may type.
type Field string

// The fields.
const (
	LoopField   Field = "loop"
	MethodField Field = "method" // fishless or fish-in
	TempField   Field = "temp"   // °C where no unit is given
	SeedField   Field = "seed"   // new, water or media
	MediaField  Field = "media"  // litres of running media, with the seed media; L where no unit is given
	GoalField   Field = "goal"   // feed a day, g/d where no unit is given
)

// Seeds are the words for what is there to begin with.
func Seeds() []string { return []string{"new", "water", "media"} }

// Question is what a person asked.
type Question struct {
	Loop    *site.Loop
	Method  Method
	Options Options
}

// FieldError says what is wrong with one typed value.
type FieldError struct {
	Field Field
	Err   error
}

// Error returns the sentence.
func (e *FieldError) Error() string { return e.Err.Error() }

// Unwrap returns the cause.
func (e *FieldError) Unwrap() error { return e.Err }

// Read makes a question of typed texts; what is empty is left to the site: its
// first loop with beds, no fish, the tanks' temperature, new media, the opening's
// ration. Errors are *FieldError, joined where there are several.
func Read(s *site.Site, typed map[Field]string) (Question, error) {
	q := Question{Method: WithoutFish}
	var all []error
	fault := func(f Field, err error) { all = append(all, &FieldError{f, err}) }
	text := func(f Field) string { return strings.TrimSpace(typed[f]) }
	names := []string{}
	for i := range s.Loops {
		l := &s.Loops[i]
		names = append(names, l.Name)
		beds := slices.ContainsFunc(l.Beds, func(b site.Bed) bool { return b.Kind != "tub" })
		if text(LoopField) == l.Name || text(LoopField) == "" && q.Loop == nil && beds {
			q.Loop = l
		}
	}
	if q.Loop == nil {
		if text(LoopField) == "" {
			fault(LoopField, fmt.Errorf("the building has no loop with beds: %w", ErrNoMedia))
		} else {
			fault(LoopField, fmt.Errorf("there is no loop %q; the loops are %s", text(LoopField), strings.Join(names, ", ")))
		}
	}
	switch m := Method(text(MethodField)); m {
	case "", WithoutFish:
	case WithFish:
		q.Method = WithFish
	default:
		fault(MethodField, fmt.Errorf("%q is no way to start; say %s or %s", m, WithoutFish, WithFish))
	}
	o := &q.Options
	for _, n := range []struct {
		f      Field
		name   string
		kind   quantity.Kind
		bare   string
		lo, hi float64
		times  float64
		unit   string
		to     *float64
	}{
		{TempField, "temperature of the water", quantity.Temperature, "°C", LeastTempC, MostTempC, 1, "°C", &o.TempC},
		{GoalField, "feed a day", quantity.MassRate, "g/d", 0.1, mostGoalFeedGDay, 86400 * 1000, "g/d", &o.GoalFeedGDay},
		{MediaField, "running media", quantity.Volume, "L", 1e-4, 100, 1, "m³", &o.RipeMediaM3},
	} {
		if text(n.f) == "" {
			continue
		}
		v, err := quantity.ParseBare(text(n.f), n.kind, n.bare)
		if err == nil {
			v *= n.times
			err = quantity.InRange(n.name, v, n.lo, n.hi, n.unit)
		}
		if err != nil {
			fault(n.f, err)
			continue
		}
		*n.to = v
	}
	switch text(SeedField) {
	case "", "new":
		o.SeedGCODM3, o.RipeMediaM3 = SeedNew, 0
	case "water":
		o.SeedGCODM3, o.RipeMediaM3 = SeedWater, 0
	case "media":
		o.SeedGCODM3 = SeedNew
		if o.RipeMediaM3 == 0 {
			o.RipeMediaM3 = 2 * BucketM3
		}
	default:
		fault(SeedField, fmt.Errorf("%q is no seed; say %s", text(SeedField), strings.Join(Seeds(), ", ")))
	}
	return q, errors.Join(all...)
}

// Plan answers the question. Errors as Fishless and FishIn.
func (q *Question) Plan(s *site.Site) (*Plan, error) {
	if q.Method == WithFish {
		return FishIn(q.Loop, s, q.Options)
	}
	return Fishless(q.Loop, s, q.Options)
}

// Table is ByTemperature at the usual temperatures and at the plan's own.
func (q *Question) Table(s *site.Site, p *Plan) ([]Row, error) {
	temps := UsualTempsC()
	if !slices.Contains(temps, p.TempC) {
		temps = append(temps, p.TempC)
		slices.Sort(temps)
	}
	return ByTemperature(q.Loop, s, q.Options, temps)
}

// Unworkable reports whether an error of a plan is about what was asked or
// written down, not a failure of the program.
func Unworkable(err error) bool {
	return errors.Is(err, quantity.ErrRange) || errors.Is(err, ErrNoMedia) || errors.Is(err, ErrNoFish) || errors.Is(err, errTooMuch) || errors.Is(err, errIncomplete)
}
