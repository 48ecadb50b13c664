package reckoner

import (
	"errors"
	"fmt"
	"math"

	"tidebed/quantity"
	"tidebed/science/air"
	"tidebed/science/fabric"
	"tidebed/words"
)

// noCurtain is the choice of a house without one.
const noCurtain = "none"

func wkKey(name, what string, low float64, def string) Key {
	return Key{Name: name, What: what, Kind: quantity.Conductance, Low: low, High: 1e7, Required: def == "", Default: def}
}

func uValueKey(required bool) Key {
	return Key{Name: "u", What: "heat transmittance of the skin, films of air included", Kind: quantity.UValue, Low: 0.01, High: fabric.MostUWm2K, Required: required, Field: "uWm2K"}
}

func insideKey(what string) Key { return airTempKey("inside", what, -10, 50) }

func outsideKey(what string) Key { return airTempKey("outside", what, -60, 60) }

func roomVolumeKey(low float64) Key {
	return Key{Name: "volume", What: "air of the house", Kind: quantity.Volume, Low: low, High: 1e6, Required: true}
}

func airChangesKey(low float64) Key {
	return Key{Name: "air-changes", What: "air changes an hour; new house 0.5 to 1.5, old glass 1 to 4", Kind: quantity.PerTime, Unit: "1/h", BareUnit: "1/h", Low: low, High: 120, Required: true, Field: "airChangesH"}
}

// fabricEntries are the quick sums about the heat and damp of a house.
func fabricEntries() []Entry {
	glazed := fabric.CoverKeys(fabric.Glazing, fabric.Opaque)
	curtains := append([]string{noCurtain}, fabric.CoverKeys(fabric.Curtain)...)
	const ofDay = "Every figure is for planning: the maker's tested one replaces it."
	const record = "A typical year holds no record cold: run it once more at the record low, or 10 K below the coldest month's mean minimum."
	return []Entry{
		{
			Name: "heat-loss", Title: "Heat a house loses",
			Formula: "through the skin = area × U × (inside - outside); by leaks = 0.335 × air changes × volume × (inside - outside)",
			Keys: []Key{
				{Name: "area", What: "skin: roof and walls", Kind: quantity.Area, Low: 0, High: 1e5, Required: true},
				uValueKey(true), insideKey("air inside"), outsideKey("air outside"), roomVolumeKey(0), airChangesKey(0),
			},
			Outputs: []Output{
				{Name: "transmissionW", What: "through the skin", Unit: "W"},
				{Name: "infiltrationW", What: "by leaks", Unit: "W"},
				{Name: "totalW", What: "both; negative is a gain", Unit: "W"},
			},
			Sources:  []string{"ashrae-fundamentals", "asabe-ep406"},
			Cautions: []string{record, "The floor's edge is not in it: add 1.4 W per metre and kelvin where it is bare, half of that where it is insulated."},
			run:      runHeatLoss,
		},
		{
			Name: "tank-cooling", Title: "Hours until a tank has cooled",
			Formula: "hours = 1163 Wh/m3K × volume / UA × ln((water - air) / (limit - air))",
			Keys: []Key{
				{Name: "volume", What: "water", Kind: quantity.Volume, Low: 1e-4, High: 1e6, Required: true},
				wkKey("ua", "heat the tank gives the air per kelvin", 0, ""),
				airTempKey("water", "water now", 0, 60), airTempKey("air", "air round the tank, held as it is", -60, 60), airTempKey("limit", "temperature to wait for", 0, 60),
			},
			Outputs:  []Output{{Name: "hours", What: "until the water is at the limit; 0 when it is already, none when it never falls so far", Unit: "h"}},
			Sources:  []string{"ashrae-fundamentals"},
			Cautions: []string{"In a power cut oxygen fails before heat: ask oxygen-hours first."},
			run:      runTankCooling,
		},
		{
			Name: "cover-u", Title: "Heat through a cover in wind, with a curtain",
			Formula: "1/U in wind = 1/U - 1/(5.7 + 3.8 × 6.7) + 1/(5.7 + 3.8 × wind); with a curtain 1/U + its resistance",
			Keys: []Key{
				{Name: "cover", What: "cover of the table", Kind: Word, Choices: glazed},
				uValueKey(false),
				{Name: "wind", What: "wind on the cover; handbooks take 6.7 m/s", Kind: quantity.Speed, Low: 0, High: 40, Default: "6.7 m/s"},
				{Name: "curtain", What: "closed below it", Kind: Word, Choices: curtains, Default: noCurtain},
			},
			OneOf: [][]string{{"cover", "u"}},
			Outputs: []Output{
				{Name: "uWm2K", What: "heat transmittance", Unit: "W/m2K"},
				{Name: "uLowWm2K", What: "low end of the table's spans", Unit: "W/m2K", Optional: true},
				{Name: "uHighWm2K", What: "high end", Unit: "W/m2K", Optional: true},
				{Name: "savedShare", What: "what the curtain saves while it is closed", Optional: true},
			},
			Sources:  []string{"asabe-ep406", "mcadams-1954"},
			Cautions: []string{ofDay, "Leaky edges halve what a curtain saves: seal them first."},
			run:      runCoverU,
		},
		{
			Name: "heating-season", Title: "Heat of a season from monthly means",
			Formula: "base = set point - gains / UA; degree-days of each month by Erbs, Klein and Beckman from its mean and the spread of the twelve; heat = 24 × UA × degree-days / 1000",
			Keys: []Key{
				{Name: "means", What: "mean temperature of the months January to December, twelve with ; between", Kind: quantity.Temperature, Low: -60, High: 45, List: true, Required: true},
				{Name: "set", What: "set point, mean of day and night", Kind: quantity.Temperature, Low: -10, High: 45, Required: true},
				wkKey("ua", "heat the house loses per kelvin, leaks included", 0.1, ""),
				{Name: "gains", What: "mean heat of sun, lamps and people that stays inside", Kind: quantity.Power, BareUnit: "W", Low: 0, High: 1e7, Default: "0 W"},
			},
			Outputs: []Output{
				{Name: "baseC", What: "temperature outside below which heat is needed", Unit: "°C"},
				{Name: "degreeDays", What: "degree-days of the year below it", Unit: "K d"},
				{Name: "kWh", What: "heat of the year", Unit: "kWh"},
			},
			Sources:  []string{"erbs-1983", "duffie-beckman"},
			Cautions: []string{"Degree-days are 5 % too few in cold places and 12 % in mild ones: daily means hide cold nights."},
			run:      runHeatingSeason,
		},
		{
			Name: "heater-size", Title: "How large a heater",
			Formula: "outside = mean minimum of the coldest month - 2.5 × its standard deviation; output = UA × (inside - outside) × 1.15 to 1.25; or two of 60 % of the loss",
			Keys: []Key{
				wkKey("ua", "heat the house loses per kelvin, leaks included", 0.1, ""), insideKey("air inside, by night"),
				{Name: "outside", What: "design temperature, where it is known", Kind: quantity.Temperature, Low: -60, High: 40},
				{Name: "tmin", What: "mean daily minimum of the coldest month", Kind: quantity.Temperature, Low: -55, High: 40},
				{Name: "sd", What: "standard deviation of that month's minima: 6 K inland, 3 K by the sea", Kind: quantity.TempDifference, Low: 0, High: 20, Default: "6 K"},
			},
			OneOf: [][]string{{"outside", "tmin"}},
			Outputs: []Output{
				{Name: "designC", What: "temperature outside it is sized for", Unit: "°C"},
				{Name: "lossW", What: "loss at that temperature", Unit: "W"},
				{Name: "lowW", What: "output of the heater, low end", Unit: "W"},
				{Name: "highW", What: "high end", Unit: "W"},
				{Name: "eachOfTwoW", What: "output of each of two, which is better: one may fail", Unit: "W"},
			},
			Sources:  []string{"climate-normals", "heater-practice"},
			Cautions: []string{record, "Never run a burner without a flue inside: carbon monoxide kills without smell."},
			run:      runHeaterSize,
		},
		{
			Name: "condensation", Title: "Water on the inside of a cover",
			Formula: "cover = inside - U / inner film × (inside - outside); kg/h = 3600 × 3.5 / 1006 × (humidity ratio of the room - that of saturated air at the cover) × area",
			Keys: []Key{
				insideKey("air inside"), outsideKey("air outside"), humidityKey("rh", "relative humidity inside", true), uValueKey(true),
				{Name: "area", What: "cover", Kind: quantity.Area, Low: 0, High: 1e5, Default: "1 m2"},
				{Name: "film", What: "inner film of the cover; must be above u", Kind: quantity.UValue, Low: 0.5, High: 30, Default: "8 W/m2K", Field: "filmWm2K"},
				airPressureKey("101.325 kPa"),
			},
			Outputs: []Output{
				{Name: "coverC", What: "inner face of the cover", Unit: "°C"},
				{Name: "dewPointC", What: "dew point of the room", Unit: "°C"},
				{Name: "kgH", What: "water that condenses", Unit: "kg/h"},
			},
			Sources:  []string{"ashrae-fundamentals", "stanghellini-1987"},
			Cautions: []string{"Keep water off zinc and copper if it is to go back to the tanks: both kill fish."},
			run:      runCondensation,
		},
		{
			Name: "transpiration-inside", Title: "Water a crop gives off in a house",
			Formula: "latent heat = (Δ Rn + LAI × 1207 × deficit / ra) / (Δ + γ (1 + rs / ra)); Rn = 0.9 × light × (1 - exp(-0.7 LAI)); lettuce rs = 60 (1500 + flux) / (200 + flux)",
			Keys: []Key{
				airTempKey("temp", "air temperature", 0, 50), humidityKey("rh", "relative humidity", true),
				{Name: "lai", What: "leaf area over floor; full cover 3", Kind: quantity.Plain, Low: 0, High: 12, Required: true},
				{Name: "light", What: "shortwave light on the crop, sun and lamps", Kind: quantity.Irradiance, Low: 0, High: 1500, Required: true},
				{Name: "ppfd", What: "photon flux on the crop, for leaves like lettuce", Kind: quantity.PhotonFlux, Low: 0, High: 3000},
				{Name: "leaf-resistance", What: "of the leaves in s/m; tomato 82 at least", Kind: quantity.Plain, Low: 10, High: 5000},
				{Name: "air-resistance", What: "of the air round them in s/m; with fans 100, still 200 to 300", Kind: quantity.Plain, Low: 10, High: 1000, Default: "100"},
				airPressureKey("101.325 kPa"),
			},
			OneOf: [][]string{{"ppfd", "leaf-resistance"}},
			Outputs: []Output{
				{Name: "latentWm2", What: "heat that goes off with it, per floor", Unit: "W/m2"},
				{Name: "mmH", What: "water", Unit: "mm/h"},
				{Name: "lowMmH", What: "a quarter less", Unit: "mm/h"},
				{Name: "highMmH", What: "a quarter more: the forms differ by that much", Unit: "mm/h"},
			},
			Sources: []string{"stanghellini-1987", "graamans-2017"},
			run:     runTranspirationInside,
		},
		{
			Name: "vent-for-moisture", Title: "Ventilation that holds the humidity",
			Formula: "flow = water / (1.2 × (humidity ratio inside - outside)); heat = 1207 × flow × (inside - outside)",
			Keys: []Key{
				insideKey("air inside"), humidityKey("rh", "relative humidity to hold inside", true), outsideKey("air outside"), humidityKey("outside-rh", "relative humidity outside", true),
				{Name: "water", What: "water that leaves, beds and tanks give off", Kind: quantity.MassRate, Unit: "kg/h", Low: 0, High: 1e5, Required: true},
				airPressureKey("101.325 kPa"),
			},
			Outputs: []Output{
				{Name: "flowM3S", What: "outside air", Unit: "m3/s"},
				{Name: "heatW", What: "heat to warm it; negative cools", Unit: "W"},
			},
			Sources: []string{"ashrae-fundamentals"},
			run:     runVentForMoisture,
		},
		{
			Name: "pad-cooling", Title: "Air behind a wet pad",
			Formula: "behind = outside - efficiency × (outside - wet bulb), heat content kept; water = flow × density × change of the humidity ratio",
			Keys: []Key{
				airTempKey("temp", "air outside", 0, 60), humidityKey("rh", "relative humidity outside", true),
				{Name: "flow", What: "air drawn through the pad", Kind: quantity.Flow, Low: 0, High: 1000, Range: "0 to 1000 m3/s", Default: "1 m3/s"},
				{Name: "efficiency", What: "of the pad; clean 0.75 to 0.85, clogged 0.5", Kind: quantity.Share, Low: 0, High: 1, Default: "0.8"},
				airPressureKey("101.325 kPa"),
			},
			Outputs: []Output{
				{Name: "airC", What: "air behind the pad", Unit: "°C"},
				{Name: "rhShare", What: "its relative humidity"},
				{Name: "kgH", What: "water that evaporates; 10 to 20 % more is let off against scale", Unit: "kg/h"},
			},
			Sources:  []string{"ashrae-fundamentals", "pad-practice"},
			Cautions: []string{"Never let a pad with algicide drain to the fish."},
			run:      runPadCooling,
		},
		{
			Name: "frost-hours", Title: "Hours until frost when the heat stops",
			Formula: "rest = (UA × outside + tank UA × water) / (UA + tank UA); hours = air's heat / (UA + tank UA) × ln((inside - rest) / (limit - rest)); tanks taken as they are",
			Keys: []Key{
				insideKey("air inside now"), outsideKey("air outside"), airTempKey("water", "water of the tanks", 0, 60),
				roomVolumeKey(0.1), wkKey("ua", "heat the house loses per kelvin, leaks included", 0.01, ""), wkKey("tank-ua", "heat the tanks give the air per kelvin", 0, "0 W/K"),
				{Name: "air-times", What: "heat of air, frame and leaves over that of the air alone; 5 to 10, 1 for air alone", Kind: quantity.Plain, Low: 1, High: 30, Default: "5"},
				{Name: "limit", What: "air temperature to wait for; under film on clear nights act at 3 °C", Kind: quantity.Temperature, Low: -10, High: 30, Default: "0 °C"},
			},
			Outputs: []Output{
				{Name: "restC", What: "where the air comes to rest while the tanks are warm", Unit: "°C"},
				{Name: "hours", What: "until the air is at the limit; 0 when it is already, none when it does not fall so far", Unit: "h"},
			},
			Sources: []string{"ashrae-fundamentals", "heater-practice"},
			Cautions: []string{
				"Leaves freeze first: under film on clear nights they are 1 to 3 K colder than the air.",
				"In a power cut oxygen fails before heat: ask oxygen-hours first.",
			},
			run: runFrostHours,
		},
		{
			Name: "room-co2", Title: "Carbon dioxide of a room",
			Formula: "g/h = feed × oxygen per feed × 1.375 / 24 + 34 × people - taken by leaves; ppm = outside + 546.6 × g/h / (air changes × volume)",
			Keys: []Key{
				roomVolumeKey(0.1), airChangesKey(0),
				{Name: "feed", What: "dry feed a day to fish in the room", Kind: quantity.MassRate, Unit: "kg/d", Low: 0, High: 1e4, Default: "0 kg/d"},
				{Name: "oxygen-per-feed", What: "oxygen that fish and microbes use for a kg of feed, in kg; 0.3 to 0.5", Kind: quantity.Plain, Low: 0.1, High: 1, Default: "0.4"},
				{Name: "people", What: "people in the room", Kind: quantity.Count, Low: 0, High: 1000, Default: "0"},
				{Name: "leaves", What: "taken up by leaves; 1 to 3 g/h and m2 in light", Kind: quantity.MassRate, Unit: "g/h", Low: 0, High: 1e6, Default: "0 g/h"},
				{Name: "co2", What: "carbon dioxide of the air outside", Kind: quantity.Ratio, Unit: "ppm", BareUnit: "ppm", Low: 300, High: 2000, Default: "420"},
			},
			Outputs: []Output{
				{Name: "gH", What: "given off less taken up", Unit: "g/h"},
				{Name: "ppm", What: "at which the room rests", Unit: "ppm"},
			},
			Sources:  []string{"timmons-ebeling", "niosh"},
			Cautions: []string{"Leave a room above 5000 ppm, and never enrich one where people work without a sensor.", "No burner without a flue, not even to feed the leaves."},
			run:      runRoomCO2,
		},
	}
}

func runHeatLoss(in *inputs, out *answer) error {
	h := fabric.House{
		Parts:    []fabric.Part{{AreaM2: in.Number("area"), UWm2K: in.Number("u")}},
		VolumeM3: in.Number("volume"), AirChangesH: in.Number("air-changes"),
	}
	l, err := h.Loss(in.Number("inside"), in.Number("outside"))
	if err != nil {
		return err
	}
	if l.TotalW < 0 {
		out.Warn("It is warmer outside than inside: the house gains heat.")
	}
	if h.AirChangesH > 4 {
		out.Warn("More than 4 air changes an hour with the heat on: close vents and seal gaps first.")
	}
	out.Set("transmissionW", l.TransmissionW)
	out.Set("infiltrationW", l.InfiltrationW)
	out.Set("totalW", l.TotalW)
	return nil
}

func runTankCooling(in *inputs, out *answer) error {
	water, surround, limit := in.Number("water"), in.Number("air"), in.Number("limit")
	heat, err := fabric.WaterHeatJK(in.Number("volume"))
	if err != nil {
		return err
	}
	hours, reached := 0.0, water <= limit
	if ua := in.Number("ua"); !reached && ua > 0 {
		tau, err := fabric.TimeConstantH(heat, max(ua, 1e-9))
		if err != nil {
			return err
		}
		if hours, reached, err = fabric.CoolingH(tau, water, surround, limit); err != nil {
			return err
		}
	}
	if !reached {
		out.Null("hours")
		out.Warn("The water never falls to %g °C in air of %g °C%s.", limit, surround, map[bool]string{true: " with no loss"}[in.Number("ua") == 0])
		return nil
	}
	out.Set("hours", hours)
	return nil
}

func runCoverU(in *inputs, out *answer) error {
	u := fabric.Spread{Low: in.Number("u"), Typical: in.Number("u"), High: in.Number("u")}
	spans := in.Given("cover")
	if spans {
		c, err := fabric.LookupCover(in.Word("cover"))
		if err != nil {
			return err
		}
		u = c.UWm2K
		if c.Kind == fabric.Opaque && in.Word("curtain") != noCurtain {
			out.Warn("A curtain below an insulated wall saves little.")
		}
	} else if u.Typical < 1 {
		out.Warn("No clear cover is below 1 W/m2K: is that a resistance, or a wall?")
	}
	curtain := fabric.Spread{}
	closed := in.Word("curtain") != noCurtain
	if closed {
		c, err := fabric.LookupCover(in.Word("curtain"))
		if err != nil {
			return err
		}
		curtain = c.ResistanceM2KW
		spans = true
	}
	with := func(uWm2K, resistance float64) (bare, closed float64, err error) {
		if bare, err = fabric.UInWind(uWm2K, in.Number("wind")); err != nil {
			return 0, 0, err
		}
		if bare > fabric.MostUWm2K {
			return 0, 0, in.Refuse("wind", "In that wind the cover would pass %.1f W/m2K, beyond the %g reckoned with; take less wind.", bare, fabric.MostUWm2K)
		}
		closed, err = fabric.UWithCurtain(bare, resistance)
		return bare, closed, err
	}
	bare, typical, err := with(u.Typical, curtain.Typical)
	if err != nil {
		return err
	}
	out.Set("uWm2K", typical)
	if closed {
		out.Set("savedShare", 1-typical/bare)
	}
	if !spans {
		return nil
	}
	_, low, err := with(u.Low, curtain.High)
	if err != nil {
		return err
	}
	_, high, err := with(u.High, curtain.Low)
	if err != nil {
		return err
	}
	out.Set("uLowWm2K", low)
	out.Set("uHighWm2K", high)
	return nil
}

func runHeatingSeason(in *inputs, out *answer) error {
	list, _ := in.values["means"].([]float64)
	if len(list) != 12 {
		return in.Refuse("means", "Means needs twelve temperatures, January to December, with ; between. You entered %d.", len(list))
	}
	base, err := fabric.BalanceC(in.Number("set"), in.Number("gains"), in.Number("ua"))
	if err != nil {
		return err
	}
	if base < -200 {
		return in.Refuse("gains", "Gains of %g W over %g W/K would need no heat at %g °C; check both.", in.Number("gains"), in.Number("ua"), base)
	}
	_, days, err := fabric.YearDegreeDays(base, [12]float64(list))
	if err != nil {
		return err
	}
	days = max(0, days) // rounding leaves a few millionths below
	kWh, err := fabric.SeasonKWh(in.Number("ua"), days)
	if err != nil {
		return err
	}
	if base < 12 {
		out.Warn("Below a base of 12 °C these degree-days may be 15 %% off: sum the hours of a typical year where they are at hand.")
	}
	out.Set("baseC", base)
	out.Set("degreeDays", days)
	out.Set("kWh", kWh)
	return nil
}

func runHeaterSize(in *inputs, out *answer) error {
	design := in.Number("outside")
	if in.Given("tmin") {
		var minC, sdK [12]float64
		for m := range minC {
			minC[m], sdK[m] = in.Number("tmin"), in.Number("sd")
		}
		d, err := fabric.DesignC(minC, sdK)
		if err != nil {
			return err
		}
		design = d.SizingC
	}
	inside := in.Number("inside")
	if design >= inside {
		return in.Refuse("inside", "Inside must be above the design temperature, %.1f °C: otherwise no heater is needed.", design)
	}
	loss, err := fabric.HoldingW(in.Number("ua"), inside, max(design, fabric.LowestC))
	if err != nil {
		return err
	}
	if design < fabric.LowestC {
		return in.Refuse("tmin", "Tmin and sd give a design temperature of %.0f °C, colder than any place; check both.", design)
	}
	h, err := fabric.HeaterSize(loss)
	if err != nil {
		return err
	}
	out.Set("designC", design)
	out.Set("lossW", loss)
	out.Set("lowW", h.LowW)
	out.Set("highW", h.HighW)
	out.Set("eachOfTwoW", h.EachOfTwoW)
	return nil
}

func runCondensation(in *inputs, out *answer) error {
	if u, film := in.Number("u"), in.Number("film"); u >= film {
		return in.Refuse("u", "U must be below the inner film, %g W/m2K, which is a part of it. You entered %g W/m2K.", film, u)
	}
	room, err := air.FromRH(in.Number("inside"), in.Number("rh"), in.Number("pressure"))
	if err != nil {
		return err
	}
	face, err := fabric.InnerSurfaceC(in.Number("u"), in.Number("film"), in.Number("inside"), in.Number("outside"))
	if err != nil {
		return err
	}
	wet, err := air.CondensationKgM2H(room, face, air.CondensingFilmWm2K)
	if err != nil {
		return err
	}
	if wet > 0 && face < 0 {
		out.Warn("The cover is below 0 °C: it ices over, and thaws at once in the sun.")
	}
	out.Set("coverC", face)
	out.Set("kgH", wet*in.Number("area"))
	if math.IsNaN(room.DewPointC) {
		out.Null("dewPointC")
		out.Warn("Wholly dry air has no dew point.")
		return nil
	}
	out.Set("dewPointC", room.DewPointC)
	return nil
}

func runTranspirationInside(in *inputs, out *answer) error {
	stomata := in.Number("leaf-resistance")
	if in.Given("ppfd") {
		var err error
		if stomata, err = air.LettuceStomatalSM(in.Number("ppfd")); err != nil {
			return err
		}
	}
	net, err := air.CanopyNetWm2(in.Number("light"), in.Number("lai"), air.NetLightShare)
	if err != nil {
		return err
	}
	latent, err := air.Canopy{
		TempC: in.Number("temp"), RHShare: in.Number("rh"), PressureKPa: in.Number("pressure"), LeafAreaIndex: in.Number("lai"),
		NetWm2: net, StomatalSM: stomata, AerialSM: in.Number("air-resistance"),
	}.LatentWm2()
	if err != nil {
		return err
	}
	mm := air.LatentMmH(latent, in.Number("temp"))
	out.Set("latentWm2", latent)
	out.Set("mmH", mm)
	out.Set("lowMmH", mm*(1-air.TranspirationDoubt))
	out.Set("highMmH", mm*(1+air.TranspirationDoubt))
	return nil
}

func runVentForMoisture(in *inputs, out *answer) error {
	inside, err := air.FromRH(in.Number("inside"), in.Number("rh"), in.Number("pressure"))
	if err != nil {
		return err
	}
	outside, err := air.FromRH(in.Number("outside"), in.Number("outside-rh"), in.Number("pressure"))
	if err != nil {
		return in.Refuse("outside", "%s.", words.Capital(err.Error()))
	}
	v, err := air.VentForMoisture(inside, outside, in.Number("water"))
	if errors.Is(err, air.ErrMoisterOutside) {
		out.Null("flowM3S", "heatW")
		out.Warn("The air outside holds as much water as the air inside: no ventilation dries the room. Warm the air or take the water out.")
		return nil
	}
	if err != nil {
		return err
	}
	out.Set("flowM3S", v.FlowM3S)
	out.Set("heatW", v.HeatW)
	return nil
}

func runPadCooling(in *inputs, out *answer) error {
	outside, err := air.FromRH(in.Number("temp"), in.Number("rh"), in.Number("pressure"))
	if err != nil {
		return err
	}
	if outside.WetBulbC < 0 {
		return in.Refuse("temp", "The wet bulb of that air is %.1f °C: the pad would freeze.", outside.WetBulbC)
	}
	p, err := fabric.PadAir(outside, in.Number("efficiency"), in.Number("flow"))
	if err != nil {
		return err
	}
	if outside.TempC-p.Air.TempC < 4 {
		out.Warn("The pad cools by less than 4 K in air so moist; shade and more air do more.")
	}
	out.Set("airC", p.Air.TempC)
	out.Set("rhShare", p.Air.RHShare)
	out.Set("kgH", p.WaterKgH)
	return nil
}

func runFrostHours(in *inputs, out *answer) error {
	heat, err := fabric.AirHeatJK(in.Number("volume"), in.Number("air-times"))
	if err != nil {
		return err
	}
	c := fabric.Cut{
		AirC: in.Number("inside"), WaterC: in.Number("water"), OutsideC: in.Number("outside"),
		HouseWK: in.Number("ua"), TankWK: in.Number("tank-ua"), AirJK: heat, WaterJK: 1,
	}
	rest, err := c.AirRestC()
	if err != nil {
		return err
	}
	limit := in.Number("limit")
	left, err := c.AirTo(limit)
	if err != nil {
		return err
	}
	out.Set("restC", rest)
	if rest < limit+fabric.FrostAlarmC && limit == fabric.FrostC && rest >= limit {
		out.Warn("The air stays above frost by less than 3 K: leaves may still freeze.")
	}
	if !left.Reached {
		out.Null("hours")
		out.Warn("The warm tanks hold the air above %g °C while they stay at %g °C; ask tank-cooling for how long.", limit, c.WaterC)
		return nil
	}
	out.Set("hours", left.Hours)
	return nil
}

func runRoomCO2(in *inputs, out *answer) error {
	feed, err := fabric.FeedCO2GH(in.Number("feed"), in.Number("oxygen-per-feed"), 1)
	if err != nil {
		return err
	}
	g := feed + fabric.PersonCO2GH*in.Number("people") - in.Number("leaves")
	out.Set("gH", g)
	if in.Number("air-changes") == 0 {
		out.Null("ppm")
		out.Warn("Without any change of air the room never comes to rest; open something.")
		return nil
	}
	ppm, err := fabric.RoomCO2Ppm(in.Number("co2"), g, in.Number("volume"), in.Number("air-changes"))
	switch {
	case errors.Is(err, quantity.ErrRange) && g < 0:
		out.Null("ppm")
		out.Warn("The leaves would take more than the air brings: they starve and take less. Ventilate.")
		return nil
	case errors.Is(err, quantity.ErrRange):
		return in.Refuse("air-changes", "%s.", words.Capital(err.Error()))
	case err != nil:
		return fmt.Errorf("carbon dioxide: %w", err)
	}
	switch {
	case ppm > fabric.CO2DayPpm:
		out.Warn("Above 5000 ppm: leave the room and open it.")
	case ppm < fabric.LeafCO2LowPpm:
		out.Warn("Below 250 ppm leaves grow little: ventilate.")
	}
	out.Set("ppm", ppm)
	return nil
}
