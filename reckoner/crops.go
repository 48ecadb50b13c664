package reckoner

import (
	"tidebed/quantity"
	"tidebed/science/crop"
)

func cropKey() Key {
	return Key{Name: "crop", What: "crop of the table", Kind: Word, Choices: crop.Keys(), Required: true}
}

func growTempKey(name, what string) Key {
	return Key{Name: name, What: what, Kind: quantity.Temperature, Low: -20, High: 60, Required: true}
}

// cropEntries are the quick sums about crops.
func cropEntries() []Entry {
	return []Entry{
		{
			Name: "emergence", Title: "Days until a sown crop comes up",
			Formula: "days = thermal time / (temperature − base), both of the crop; no faster above 25 °C or the crop's best",
			Keys:    []Key{cropKey(), growTempKey("temp", "temperature of the ground, steady")},
			Outputs: []Output{{Name: "days", What: "days from sowing to emergence; none where nothing comes up", Unit: "d"}},
			Sources: []string{"harrington-1954", "crops-table"},
			run:     runEmergence,
		},
		{
			Name: "degree-days", Title: "Degree-days of a day",
			Formula: "mean of the day's highest and lowest temperature, each held within base and upper, less the base (mean method)",
			Keys: []Key{
				growTempKey("base", "temperature below which nothing develops"), growTempKey("upper", "temperature above which it goes no faster"),
				growTempKey("tmax", "highest of the day"), growTempKey("tmin", "lowest of the day"),
			},
			Outputs:  []Output{{Name: "degreeDays", What: "thermal time of the day", Unit: "°C d"}},
			Sources:  []string{"mcmaster-1997"},
			Cautions: []string{"Where the night is below the base or the day above the upper limit, hourly sums differ; plans use hours."},
			run:      runDegreeDays,
		},
		{
			Name: "stand-growth", Title: "Dry matter of a stand after some days",
			Formula: "W = ln(1 + (exp(q·W0) − 1)·exp(q·rate·days))/q: growth is the closed stand's times 1 − exp(−q·W)",
			Keys: []Key{
				{Name: "w0", What: "dry matter at the start", Kind: quantity.AreaMass, Unit: "g/m2", Low: 0.001, High: 20000, Required: true},
				{Name: "q", What: "how fast the stand closes", Kind: quantity.AreaPerMass, BareUnit: "m2/g", Low: 1e-6, High: 1, Required: true},
				{Name: "growth-rate", What: "growth of the closed stand", Kind: quantity.AreaMassRate, Unit: "g/m2/d", Low: 0, High: 150, Required: true},
				{Name: "days", What: "days of growth", Kind: quantity.Duration, Unit: "d", BareUnit: "d", Low: 0, High: 3650, Required: true, Field: "days"},
			},
			Outputs: []Output{{Name: "wGM2", What: "dry matter at the end", Unit: "g/m²"}},
			Sources: []string{"goudriaan-1990"},
			run: func(in *inputs, out *answer) error {
				out.Set("wGM2", crop.StandGrowth(in.Number("w0"), in.Number("q"), in.Number("growth-rate")*in.Number("days")))
				return nil
			},
		},
		{
			Name: "lettuce-days", Title: "Days from seed to a head of lettuce",
			Formula: "stand growth with q 0.028 from 0.04 g dry matter a plant on day 11 at 97 plants/m², 38 from day 21; closed stand by light × temperature × carbon dioxide; head 0.90 of the dry matter, 4.5 % dry",
			Keys: []Key{
				{Name: "dli", What: "light on the leaves in a day", Kind: quantity.LightSum, Low: 0, High: crop.MostDLIMolM2, Required: true},
				growTempKey("temp", "air temperature, mean of the day"),
				{Name: "co2", What: "carbon dioxide in the air", Kind: quantity.Ratio, Unit: "ppm", BareUnit: "ppm", Low: 100, High: 20000, Default: "400"},
				{Name: "mass", What: "fresh mass of the head", Kind: quantity.Mass, Unit: "g", Low: 1, High: 1000, Default: "150 g"},
			},
			Outputs:  []Output{{Name: "daysFromSeed", What: "days from sowing; none where nothing grows", Unit: "d"}},
			Sources:  []string{"cornell-cea", "closed-stand", "goudriaan-1990", "goudriaan-beta"},
			Cautions: []string{"The bench's 35 days were reached with carbon dioxide fed at 1000 ppm and more."},
			run:      runLettuceDays,
		},
		{
			Name: "feed-for-beds", Title: "Fish feed whose nitrogen covers a bed",
			Formula: "feed = harvest × nitrogen of the harvest / (0.16 × protein × share of the feed's nitrogen that reaches plants)",
			Keys: []Key{
				{Name: "harvest", What: "fresh harvest of the bed", Kind: quantity.AreaMassRate, Unit: "g/m2/d", Low: 0, High: 2000, Required: true},
				{Name: "nitrogen", What: "grams of nitrogen in a kg of fresh harvest, the whole crop", Kind: quantity.Plain, Low: 0, High: 50, Required: true},
				{Name: "protein", What: "protein in the feed", Kind: quantity.Share, Low: 0.05, High: 0.7, Required: true},
				{Name: "reaches", What: "share of the feed's nitrogen that reaches plants", Kind: quantity.Share, Low: 0.05, High: 1, Default: "45 %"},
			},
			Outputs:  []Output{{Name: "feedGM2Day", What: "feed per m² of bed and day", Unit: "g/m²/d"}},
			Sources:  []string{"ne-veg-guide"},
			Cautions: []string{"Feed carries too little potassium, calcium and iron: they are added by hand."},
			run:      runFeedForBeds,
		},
		{
			Name: "crop-keeping", Title: "How long a harvest keeps",
			Formula: "storage life of the table, halved for each 8 °C above its best store temperature",
			Keys:    []Key{cropKey(), growTempKey("temp", "temperature of the store")},
			Outputs: []Output{{Name: "days", What: "days it keeps; 0 frozen", Unit: "d"}},
			Sources: []string{"uc-davis", "crops-table"},
			run:     runCropKeeping,
		},
	}
}

func lookupCrop(in *inputs) (crop.Crop, error) {
	c, err := crop.Lookup(in.Word("crop"))
	if err != nil {
		return c, in.Refuse("crop", "Crop: %s.", err)
	}
	return c, nil
}

func runEmergence(in *inputs, out *answer) error {
	c, err := lookupCrop(in)
	if err != nil {
		return err
	}
	tempC := in.Number("temp")
	days, ok := c.EmergenceDays(tempC)
	if !ok {
		if !c.GermDays.Known {
			out.Warn("%s is not sown: it is set as %s.", c.Name, c.Propagation)
		} else {
			out.Warn("%s does not come up at %g °C.", c.Name, tempC)
		}
		out.Null("days")
		return nil
	}
	switch {
	case tempC < 8:
		out.Warn("Below 8 °C seed takes longer than this.")
	case c.GermBaseC.Known && tempC < c.GermBaseC.Amount+3:
		out.Warn("Within 3 °C of the base, %g °C, the days are less sure.", c.GermBaseC.Amount)
	}
	out.Set("days", days)
	return nil
}

func runDegreeDays(in *inputs, out *answer) error {
	base, upper, tmax, tmin := in.Number("base"), in.Number("upper"), in.Number("tmax"), in.Number("tmin")
	switch {
	case base >= upper:
		return in.Refuse("upper", "Upper must be above the base, %g °C. You entered %g °C.", base, upper)
	case tmax < tmin:
		return in.Refuse("tmax", "Tmax must be at least tmin, %g °C. You entered %g °C.", tmin, tmax)
	}
	out.Set("degreeDays", crop.DegreeDaysMean(tmax, tmin, base, upper))
	return nil
}

func runLettuceDays(in *inputs, out *answer) error {
	dli, tempC, ppm := in.Number("dli"), in.Number("temp"), in.Number("co2")
	days, ok, err := crop.LettuceDays(dli, tempC, ppm, in.Number("mass"))
	if err != nil {
		return err
	}
	c, err := crop.Lookup("lettuce_butterhead")
	if err != nil {
		return err
	}
	for _, w := range c.Warnings(crop.Conditions{MonthMeanC: tempC, DLIMolM2: dli, CO2PPM: ppm}) {
		out.Warn("%s", w)
	}
	if !ok {
		out.Warn("Lettuce does not grow at %g °C in %g mol/m² of light a day.", tempC, dli)
		out.Null("daysFromSeed")
		return nil
	}
	out.Set("daysFromSeed", days)
	return nil
}

func runFeedForBeds(in *inputs, out *answer) error {
	feed, err := crop.FeedForPlants(in.Number("harvest"), in.Number("nitrogen"), in.Number("protein"), in.Number("reaches"))
	if err != nil {
		return err
	}
	if feed > 0 && (feed < 10 || feed > 100) {
		out.Warn("Beds usually get 10 to 100 g of feed per m² and day.")
	}
	out.Set("feedGM2Day", feed)
	return nil
}

func runCropKeeping(in *inputs, out *answer) error {
	c, err := lookupCrop(in)
	if err != nil {
		return err
	}
	tempC := in.Number("temp")
	if c.ChillSensitive && tempC < 8 {
		out.Warn("%s is hurt by cold: store it at %g °C.", c.Name, c.StorageTempC)
	}
	out.Set("days", c.KeepsDays(tempC))
	return nil
}
