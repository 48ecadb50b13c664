package fish

import "math"

// How a day of feeding runs.
const (
	firstMealHour = 8
	lastMealHour  = 18
	soleMealHour  = 9
	mostMeals     = 12

	// EndogenousShare is the part of a fed day's ammonia that comes at any hour,
	// meal or not. Common practice, no source: the upper end of the 10 to 20
	// percent that are left two days after the last meal (from memory), for fed
	// fish turn over more of their own protein than hungry ones.
	EndogenousShare = 0.2

	// ammoniaPeakH and digestingPeakH are the hours from a meal to the height of
	// its ammonia (4 to 6 h, from memory) and of the oxygen spent on it (within 4
	// h, from memory).
	ammoniaPeakH   = 4.5
	digestingPeakH = 3.5
)

// Excretion after the last meal.
const (
	fastingFloor = 0.1  // of the fed mean, what never stops
	fastingHours = 16.0 // in which the rest falls to 1/e
)

// MealHours returns the hours of the day, 0 to 23 by local time, at which equal
// meals are given: one at 9, more spread evenly from 8 to 18 o'clock, so by
// day. Twelve meals put two into one hour. More than 12 count as 12; none
// or fewer give no hours.
//
// Source: common practice, no source.
func MealHours(meals int) []int {
	meals = min(meals, mostMeals)
	switch {
	case meals < 1:
		return nil
	case meals == 1:
		return []int{soleMealHour}
	}
	hours := make([]int, meals)
	for i := range hours {
		hours[i] = int(math.Round(firstMealHour + float64(i*(lastMealHour-firstMealHour))/float64(meals-1)))
	}
	return hours
}

// Rhythm is how a day's amounts are spread over its hours, the hour from
// midnight by local time first. The shares of each sum to 1.
type Rhythm struct {
	Feed      [24]float64 // of the day's feed
	Ammonia   [24]float64 // of the day's ammonia given off by fish
	Digesting [24]float64 // of the oxygen of digestion; the routine rate is even and not in it
}

// NewRhythm returns the day of fish fed meals times, at MealHours, the same day
// after day: what is left of yesterday's meals is in it, so a day runs on into
// the next. The meal is eaten at the start of its hour. Ammonia is
// EndogenousShare at all hours and the rest in a wave after each meal that is
// highest 4.5 h after it; the oxygen of digestion is a wave highest after 3.5 h.
// A wave rises and falls as t × exp(-t/peak). A day without meals, 0 or fewer,
// is even.
//
// Source: peaks from memory; the waves' form is common practice, no source, made
// so that with a meal or two the oxygen of the highest hour is 1.2 to 2 times
// the mean (1.4 to 1.6, from memory).
func NewRhythm(meals int) (r Rhythm) {
	hours := MealHours(meals)
	if len(hours) == 0 {
		for h := range 24 {
			r.Feed[h], r.Ammonia[h], r.Digesting[h] = 1.0/24, 1.0/24, 1.0/24
		}
		return r
	}
	ammonia, digesting := wave(ammoniaPeakH), wave(digestingPeakH)
	meal := 1 / float64(len(hours))
	for _, hour := range hours {
		r.Feed[hour] += meal
		for after := range 24 {
			h := (hour + after) % 24
			r.Ammonia[h] += (1 - EndogenousShare) * meal * ammonia[after]
			r.Digesting[h] += meal * digesting[after]
		}
	}
	for h := range 24 {
		r.Ammonia[h] += EndogenousShare / 24
	}
	return r
}

// wave is the share of a meal's effect in each hour after it, wrapped around the
// day: hour 3 holds also hours 27, 51 and so on.
func wave(peakH float64) (share [24]float64) {
	left := func(h float64) float64 { return (1 + h/peakH) * math.Exp(-h/peakH) }
	const days = 12 // after which nothing is left
	for i := range 24 * days {
		share[i%24] += left(float64(i)) - left(float64(i+1))
	}
	return share
}

// FastingShare returns the ammonia that fish give off hoursSinceMeal after their
// last meal, against the mean of the days they were fed: 0.1 + 0.9 exp(-t/16 h).
// It has no peak after the meal: for that see Rhythm. 1 for hours below 0 and
// for no number.
//
// Source: 25 to 35 percent after 24 h and 10 to 20 after two days, from memory;
// the curve through them and its floor are common practice, no source.
// Check: 24 h 0.30, 48 h 0.145.
func FastingShare(hoursSinceMeal float64) float64 {
	if !(hoursSinceMeal > 0) {
		return 1
	}
	return fastingFloor + (1-fastingFloor)*math.Exp(-hoursSinceMeal/fastingHours)
}
