package food

import (
	"fmt"
	"math"
	"slices"

	"tidebed/quantity"
)

// Sex chooses the equations and reference intakes.
type Sex string

// The two sexes the reference tables distinguish.
const (
	Male   Sex = "male"
	Female Sex = "female"
)

// Activity is the class of daily movement.
type Activity string

// The four classes of IOM 2005: physical activity level 1.0 to 1.39, 1.4 to
// 1.59, 1.6 to 1.89 and 1.9 to 2.5. In a cold building or with heavy bed work
// choose one class higher.
const (
	Sedentary  Activity = "sedentary"
	LowActive  Activity = "low-active"
	Active     Activity = "active"
	VeryActive Activity = "very-active"
)

// Activities returns the classes from least to most.
func Activities() []Activity { return []Activity{Sedentary, LowActive, Active, VeryActive} }

// State is pregnancy by trimester, nursing by half-year, or neither.
type State string

// The states; the empty one is neither.
const (
	NoState   State = ""
	Pregnant1 State = "pregnant-1"
	Pregnant2 State = "pregnant-2"
	Pregnant3 State = "pregnant-3"
	Nursing1  State = "nursing-1" // first six months
	Nursing2  State = "nursing-2" // months 7 to 12
)

// stateKcal is what IOM 2005 adds to the energy need; the figures for nursing
// are from memory.
var stateKcal = map[State]float64{
	NoState: 0, Pregnant1: 0, Pregnant2: 340, Pregnant3: 452, Nursing1: 330, Nursing2: 400,
}

// Pregnant reports one of the three pregnant states.
func (s State) Pregnant() bool { return s == Pregnant1 || s == Pregnant2 || s == Pregnant3 }

// Nursing reports one of the two nursing states.
func (s State) Nursing() bool { return s == Nursing1 || s == Nursing2 }

// Person is who is to be fed.
type Person struct {
	Sex      Sex
	AgeY     float64 // 1 to 120
	WeightKg float64 // 1 to 350
	HeightM  float64 // 0.5 to 2.5
	Activity Activity
	State    State
}

// check refuses what no formula can use.
func (p Person) check() error {
	if p.Sex != Male && p.Sex != Female {
		return fmt.Errorf("sex %q: give male or female", p.Sex)
	}
	if p.AgeY < 1 {
		return fmt.Errorf("%w: infants under one year are not planned for here", quantity.InRange("age", p.AgeY, 1, 120, "years"))
	}
	if err := quantity.InRange("age", p.AgeY, 1, 120, "years"); err != nil {
		return err
	}
	if err := quantity.InRange("weight", p.WeightKg, 1, 350, "kg"); err != nil {
		return err
	}
	if p.HeightM > 3 {
		return fmt.Errorf("%w: this looks like centimetres, give metres", quantity.InRange("height", p.HeightM, 0.5, 2.5, "m"))
	}
	if err := quantity.InRange("height", p.HeightM, 0.5, 2.5, "m"); err != nil {
		return err
	}
	if !slices.Contains(Activities(), p.Activity) {
		return fmt.Errorf("activity %q: give sedentary, low-active, active or very-active", p.Activity)
	}
	if _, ok := stateKcal[p.State]; !ok {
		return fmt.Errorf("state %q: give pregnant-1, -2 or -3, nursing-1 or -2, or leave it empty", p.State)
	}
	if p.State != NoState && (p.Sex != Female || p.AgeY < 10 || p.AgeY > 65) {
		return fmt.Errorf("state %q: does not go with %s, %g years", p.State, p.Sex, p.AgeY)
	}
	return nil
}

// Tidy returns the person with a height above 3 read as centimetres, and a
// note that says so.
func (p Person) Tidy() (Person, []string) {
	if p.HeightM > 3 && p.HeightM <= 250 {
		tidied := p
		tidied.HeightM = p.HeightM / 100
		return tidied, []string{fmt.Sprintf("height %g read as centimetres: %.2f m", p.HeightM, tidied.HeightM)}
	}
	return p, nil
}

// BMI returns the body mass index in kg/m².
func (p Person) BMI() float64 { return p.WeightKg / (p.HeightM * p.HeightM) }

// CheckPerson refuses what cannot be planned for and warns about what should
// be talked over: a height given in centimetres, a body mass index of an adult
// below 18.5 or above 35, an energy need of an adult below 1200 or of anyone
// above 4500 kcal a day. Errors wrap quantity.ErrRange where a number is out
// of range.
func CheckPerson(p Person) (warnings []string, err error) {
	p, warnings = p.Tidy()
	if err := p.check(); err != nil {
		return warnings, fmt.Errorf("person: %w", err)
	}
	if p.AgeY >= 19 && !p.State.Pregnant() {
		switch bmi := p.BMI(); {
		case bmi < 18.5:
			warnings = append(warnings, fmt.Sprintf("body mass index %.1f is below 18.5: no restricted menu without medical advice", bmi))
		case bmi > 35:
			warnings = append(warnings, fmt.Sprintf("body mass index %.1f is above 35: the energy formula overstates the need", bmi))
		}
	}
	need, err := EnergyNeed2005(p)
	if err != nil {
		return warnings, fmt.Errorf("person: %w", err)
	}
	if need < 1200 && p.AgeY >= 19 {
		warnings = append(warnings, fmt.Sprintf("energy need %.0f kcal a day is below 1200: check age, weight and height", need))
	}
	if need > 4500 {
		warnings = append(warnings, fmt.Sprintf("energy need %.0f kcal a day is above 4500: check age, weight and height", need))
	}
	return warnings, nil
}

// RestingEnergy returns the resting energy of an adult in kcal a day, rounded
// coefficients.
//
// Valid 19 to 78 years, else an error wrapping quantity.ErrRange. Activity and
// state are not counted.
//
// Source: Mifflin et al. 1990, Am J Clin Nutr 51:241-247.
func RestingEnergy(p Person) (kcal float64, err error) {
	if err := restingCheck(p); err != nil {
		return 0, err
	}
	kcal = 10*p.WeightKg + 6.25*100*p.HeightM - 5*p.AgeY
	if p.Sex == Male {
		return kcal + 5, nil
	}
	return kcal - 161, nil
}

// RestingEnergyLong is RestingEnergy with the coefficients as regressed
// (n = 498, R² 0.71).
//
// Source: Mifflin et al. 1990, abstract.
func RestingEnergyLong(p Person) (kcal float64, err error) {
	if err := restingCheck(p); err != nil {
		return 0, err
	}
	kcal = 9.99*p.WeightKg + 6.25*100*p.HeightM - 4.92*p.AgeY - 161
	if p.Sex == Male {
		kcal += 166
	}
	return kcal, nil
}

func restingCheck(p Person) error {
	if err := p.check(); err != nil {
		return fmt.Errorf("resting energy: %w", err)
	}
	if err := quantity.InRange("age", p.AgeY, 19, 78, "years"); err != nil {
		return fmt.Errorf("resting energy: %w", err)
	}
	return nil
}

// need2005 holds c0 + c1·age + PA·(c2·weight + c3·height) + growth.
type need2005 struct {
	c0, perYear, perKg, perM float64
	pa                       [4]float64
}

var (
	men2005   = need2005{661.8, -9.53, 15.91, 539.6, [4]float64{1.00, 1.11, 1.25, 1.48}}
	women2005 = need2005{354.1, -6.91, 9.36, 726, [4]float64{1.00, 1.12, 1.27, 1.45}}
	boys2005  = need2005{88.5, -61.9, 26.7, 903, [4]float64{1.00, 1.13, 1.26, 1.42}}
	girls2005 = need2005{135.3, -30.8, 10.0, 934, [4]float64{1.00, 1.16, 1.31, 1.56}}
)

// EnergyNeed2005 returns the estimated energy requirement in kcal a day; ±10
// percent is an honest band for one person. Pregnancy and nursing add their
// share. Under 3 years activity and height play no part.
//
// Errors: a person out of range, wrapping quantity.ErrRange.
//
// Source: IOM 2002/2005, Dietary Reference Intakes for Energy.
// Check: woman 30 y, 1.65 m, 68 kg, low active: 2202 (printed table).
func EnergyNeed2005(p Person) (kcal float64, err error) {
	if err := p.check(); err != nil {
		return 0, fmt.Errorf("energy need (2005): %w", err)
	}
	if p.AgeY < 3 {
		return 89*p.WeightKg - 100 + 20, nil
	}
	eq, growth := women2005, 0.0
	switch {
	case p.AgeY >= 19 && p.Sex == Male:
		eq = men2005
	case p.AgeY < 19 && p.Sex == Male:
		eq, growth = boys2005, growth2005(p.AgeY)
	case p.AgeY < 19:
		eq, growth = girls2005, growth2005(p.AgeY)
	}
	pa := eq.pa[slices.Index(Activities(), p.Activity)]
	kcal = eq.c0 + eq.perYear*p.AgeY + pa*(eq.perKg*p.WeightKg+eq.perM*p.HeightM) + growth
	return positiveNeed("energy need (2005)", kcal+stateKcal[p.State])
}

func growth2005(ageY float64) float64 {
	if ageY < 9 {
		return 20
	}
	return 25
}

// positiveNeed refuses a result that only an impossible person gives.
func positiveNeed(what string, kcal float64) (float64, error) {
	if err := quantity.InRange("result", kcal, 200, 12000, "kcal/d"); err != nil {
		return 0, fmt.Errorf("%s: %w: check age, weight and height", what, err)
	}
	return kcal, nil
}

// need2023 holds c0, per cm of height and per kg, by activity class.
var need2023 = map[string]struct {
	perYear float64
	class   [4][3]float64
}{
	"men":   {-10.83, [4][3]float64{{753.07, 6.50, 14.10}, {581.47, 8.30, 14.94}, {1004.82, 6.52, 15.91}, {-517.88, 15.61, 19.11}}},
	"women": {-7.01, [4][3]float64{{584.90, 5.72, 11.71}, {575.77, 6.60, 12.14}, {710.25, 6.54, 12.34}, {511.83, 9.07, 12.56}}},
	"boys":  {3.68, [4][3]float64{{-447.51, 13.01, 13.15}, {19.12, 8.62, 20.28}, {-388.19, 12.66, 20.46}, {-671.75, 15.38, 23.25}}},
	"girls": {-22.25, [4][3]float64{{55.59, 8.43, 17.07}, {-297.54, 12.77, 14.73}, {-189.55, 11.74, 18.34}, {-709.59, 18.22, 14.25}}},
}

// EnergyNeed2023 returns the estimated energy requirement of the 2023 edition
// in kcal a day. Its four classes are inactive to very active.
//
// Errors: a person out of range, wrapping quantity.ErrRange; pregnancy and
// nursing, for which only the 2005 form is held here.
//
// Source: NASEM 2023, Dietary Reference Intakes for Energy; the rows of men
// inactive, women active and 1 to 2 years published, the others from memory.
func EnergyNeed2023(p Person) (kcal float64, err error) {
	const what = "energy need (2023)"
	if err := p.check(); err != nil {
		return 0, fmt.Errorf("%s: %w", what, err)
	}
	if p.State != NoState {
		return 0, fmt.Errorf("%s: no figures for %s here: use the 2005 form", what, p.State)
	}
	heightCm := 100 * p.HeightM
	male := p.Sex == Male
	if p.AgeY < 3 {
		if male {
			kcal = -716.45 - 1.00*p.AgeY + 17.82*heightCm + 15.06*p.WeightKg + 20
		} else {
			kcal = -69.15 + 80.0*p.AgeY + 2.65*heightCm + 54.15*p.WeightKg + 15
		}
		return positiveNeed(what, kcal)
	}
	group := "women"
	switch {
	case p.AgeY >= 19 && male:
		group = "men"
	case p.AgeY < 19 && male:
		group = "boys"
	case p.AgeY < 19:
		group = "girls"
	}
	eq := need2023[group]
	c := eq.class[slices.Index(Activities(), p.Activity)]
	kcal = c[0] + eq.perYear*p.AgeY + c[1]*heightCm + c[2]*p.WeightKg
	return positiveNeed(what, kcal+growth2023(p.AgeY, male))
}

func growth2023(ageY float64, male bool) float64 {
	switch {
	case ageY >= 19:
		return 0
	case male && ageY < 4, male && ageY >= 14:
		return 20
	case male && ageY < 9:
		return 15
	case male:
		return 25
	case ageY < 9:
		return 15
	case ageY < 14:
		return 30
	}
	return 20
}

// BasalEnergyFAO2004 returns the basal metabolic rate of an adult from 18
// years in kcal a day.
//
// Source: FAO/WHO/UNU 2004, equations of Schofield 1985.
// Check: woman 18 to 30 y, 55 kg: 1302 (printed example).
func BasalEnergyFAO2004(p Person) (kcal float64, err error) {
	if err := p.check(); err != nil {
		return 0, fmt.Errorf("basal energy (FAO 2004): %w", err)
	}
	if err := quantity.InRange("age", p.AgeY, 18, 120, "years"); err != nil {
		return 0, fmt.Errorf("basal energy (FAO 2004): %w", err)
	}
	band := 0
	if p.AgeY > 60 {
		band = 2
	} else if p.AgeY >= 30 {
		band = 1
	}
	c := [3][2]float64{{14.818, 486.6}, {8.126, 845.6}, {9.082, 658.5}}[band]
	if p.Sex == Male {
		c = [3][2]float64{{15.057, 692.2}, {11.472, 873.1}, {11.711, 587.7}}[band]
	}
	return c[0]*p.WeightKg + c[1], nil
}

// EnergyNeedFAO2004 returns basal energy times the physical activity level, in
// kcal a day: 1.40 to 1.69 sedentary, 1.70 to 1.99 active, 2.00 to 2.40
// vigorous. The report means it for groups, not for one person.
//
// Errors: age below 18 or pal outside 1.2 to 2.5, wrapping quantity.ErrRange.
//
// Source: FAO/WHO/UNU 2004, Human energy requirements.
func EnergyNeedFAO2004(p Person, pal float64) (kcal float64, err error) {
	if err := quantity.InRange("physical activity level", pal, 1.2, 2.5, ""); err != nil {
		return 0, fmt.Errorf("energy need (FAO 2004): %w", err)
	}
	basal, err := BasalEnergyFAO2004(p)
	if err != nil {
		return 0, err
	}
	return basal*pal + stateKcal[p.State], nil
}

// finite reports a number that is neither NaN nor infinite.
func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
