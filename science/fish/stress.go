package fish

import "math"

// Anchors of the losses. Times are those in which half the fish die.
const (
	acuteHours = 96.0 // the trial of an LC50

	oxygenHours     = 2.0   // at DOLethalGm3, fish of oxygenWeightG
	oxygenPerLethal = 3.0   // times shorter for each DOLethalGm3 of oxygen less
	oxygenWeightG   = 100.0 // small fish die sooner, by the power oxygenSize of the weight
	oxygenSize      = 0.3
	oxygenSizeLow   = 0.5
	oxygenSizeHigh  = 4.0

	tempHours     = 24.0 // at a lethal temperature
	tempPerDegree = 5.0  // times shorter for each degree beyond
	tempMarginC   = 2.0  // inside the limits from where losses begin

	phHours          = 24.0      // at phLow and phHigh
	phLow, phHigh    = 5.0, 10.0 // kill
	phMargin         = 0.5       // inside them from where losses begin
	chlorideMost     = 1e5       // g/m³
	nitriteLeast     = 0.1       // share of nitrite that chloride never keeps out
	chloridePerN     = 20.0      // g chloride that keep out 1 g nitrite nitrogen
	chloridePerNCold = 33.0      // the same for fish of cold water
)

// worstLoss bounds each loss: half the fish die in a minute.
const worstLoss = 60 * math.Ln2

// Exposure is the water of an hour.
type Exposure struct {
	DOGm3       float64 // oxygen
	NH3NGm3     float64 // un-ionised ammonia nitrogen
	NO2NGm3     float64 // nitrite nitrogen
	ChlorideGm3 float64 // protects from nitrite
	TempC       float64
	PH          float64
}

// LC50NH3N returns the un-ionised ammonia nitrogen, g/m³, in which half the fish
// die within 96 hours, by the species' group. A twentieth of it, where growth
// begins to suffer (from memory), lies near NH3NMaxGm3, from where
// FeedForAmmonia cuts feed and growth with it.
//
// Source, values set on the safe, lower middle of what is published: cold 0.3,
// trout 0.16 to 1.1 as NH3, that is 0.13 to 0.90 as nitrogen (Thurston & Russo
// 1983); carp and goldfish 0.9, carp 0.93 (Abbas 2006) to 1.84 (Hasan &
// Macintosh 1986); warm omnivores 1.0, tilapia 1 to 2, from memory; warm
// carnivores 0.8, perches 0.5, African catfish 1.6 and crustaceans 0.5: common
// practice, no source, a multiple of the nitrogen that stops feed. A group
// unknown goes by the cold.
func (s *Species) LC50NH3N() (gm3 float64) {
	switch s.Group {
	case "warm_omnivore":
		return 1.0
	case "warm_carnivore":
		return 0.8
	case "cool_omnivore":
		return 0.9
	case "cool_carnivore", "crustacean":
		return 0.5
	case "air_breather":
		return 1.6
	}
	return 0.3
}

// LC50NO2N returns the nitrite nitrogen, g/m³, in which half the fish die within
// 96 hours in water with next to no chloride, by the species' group.
//
// Source: cold 0.3, rainbow trout 0.2 to 0.4 (Russo & Thurston 1977, from
// memory); warm water 7, that of channel catfish, the most sensitive (Tomasso
// 1986; the figure from memory), while tilapia bear about 16 (Palachek & Tomasso
// 1984, from memory); carp and goldfish 7 with them, crustaceans 5 and perches
// 4: common practice, no source. A group unknown goes by the cold.
func (s *Species) LC50NO2N() (gm3 float64) {
	switch s.Group {
	case "warm_omnivore", "warm_carnivore", "cool_omnivore", "air_breather":
		return 7
	case "crustacean":
		return 5
	case "cool_carnivore":
		return 4
	}
	return 0.3
}

// NitriteFeltGm3 returns the nitrite nitrogen, g/m³, in water without chloride
// that does as much harm: each 20 g of chloride keeps 1 g of nitrite nitrogen
// out of the gills, each 33 g in fish of cold water, but a tenth always gets in.
// Largemouth bass gain nothing from chloride. Chloride below 0 or no number
// counts as none. No number for nitrite gives no number.
//
// Source: 20 to 1 on nitrogen is common in recirculation, from memory; 10 to 1
// on the nitrite ion, 33 to 1 on nitrogen, protects channel catfish (SRAC 462);
// bass: Tomasso 1986. The tenth: common practice, no source.
// Check: 2 g/m³ with 20 of chloride 1, with 40 and more 0.2.
func (s *Species) NitriteFeltGm3(no2nGm3, chlorideGm3 float64) float64 {
	if !(chlorideGm3 > 0) || s.ID == "bass_largemouth" {
		return no2nGm3
	}
	perN := s.ChloridePerNitriteN()
	return max(nitriteLeast*no2nGm3, no2nGm3-min(chlorideGm3, chlorideMost)/perN)
}

// ChloridePerNitriteN is the chloride that keeps a gram of nitrite nitrogen out of
// the gills, g/g: 20, in fish of cold water 33; 0 for largemouth bass, which gain
// nothing. Sources as NitriteFeltGm3.
func (s *Species) ChloridePerNitriteN() float64 {
	switch {
	case s.ID == "bass_largemouth":
		return 0
	case s.Group == "cold_carnivore":
		return chloridePerNCold
	}
	return chloridePerN
}

// loss is deaths per fish and hour where half die in halfHours, and speed times
// sooner; never above worstLoss, 0 for no number.
func loss(halfHours, speed float64) float64 {
	if !(speed > 0) {
		return 0
	}
	return min(worstLoss, math.Ln2/halfHours*speed)
}

// acute is the loss in poison of v: none up to harmless, that of the LC50 there,
// and rising with the fifth power of what lies above the harmless: where that is
// little, 1.3 times the LC50 kills half in a day; where it is a third of the LC50,
// as with trout and nitrite, in 15 hours.
func acute(v, harmless, lc50 float64) float64 {
	x := (v - harmless) / (lc50 - harmless)
	if !(x > 0) {
		return 0
	}
	return loss(acuteHours, x*x*x*x*x)
}

// LossByOxygen returns the deaths per fish and hour in water short of oxygen: 0
// from DOMinFeedGm3 up, half the fish of 100 g in 2 hours at DOLethalGm3, in 8
// to 24 hours at twice that where it still lies below DOMinFeedGm3, in 40
// minutes without any. Small fish die sooner: 1 g four times, 1 kg half as fast.
// Fish that no lack of oxygen kills, DOLethalGm3 being 0, breathe air: nothing
// as long as they reach it. 0 for a weight not above 0 and for no number.
//
// Source: deaths within 1 to 4 hours at the lethal oxygen, small fish in half an
// hour, hours to a day at twice it, from memory; the curve between is common
// practice, no source.
func (s *Species) LossByOxygen(weightG, doGm3 float64) (perHour float64) {
	lethal, ample := s.DOLethalGm3, s.DOMinFeedGm3
	if !(doGm3 < ample && lethal > 0 && lethal < ample && weightG > 0) {
		return 0
	}
	doGm3 = max(0, doGm3)
	speed := math.Exp(math.Log(oxygenPerLethal) * (1 - doGm3/lethal))
	if doGm3 > lethal {
		short := (ample - doGm3) / (ample - lethal)
		speed *= short * math.Sqrt(short)
	}
	size := math.Pow(oxygenWeightG/weightG, oxygenSize)
	return loss(oxygenHours, speed*min(oxygenSizeHigh, max(oxygenSizeLow, size)))
}

// LossByAmmonia returns the deaths per fish and hour by un-ionised ammonia
// nitrogen: 0 up to NH3NMaxGm3, half in 96 hours at LC50NH3N, below 1 in 10 000
// a day at NH3NStopGm3. The lesser tolerance of fish in swinging ammonia
// (Thurston et al. 1981) or poor oxygen is not in it. 0 for no number.
//
// Source: LC50NH3N; the power is common practice, no source.
func (s *Species) LossByAmmonia(nh3nGm3 float64) (perHour float64) {
	return acute(nh3nGm3, s.NH3NMaxGm3, s.LC50NH3N())
}

// LossByNitrite returns the deaths per fish and hour by nitrite nitrogen in
// water with chloride: 0 up to NO2NMaxGm3 of what they feel of it (see
// NitriteFeltGm3), half in 96 hours at LC50NO2N. 0 for no number.
//
// Source: LC50NO2N; the power is common practice, no source.
func (s *Species) LossByNitrite(no2nGm3, chlorideGm3 float64) (perHour float64) {
	return acute(s.NitriteFeltGm3(no2nGm3, chlorideGm3), s.NO2NMaxGm3, s.LC50NO2N())
}

// lossByDegrees is the loss in water beyond a lethal temperature by beyondC,
// below 0 inside it.
func lossByDegrees(beyondC float64) float64 {
	if !(beyondC > -tempMarginC) {
		return 0
	}
	speed := math.Exp(math.Log(tempPerDegree) * beyondC)
	if beyondC < 0 {
		short := 1 + beyondC/tempMarginC
		speed *= short * short * short
	}
	return loss(tempHours, speed)
}

// LossByCold returns the deaths per fish and hour by cold: half in 24 hours at
// LethalLowC, 5 times as fast for each degree below, 0 from 2 °C above it up.
// Fish moved from warm water at a stroke die earlier; that is not in it. 0 for
// no number.
//
// Source: a degree shortens survival 3 to 10 fold, from memory; the rest common
// practice, no source.
func (s *Species) LossByCold(tempC float64) (perHour float64) {
	return lossByDegrees(s.LethalLowC - tempC)
}

// LossByWarmth returns the deaths per fish and hour by warm water: half in 24
// hours at LethalHighC, 5 times as fast for each degree above, 0 from 2 °C below
// it down. 0 for no number.
//
// Source: as LossByCold.
func (s *Species) LossByWarmth(tempC float64) (perHour float64) {
	return lossByDegrees(tempC - s.LethalHighC)
}

// LossByPH returns the deaths per fish and hour by acid or alkaline water: 0
// from pH 5.5 to 9.5, half in 24 hours at 5 and 10, 8 times as fast half a unit
// beyond. 0 for no number.
//
// Source: below 5 and above 10 kill, Wurts & Durborow 1992; how fast is common
// practice, no source.
func LossByPH(ph float64) (perHour float64) {
	x := max(phLow+phMargin-ph, ph-(phHigh-phMargin)) / phMargin
	if !(x > 0) {
		return 0
	}
	return loss(phHours, x*x*x)
}

// LossPerHour returns the deaths per fish and hour in the water of an hour, a
// hazard: of N fish N × exp(-loss) live on. It is the sum of LossByOxygen,
// LossByAmmonia, LossByNitrite, LossByCold, LossByWarmth and LossByPH, without
// the everyday MortalityPerDay. Finite and never below 0; a figure of the water
// that is no number adds nothing, so one not known is not held against the
// fish. It does not allocate.
//
// Check: 96 hours at LC50NH3N leave half.
func (s *Species) LossPerHour(weightG float64, w Exposure) (perHour float64) {
	return s.LossByOxygen(weightG, w.DOGm3) + s.LossByAmmonia(w.NH3NGm3) + s.LossByNitrite(w.NO2NGm3, w.ChlorideGm3) +
		s.LossByCold(w.TempC) + s.LossByWarmth(w.TempC) + LossByPH(w.PH)
}

// Cause returns the largest part of LossPerHour and its name: "low oxygen",
// "ammonia", "nitrite", "cold water", "warm water" or "pH"; of equal ones the
// first of these, and "" with 0 where nothing harms.
func (s *Species) Cause(weightG float64, w Exposure) (cause string, perHour float64) {
	for _, part := range [...]struct {
		name    string
		perHour float64
	}{
		{"low oxygen", s.LossByOxygen(weightG, w.DOGm3)},
		{"ammonia", s.LossByAmmonia(w.NH3NGm3)},
		{"nitrite", s.LossByNitrite(w.NO2NGm3, w.ChlorideGm3)},
		{"cold water", s.LossByCold(w.TempC)},
		{"warm water", s.LossByWarmth(w.TempC)},
		{"pH", LossByPH(w.PH)},
	} {
		if part.perHour > perHour {
			cause, perHour = part.name, part.perHour
		}
	}
	return cause, perHour
}

// FeedShareWater returns the share, 0 to 1, of the planned ration to feed as
// FeedShare does, but without steps in ammonia and nitrite, as a simulation
// needs, and with nitrite eased by chloride (NitriteFeltGm3): full up to
// TANMaxGm3 and NO2NMaxGm3, from there in a line to nothing at three times
// them. The keeper's steps are a half up to twice TANMaxGm3 and up to three
// times NO2NMaxGm3; the line meets that half at twice the limit, is kinder
// before it, and beyond it cuts nitrite more and ammonia less than the steps.
// Chloride below 0 or no number counts as none.
//
// Source: common practice, no source.
func (s *Species) FeedShareWater(c FeedCut, chlorideGm3 float64) float64 {
	if c.Stop {
		return 0
	}
	return min(s.FeedForTemp(c.TempC, c.PlanC), s.FeedForOxygen(c.DOGm3), s.FeedForAmmonia(c.NH3NGm3),
		line(c.TANGm3, 3*s.TANMaxGm3, s.TANMaxGm3),
		line(s.NitriteFeltGm3(c.NO2NGm3, chlorideGm3), 3*s.NO2NMaxGm3, s.NO2NMaxGm3), FeedAfterStop(c.DaysFed))
}
