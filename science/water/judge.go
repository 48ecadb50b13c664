package water

import (
	"errors"
	"fmt"
	"math"

	"tidebed/quantity"
	"tidebed/science/air"
)

// Sample is a water test with all that kits and probes show beside it; what was
// not measured is left unknown.
type Sample struct {
	Test
	NH3NGm3     Figure  // un-ionised ammonia nitrogen, where a kit shows it by itself
	HardnessGm3 Figure  // total hardness as CaCO3
	CalciumGm3  Figure  //
	ECDSm       Figure  // at 25 °C
	PressureKPa float64 // of the air at the place; 0: 101.325
}

// Whole is what the values of a sample say together.
type Whole struct {
	UnionisedShare Figure   // of the ammonia
	NH3NGm3        Figure   // un-ionised ammonia nitrogen
	CO2Gm3         Figure   // dissolved
	DOFullGm3      Figure   // oxygen at saturation
	OxygenShare    Figure   // of saturation
	CalciteIndex   Figure   // below 0 limestone dissolves
	LeastECDSm     Figure   // that the measured ions have at the least
	Doubts         []Remark // what is hard to believe
	Unusual        []Remark // what is believed and seldom seen
}

// Remark is a sentence about a parameter.
type Remark struct {
	Of       Parameter
	Sentence string
}

// Clash says that values contradict each other; it wraps ErrImpossible.
type Clash struct {
	Of       Parameter // to measure again first
	Sentence string
}

// Error returns the sentence.
func (c *Clash) Error() string { return c.Sentence }

// Unwrap returns ErrImpossible.
func (c *Clash) Unwrap() error { return ErrImpossible }

// Bounds of what is unusual, from practice.
const (
	unusualPHLow      = 5.5
	unusualPHHigh     = 9.0
	unusualAlkGm3     = 20.0
	unusualCO2Gm3     = 20.0
	unusualDOShare    = 1.2
	unusualTANGm3     = 5.0
	unusualNO2NGm3    = 1.0
	unusualECDSm      = 2.0
	heavyCO2Gm3       = 60.0 // beyond what aerated tanks with living fish have
	scalingIndex      = 0.8
	calciumTolerance  = 1.1  // kits of hardness and calcium differ by a tenth
	ecTolerance       = 0.8  // probes and the sum of ions differ by a fifth
	openAirCO2Atm     = 4e-4 // about; less than this means algae or a wrong value
	alkalinityOfLimes = 1.25 // alkalinity over hardness that limestone water does not have
)

// Whole works out what the values say together and whether they can stand
// together. What contradicts itself gives a *Clash: a pH and an alkalinity that
// need less than no carbon, more un-ionised than total ammonia, more calcium
// than hardness. What no water can have wraps quantity.ErrRange.
//
// Source: un-ionised ammonia [emerson-1975], carbon dioxide and calcite
// [plummer-busenberg-1982], oxygen [benson-krause-1984].
func (s *Sample) Whole() (Whole, error) {
	var w Whole
	if err := s.check(); err != nil {
		return w, err
	}
	warmC := max(0, s.TempC.Amount)
	if err := s.ammonia(&w, warmC); err != nil {
		return w, err
	}
	if err := s.carbon(&w, warmC); err != nil {
		return w, err
	}
	if s.TempC.Known && warmC <= HighestDOC {
		kPa, salt := s.PressureKPa, 0.0
		if kPa == 0 {
			kPa = air.StandardKPa
		}
		if s.ECDSm.Known {
			var err error
			if salt, err = SalinityGKg(1000 * s.ECDSm.Amount); err != nil {
				return w, fmt.Errorf("judging a water test: %w", err)
			}
		}
		full, err := OxygenSaturation(warmC, kPa, salt)
		if err != nil {
			return w, fmt.Errorf("judging a water test: %w", err)
		}
		w.DOFullGm3 = Known(full)
		if s.DOGm3.Known {
			w.OxygenShare = Known(s.DOGm3.Amount / full)
		}
	}
	if err := s.minerals(&w); err != nil {
		return w, err
	}
	s.unusual(&w)
	return w, nil
}

func (s *Sample) check() error {
	bounds := []struct {
		f Figure
		b bound
	}{
		{s.TempC, bound{"water temperature", s.TempC.Amount, -0.5, 45, "°C"}},
		{s.PH, phBound(s.PH.Amount)},
		{s.AlkEqM3, alkalinityBound(s.AlkEqM3.Amount)},
		{s.TANGm3, gm3Bound("total ammonia nitrogen", s.TANGm3.Amount, 2000)},
		{s.NH3NGm3, gm3Bound("un-ionised ammonia nitrogen", s.NH3NGm3.Amount, 2000)},
		{s.NO2NGm3, gm3Bound("nitrite nitrogen", s.NO2NGm3.Amount, 1000)},
		{s.NO3NGm3, gm3Bound("nitrate nitrogen", s.NO3NGm3.Amount, 5000)},
		{s.DOGm3, gm3Bound("oxygen", s.DOGm3.Amount, 40)},
		{s.ChlorideGm3, gm3Bound("chloride", s.ChlorideGm3.Amount, 1e5)},
		{s.PhosphateGm3, gm3Bound("phosphate", s.PhosphateGm3.Amount, 2000)},
		{s.HardnessGm3, gm3Bound("hardness", s.HardnessGm3.Amount, 5000)},
		{s.CalciumGm3, gm3Bound("calcium", s.CalciumGm3.Amount, 2000)},
		{s.ECDSm, bound{"conductivity", s.ECDSm.Amount, 0, 30, "dS/m"}},
		{Figure{0, s.PressureKPa != 0}, bound{"air pressure", s.PressureKPa, LowestKPa, HighestKPa, "kPa"}},
	}
	for _, row := range bounds {
		if !row.f.Known {
			continue
		}
		if err := check("judging a water test", row.b); err != nil {
			return err
		}
	}
	return nil
}

func (s *Sample) ammonia(w *Whole, warmC float64) error {
	if s.NH3NGm3.Known {
		if s.TANGm3.Known && s.NH3NGm3.Amount > s.TANGm3.Amount {
			return &Clash{NH3NParameter, fmt.Sprintf("un-ionised ammonia of %.3g mg/L as N is more than all ammonia, %.3g mg/L as N: it is a part of it; measure both again, and look whether one is told as NH3 or NH4", s.NH3NGm3.Amount, s.TANGm3.Amount)}
		}
		w.NH3NGm3 = s.NH3NGm3
	}
	if !s.TempC.Known || !s.PH.Known {
		return nil
	}
	share, err := UnionisedFraction(warmC, s.PH.Amount)
	if err != nil {
		return err
	}
	w.UnionisedShare = Known(share)
	if !s.TANGm3.Known {
		return nil
	}
	nh3n := share * s.TANGm3.Amount
	if !s.NH3NGm3.Known {
		w.NH3NGm3 = Known(nh3n)
		return nil
	}
	if kit := s.NH3NGm3.Amount; kit > 0.01 && (kit > 2*nh3n || kit < nh3n/2) {
		w.Doubts = append(w.Doubts, Remark{NH3NParameter, fmt.Sprintf("The kit's un-ionised ammonia of %.2g mg/L as N does not go with total ammonia, pH and temperature, which make it %.2g: measure the pH again. The higher one is judged.", kit, nh3n)})
	}
	w.NH3NGm3 = Known(max(s.NH3NGm3.Amount, nh3n))
	return nil
}

// solutes are the sample's for the equilibria, without carbon.
func (s *Sample) solutes() Solutes {
	return Solutes{AlkEqM3: s.AlkEqM3.Amount, TANMolM3: s.TANGm3.Amount / MolarN, PMolM3: s.PhosphateGm3.Amount / MolarP}
}

func (s *Sample) carbon(w *Whole, warmC float64) error {
	if !s.TempC.Known || !s.PH.Known || !s.AlkEqM3.Known {
		return nil
	}
	e, err := NewEquilibria(warmC, s.IonicMolL)
	if err != nil {
		return fmt.Errorf("judging a water test: %w", err)
	}
	dic, err := e.DIC(s.PH.Amount, s.solutes())
	if errors.Is(err, ErrImpossible) {
		return &Clash{AlkalinityParameter, fmt.Sprintf("pH %.4g and an alkalinity of %.3g mg/L as CaCO3 cannot be in one water: the pair would need less than no carbon. At this pH ammonia, phosphate and the water itself make more alkalinity than was measured; measure both again, and calibrate the pH probe first", s.PH.Amount, s.AlkEqM3.Amount*CaCO3PerEq)}
	}
	if err != nil {
		return fmt.Errorf("judging a water test: %w", err)
	}
	co2 := e.CO2(s.PH.Amount, dic)
	w.CO2Gm3 = Known(MolarCO2 * co2)
	switch {
	case w.CO2Gm3.Amount > heavyCO2Gm3:
		w.Doubts = append(w.Doubts, Remark{PHParameter, fmt.Sprintf("pH %.3g with this alkalinity needs %.0f mg/L of carbon dioxide, more than an aerated tank holds: the probe has drifted, the air is shut, or the alkalinity is told in another unit (a degree is 17.8 mg/L).", s.PH.Amount, w.CO2Gm3.Amount)})
	case s.AlkEqM3.Amount > 0 && co2 < e.CO2OfAir(openAirCO2Atm)/2:
		w.Doubts = append(w.Doubts, Remark{PHParameter, fmt.Sprintf("pH %.3g with this alkalinity leaves %.2g mg/L of carbon dioxide, less than half of what open air gives: algae in strong light, a base just dosed, or a pH read too high.", s.PH.Amount, w.CO2Gm3.Amount)})
	}
	calcium := s.CalciumGm3
	if !calcium.Known && s.HardnessGm3.Known {
		calcium = Known(s.HardnessGm3.Amount / CaCO3PerCa) // at most: magnesium counts too
	}
	if calcium.Known && calcium.Amount >= 0.01 {
		if index, err := e.CalciteIndex(s.PH.Amount, s.solutes(), calcium.Amount); err == nil { // no carbonate, no index
			w.CalciteIndex = Known(index)
			if index > scalingIndex {
				w.Unusual = append(w.Unusual, Remark{HardnessParameter, fmt.Sprintf("The calcite index is %+.1f: scale forms, and dosed calcium and phosphate are lost to it.", index)})
			}
		}
	}
	return nil
}

func (s *Sample) minerals(w *Whole) error {
	if s.CalciumGm3.Known && s.HardnessGm3.Known && s.CalciumGm3.Amount*CaCO3PerCa > s.HardnessGm3.Amount*calciumTolerance {
		return &Clash{CalciumParameter, fmt.Sprintf("calcium of %.3g mg/L makes a hardness of %.3g mg/L as CaCO3 by itself, more than the total hardness measured, %.3g: see which of the two is told in degrees or as CaCO3", s.CalciumGm3.Amount, s.CalciumGm3.Amount*CaCO3PerCa, s.HardnessGm3.Amount)}
	}
	if s.HardnessGm3.Known && s.AlkEqM3.Known && s.AlkEqM3.Amount*CaCO3PerEq > s.HardnessGm3.Amount*alkalinityOfLimes+5 {
		w.Doubts = append(w.Doubts, Remark{HardnessParameter, fmt.Sprintf("Alkalinity (%.3g mg/L as CaCO3) is above hardness (%.3g): so it is in softened water and after potassium or sodium bicarbonate; otherwise the two tubes may have been swapped.", s.AlkEqM3.Amount*CaCO3PerEq, s.HardnessGm3.Amount)})
	}
	least, ok := s.LeastECDSm()
	if !ok {
		return nil
	}
	w.LeastECDSm = Known(least)
	if !s.ECDSm.Known || !(s.ECDSm.Amount < ecTolerance*least) {
		return nil
	}
	text := fmt.Sprintf("The ions measured conduct at least %.2g dS/m together, and the probe shows %.2g.", least, s.ECDSm.Amount)
	lighter := *s
	lighter.NO3NGm3.Amount /= NO3PerN
	if less, _ := lighter.LeastECDSm(); s.NO3NGm3.Known && s.ECDSm.Amount >= ecTolerance*less {
		text += " It would fit if the nitrate was told as NO3, not as N."
	} else {
		text += " See the unit of the probe (1 dS/m is 1000 µS/cm) and measure the ions again."
	}
	w.Doubts = append(w.Doubts, Remark{ECParameter, text})
	return nil
}

// unusual notes what is seldom seen and easily a slip of the unit.
func (s *Sample) unusual(w *Whole) {
	say := func(p Parameter, format string, args ...any) {
		w.Unusual = append(w.Unusual, Remark{p, fmt.Sprintf(format, args...)})
	}
	if s.PH.Known && (s.PH.Amount < unusualPHLow || s.PH.Amount > unusualPHHigh) {
		say(PHParameter, "pH %.3g is outside 5.5 to 9, where tanks are kept: calibrate the probe with fresh buffer and measure again.", s.PH.Amount)
	}
	if s.AlkEqM3.Known && s.AlkEqM3.Amount*CaCO3PerEq < unusualAlkGm3 {
		say(AlkalinityParameter, "Alkalinity under 20 mg/L as CaCO3 does not hold the pH: it may fall within hours.")
	}
	if w.CO2Gm3.Known && w.CO2Gm3.Amount > unusualCO2Gm3 {
		say(CO2Parameter, "Carbon dioxide above 20 mg/L: more air, and open doors, before anything is dosed.")
	}
	if w.OxygenShare.Known && w.OxygenShare.Amount > unusualDOShare {
		say(DOParameter, "Oxygen at %.0f %% of saturation is more than air can give: pure oxygen, algae in light, or a probe to calibrate.", 100*w.OxygenShare.Amount)
	}
	if s.TANGm3.Known && s.TANGm3.Amount > unusualTANGm3 {
		say(TANParameter, "Ammonia above 5 mg/L as N holds up the nitrifying bacteria too; dilute the sample and measure again.")
	}
	if s.NO2NGm3.Known && s.NO2NGm3.Amount > unusualNO2NGm3 {
		say(NO2NParameter, "Nitrite above 1 mg/L as N is seen while beds ripen; most kits end here, so dilute the sample and measure again.")
	}
	if s.ECDSm.Known && s.ECDSm.Amount > unusualECDSm {
		say(ECParameter, "Conductivity above 2 dS/m: salts gather; greens suffer from about 3.")
	}
}

// ErrMoreAmmonia is wrapped when a base would lift un-ionised ammonia out of its
// band.
var ErrMoreAmmonia = errors.New("the base would make too much un-ionised ammonia")

// SafeParts is Parts with the daily step of MostPHStepDay, and refuses with
// ErrMoreAmmonia a base under which un-ionised ammonia nitrogen would at any time
// exceed mostNH3NGm3 (0 to 100).
//
// Check: 2 m³, 22 °C, ionic strength 0.005, alkalinity 20 mg/L as CaCO3, TAN 2,
// pH 6.4 to 7.0: 0.0091 g/m³ at the end.
func (b Bath) SafeParts(c Chemical, targetPH, purity, mostNH3NGm3 float64) ([]Part, error) {
	if err := check("parts of a dose", gm3Bound("un-ionised ammonia nitrogen allowed", mostNH3NGm3, 100)); err != nil {
		return nil, err
	}
	parts, err := b.Parts(c, targetPH, purity, MostPHStepDay)
	if err != nil {
		return nil, err
	}
	for _, p := range parts {
		if p.NH3NGm3 > mostNH3NGm3 {
			return nil, fmt.Errorf("parts of a dose: on day %d, at pH %.2f, un-ionised ammonia nitrogen would be %.2g mg/L, above %.2g: %w", p.Day, max(p.PHAtOnce, p.PHSettled), p.NH3NGm3, mostNH3NGm3, ErrMoreAmmonia)
		}
	}
	return parts, nil
}

// PHOfAlkalinity returns the pH of the bath once its alkalinity is brought to
// alkEqM3 (-10 to 50) and its carbon dioxide is back at the level of now.
//
// Errors as of For.
func (b Bath) PHOfAlkalinity(alkEqM3 float64) (float64, error) {
	st, err := b.state()
	if err != nil {
		return 0, err
	}
	s := st.s
	s.AlkEqM3 = alkEqM3
	return st.eq.PHAtCO2(s, st.co2, st.ph)
}

// PHInOpenAir returns the pH, and the un-ionised ammonia nitrogen in g/m³, that
// the bath comes to at the most when air takes out its carbon dioxide down to
// the open air's 420 ppm.
//
// Errors as of For.
func (b Bath) PHInOpenAir() (ph, nh3nGm3 float64, err error) {
	st, err := b.state()
	if err != nil {
		return 0, 0, err
	}
	if ph, err = st.eq.PHAtCO2(st.s, st.eq.CO2OfAir(420e-6), st.ph); err != nil {
		return 0, 0, err
	}
	return ph, b.TANGm3 / (1 + pow10(ammoniaPKa(b.TempC)-ph)), nil
}

// Changed returns the bath once a share (0 to 1) of its water is replaced by
// other water of alkEqM3 (-10 to 50), without ammonia or phosphate, and its
// carbon dioxide is back at the level of now.
//
// Errors as of For.
func (b Bath) Changed(share, alkEqM3 float64) (Bath, error) {
	if err := check("change of water", bound{"share", share, 0, 1, ""}, alkalinityBound(alkEqM3)); err != nil {
		return b, err
	}
	st, err := b.state()
	if err != nil {
		return b, err
	}
	after := b
	after.AlkEqM3 = b.AlkEqM3 + share*(alkEqM3-b.AlkEqM3)
	after.TANGm3, after.PhosphateGm3 = b.TANGm3*(1-share), b.PhosphateGm3*(1-share)
	after.PH, err = st.eq.PHAtCO2(Solutes{AlkEqM3: after.AlkEqM3, TANMolM3: after.TANGm3 / MolarN, PMolM3: after.PhosphateGm3 / MolarP}, st.co2, st.ph)
	return after, err
}

// MostChange is the share of a tank's water that is changed at a time (common
// practice, no source).
const MostChange = 1.0 / 3

// WaterChange returns the share of water to replace to bring a concentration
// from nowGm3 (0 to 1e5) to wantGm3 with water of sourceGm3, and in how many
// changes of MostChange at most. ok is false when that water cannot do it.
//
// Errors wrap quantity.ErrRange.
//
// Check: 2 to 1 with 0: half, in two changes.
func WaterChange(nowGm3, wantGm3, sourceGm3 float64) (share float64, changes int, ok bool, err error) {
	if err := check("change of water", gm3Bound("concentration", nowGm3, 1e5), gm3Bound("concentration wanted", wantGm3, 1e5), gm3Bound("concentration of the source", sourceGm3, 1e5)); err != nil {
		return 0, 0, false, err
	}
	if nowGm3 <= wantGm3 {
		return 0, 0, true, nil
	}
	if sourceGm3 >= wantGm3 {
		return 0, 0, false, nil
	}
	share = (nowGm3 - wantGm3) / (nowGm3 - sourceGm3)
	if share <= MostChange {
		return share, 1, true, nil
	}
	left := math.Log(1-share) / math.Log(1-MostChange)
	if !(left < 1e4) {
		return 0, 0, false, fmt.Errorf("change of water: %g to %g mg/L cannot be had by changing water: %w", nowGm3, wantGm3, quantity.ErrRange)
	}
	return share, int(math.Ceil(left - 1e-9)), true, nil
}
