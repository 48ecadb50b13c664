package crop

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// frostC is where harvested leaves and roots freeze.
const frostC = -0.5

// chillC is the store temperature below which crops of ChillSensitive spoil.
const chillC = 8

// KeepsDays returns how long a fresh harvest keeps at tempC: StorageLifeDays
// at StorageTempC, half as long for each 8 °C above (common practice), no
// longer below it. Frozen it keeps 0 days, as does NaN. A chill-sensitive crop
// more than 4 °C below its own store temperature and below 8 °C keeps half.
func (c *Crop) KeepsDays(tempC float64) float64 {
	if !(tempC > frostC) {
		return 0
	}
	life := float64(c.StorageLifeDays) * math.Exp2(-max(0, tempC-c.StorageTempC)/8)
	if c.ChillSensitive && tempC < chillC && tempC < c.StorageTempC-4 {
		life /= 2
	}
	return life
}

// RipeDays returns how long a ripe crop waits in its bed at tempC:
// HarvestWindowDays at 20 °C, twice as long at 10 °C (common practice).
func (c *Crop) RipeDays(tempC float64) float64 {
	return float64(c.HarvestWindowDays) / goingOver(tempC)
}

// boltsLongDay gives the day length in hours from which a crop runs to seed,
// from memory; lettuce only when it is also warm.
func (c *Crop) boltsLongDay() (hours float64, ok bool) {
	switch {
	case !strings.HasPrefix(c.PhotoperiodResponse, "long-day bolts"):
		return 0, false
	case c.Key == "spinach":
		return 13, true
	case strings.Contains(c.PhotoperiodResponse, "after cold"):
		return 0, false
	}
	return 14, true
}

// Conditions are what a bed meets in a month. MonthMeanC must be given; of the
// others 0, or an empty BedKind, means not asked.
type Conditions struct {
	MonthMeanC float64
	DayLengthH float64 // with lamps brighter than about 5 µmol/m²/s
	DLIMolM2   float64
	CO2PPM     float64
	WaterC     float64
	BedKind    string // one of BedKinds
}

// Warnings returns sentences about quality, bolting and harm for a month's
// conditions. They warn only: growth is told by TemperatureFactor.
//
// Source: knott-1997 for temperatures of quality; fao-589 for lettuce above
// 24 °C; day lengths from memory; the rest common practice.
func (c *Crop) Warnings(at Conditions) []string {
	var out []string
	say := func(format string, args ...any) {
		out = append(out, c.Name+": "+fmt.Sprintf(format, args...)+".")
	}
	t := at.MonthMeanC
	switch {
	case t < c.SurviveMinC:
		say("plants die below %g °C, and the month's mean is %g °C", c.SurviveMinC, t)
	case c.QualityMinC.Known && t < c.QualityMinC.Amount:
		say("a month of %.0f °C is too cold for good quality, which asks for at least %g °C", t, c.QualityMinC.Amount)
	}
	if c.QualityMaxC.Known && t > c.QualityMaxC.Amount {
		say("a month of %.0f °C is too warm for good quality (at most %g °C): bitter leaves, poor fruit set", t, c.QualityMaxC.Amount)
	}
	bolts := false
	if hours, ok := c.boltsLongDay(); ok && at.DayLengthH > hours {
		switch {
		case !strings.HasPrefix(c.Key, "lettuce"):
			bolts = true
			say("runs to seed in days longer than %g h; these have %.1f h", hours, at.DayLengthH)
		case t > 24:
			say("runs to seed in long days above 24 °C; these have %.1f h and %g °C", at.DayLengthH, t)
		}
	}
	if c.Vernalises == "required" && t > 10 {
		say("needs 6 to 8 weeks below 10 °C before it makes bulbs")
	}
	if at.DayLengthH > c.PhotoperiodMaxH && !bolts {
		say("more than %g h of light a day harm it; these have %.1f h", c.PhotoperiodMaxH, at.DayLengthH)
	}
	switch d := at.DLIMolM2; {
	case d > 0 && d < c.DLIMin:
		say("%.3g mol/m² of light a day is too little to be worth planting: it asks for %g", d, c.DLIMin)
	case d > 1.4*c.DLIOpt:
		say("%.3g mol/m² of light a day is far above its best, %g: tip burn, bleached leaves", d, c.DLIOpt)
	}
	switch {
	case at.CO2PPM > 0 && at.CO2PPM < 300:
		say("air of %g ppm carbon dioxide starves it: open a vent", at.CO2PPM)
	case at.CO2PPM > 5000:
		say("air of %g ppm carbon dioxide is above the 8-hour limit for people, 5000 ppm", at.CO2PPM)
	case at.CO2PPM > 1500:
		say("carbon dioxide above 1500 ppm brings no more growth; the air has %g", at.CO2PPM)
	}
	if at.WaterC != 0 {
		if at.WaterC < 15 && slices.Contains([]string{"basil", "cucumber", "okra"}, c.Key) {
			say("its roots stand still in water of %g °C: keep 15 °C or more", at.WaterC)
		}
		if at.WaterC > 25 && c.Group == "leafy" && c.TempBaseC < 8 {
			say("roots of leaf crops rot in water above 25 °C; this has %g °C", at.WaterC)
		}
	}
	switch at.BedKind {
	case "raft", "tower":
		if c.NeedsSupport != "no" && c.Group == "fruiting" {
			say("needs support that a %s does not give", at.BedKind)
		}
	case "media":
		if c.Group == "root_staple" && c.Suits("media") != Yes {
			say("roots grow crooked among stones and are lifted with trouble")
		}
	}
	return out
}

// ColdLimit returns how many days of cold set a crop flowering, and below which
// daily mean a day counts; ok is false for crops that cold does not trouble.
// Seedling crops count from sowing (wurr-1996), others after their youth.
//
// Source: wien-1997 (from memory); wurr-1996 as quoted.
func (c *Crop) ColdLimit() (days int, belowC float64, ok bool) {
	switch {
	case c.Vernalises == "seedling":
		return 10, 13, true
	case c.Vernalises != "yes":
		return 0, 0, false
	case slices.Contains([]string{"beetroot", "chard", "celery", "endive"}, c.Key):
		return 14, 10, true
	}
	return 28, 10, true
}

// ColdDay returns what a day counts towards ColdLimit: 1 when its mean lies in
// the cold, half when its warmest hour, above 18 °C, undoes part, else 0. For
// all but seedling crops a mean below 0 °C counts nothing.
func (c *Crop) ColdDay(meanC, maxC float64) float64 {
	_, belowC, ok := c.ColdLimit()
	if !ok || !(meanC < belowC) || meanC < 0 && c.Vernalises != "seedling" {
		return 0
	}
	if maxC > 18 {
		return 0.5
	}
	return 1
}
