package reckoner

import (
	"math"
	"time"

	"tidebed/quantity"
	"tidebed/science/air"
	"tidebed/science/sun"
	"tidebed/words"
)

func latitudeKey() Key {
	return Key{Name: "latitude", What: "latitude, north positive", Kind: quantity.Angle, BareUnit: "deg", Low: -90, High: 90, Required: true}
}

func airTempKey(name, what string, lowC, highC float64) Key {
	return Key{Name: name, What: what, Kind: quantity.Temperature, Low: lowC, High: highC, Required: true}
}

func humidityKey(name, what string, required bool) Key {
	return Key{Name: name, What: what, Kind: quantity.Share, Low: 0, High: 1, Range: "0 % to 100 %", NoBare: true, Required: required}
}

func airPressureKey(def string) Key {
	return Key{Name: "pressure", What: "air pressure at the place", Kind: quantity.Pressure, Unit: "kPa", Low: air.LowestKPa, High: air.HighestKPa, Default: def}
}

func elevationKey(def string) Key {
	return Key{Name: "elevation", What: "height above the sea", Kind: quantity.Length, Low: -500, High: 6000, Default: def, Required: def == ""}
}

// lightEntries are the quick sums about sun, air and lamps.
func lightEntries() []Entry {
	hoursOfLight := Key{Name: "hours", What: "hours of light a day", Kind: quantity.Duration, Unit: "h", BareUnit: "h", Low: 0, High: 24, Required: true, Field: "hours"}
	return []Entry{
		{
			Name: "sun-position", Title: "Where the sun stands",
			Formula: "declination and equation of time from the sun's mean longitude and anomaly; zenith from latitude, declination and hour angle; the apparent one less the air's refraction",
			Keys: []Key{
				latitudeKey(),
				{Name: "longitude", What: "longitude, east positive", Kind: quantity.Angle, BareUnit: "deg", Low: -180, High: 180, Required: true},
				{Name: "time", What: "time with its offset from UTC, 1900 to 2100", Kind: Time, Required: true, Field: "time"},
				elevationKey("0 m"), airPressureKey(""),
				{Name: "temp", What: "air temperature, for refraction", Kind: quantity.Temperature, Low: -90, High: 60, Default: "15 °C"},
			},
			Outputs: []Output{
				{Name: "zenithDeg", What: "angle from straight up to the sun's centre, true", Unit: "°"},
				{Name: "apparentZenithDeg", What: "the same as seen through the air; true below −0.83° of elevation", Unit: "°"},
				{Name: "azimuthDeg", What: "direction from north clockwise", Unit: "°"},
			},
			Sources: []string{"meeus-1998", "reda-2004"},
			run:     runSunPosition,
		},
		{
			Name: "extraterrestrial", Title: "Radiation above the air and length of a day",
			Formula: "Ra = 24 · 60 / π · 0.0820 · dr · (ws sin φ sin δ + cos φ cos δ sin ws); day = 24 ws / π",
			Keys:    []Key{latitudeKey(), {Name: "date", What: "day", Kind: Date, Required: true}},
			Outputs: []Output{
				{Name: "raMjM2", What: "radiation above the air on the level", Unit: "MJ/m2/d"},
				{Name: "dayHours", What: "from sunrise to sunset without refraction; 0 in polar night, 24 in polar day", Unit: "h"},
			},
			Sources: []string{"fao-56"},
			run:     runExtraterrestrial,
		},
		{
			Name: "vapour-pressure", Title: "Vapour pressure of saturated air",
			Formula: "logarithm of the pressure as a series in the absolute temperature; over ice below 0 °C",
			Keys:    []Key{airTempKey("temp", "air temperature", air.LowestTempC, air.HighestTempC)},
			Outputs: []Output{{Name: "esKPa", What: "saturation pressure of water vapour", Unit: "kPa"}},
			Sources: []string{"hyland-wexler-1983", "ashrae-fundamentals"},
			run: func(in *inputs, out *answer) error {
				es, err := air.SaturationPressure(in.Number("temp"))
				out.Set("esKPa", es)
				return err
			},
		},
		{
			Name: "moist-air", Title: "What moist air holds",
			Formula: "W = 0.621945 e / (P − e); h = 1.006 t + W (2501 + 1.86 t); dew point and wet bulb by halving the interval",
			Keys: []Key{
				airTempKey("temp", "air temperature", air.LowestTempC, air.HighestTempC),
				humidityKey("rh", "relative humidity", false),
				{Name: "wet-bulb", What: "wet-bulb temperature", Kind: quantity.Temperature, Low: air.LowestTempC, High: air.HighestTempC},
				{Name: "dew-point", What: "dew point", Kind: quantity.Temperature, Low: -100, High: air.HighestTempC},
				airPressureKey("101.325 kPa"),
			},
			OneOf: [][]string{{"rh", "wet-bulb", "dew-point"}},
			Outputs: []Output{
				{Name: "humidityRatio", What: "water to dry air", Unit: "kg/kg"},
				{Name: "dewPointC", What: "dew point, frost point below 0 °C; none in wholly dry air", Unit: "°C"},
				{Name: "wetBulbC", What: "wet-bulb temperature", Unit: "°C"},
				{Name: "enthalpyKJkg", What: "heat content to 0 °C, for dry air with its water", Unit: "kJ/kg"},
			},
			Sources: []string{"hyland-wexler-1983", "ashrae-fundamentals"},
			run:     runMoistAir,
		},
		{
			Name: "reference-et", Title: "Evapotranspiration of short grass outdoors",
			Formula: "Penman and Monteith for grass: (0.408 Δ Rn + γ 900 / (T + 273) u2 (es − ea)) / (Δ + γ (1 + 0.34 u2))",
			Keys: []Key{
				latitudeKey(), elevationKey(""), {Name: "date", What: "day", Kind: Date, Required: true},
				airTempKey("tmax", "highest temperature of the day", -40, 60), airTempKey("tmin", "lowest temperature of the day", -40, 60),
				humidityKey("rh-max", "highest relative humidity of the day", false), humidityKey("rh-min", "lowest relative humidity of the day", false),
				{Name: "vapour-pressure", What: "vapour pressure of the day", Kind: quantity.Pressure, Unit: "kPa", Low: 0, High: 20},
				{Name: "wind", What: "mean wind at 2 m", Kind: quantity.Speed, Low: 0, High: 40, Required: true},
				{Name: "sun-hours", What: "hours of bright sunshine", Kind: quantity.Duration, Unit: "h", BareUnit: "h", Low: 0, High: 24, Field: "sunHours"},
				{Name: "radiation", What: "global radiation of the day", Kind: quantity.Radiation, Unit: "MJ/m2", Low: 0, High: 50},
			},
			OneOf: [][]string{{"rh-max", "vapour-pressure"}, {"sun-hours", "radiation"}},
			Outputs: []Output{
				{Name: "et0MmDay", What: "water that short, well-watered grass gives off", Unit: "mm/d"},
				{Name: "rnMjM2", What: "net radiation", Unit: "MJ/m2/d"},
			},
			Sources:  []string{"fao-56"},
			Cautions: []string{"For outdoors: inside a house there is little wind, and this sum does not hold."},
			run:      runReferenceET,
		},
		{
			Name: "pool-evaporation", Title: "Water an open tank loses",
			Formula: "w = A (pw − pa) (0.089 + 0.0782 V) · activity / latent heat; pressures in kPa, w in kg/s",
			Keys: []Key{
				airTempKey("temp", "water temperature", 0, 60), airTempKey("air-temp", "air temperature of the room", -30, 60),
				humidityKey("rh", "relative humidity of the room", true),
				{Name: "area", What: "open water", Kind: quantity.Area, Low: 0, High: 1e5, Required: true},
				{Name: "activity", What: "0.5 quiet tank, 1 aerated, 1.5 spray", Kind: quantity.Plain, Low: 0.1, High: 3, Default: "1"},
				{Name: "air-speed", What: "air over the water", Kind: quantity.Speed, Low: 0, High: 5, Default: "0.1 m/s"},
			},
			Outputs: []Output{{Name: "kgH", What: "water that evaporates; negative condenses into the tank", Unit: "kg/h"}},
			Sources: []string{"ashrae-pool"},
			run: func(in *inputs, out *answer) error {
				kgH, err := air.PoolEvaporation(in.Number("temp"), in.Number("air-temp"), in.Number("rh"), in.Number("area"), in.Number("activity"), in.Number("air-speed"))
				if kgH < 0 {
					out.Warn("The room's air is moister than the water's surface: water condenses into the tank and warms it.")
				}
				out.Set("kgH", kgH)
				return err
			},
		},
		{
			Name: "lamp-light", Title: "Light that lamps give in a day", Formula: "photons = flux × 3600 × hours / 1 000 000",
			Keys: []Key{
				{Name: "ppfd", What: "photon flux on the crop", Kind: quantity.PhotonFlux, Low: 0, High: 5000, Required: true}, hoursOfLight,
			},
			Outputs: []Output{{Name: "dliMolM2", What: "light of the day", Unit: "mol/m2/d"}},
			Sources: []string{"thimijan-heins-1983"},
			run: func(in *inputs, out *answer) error {
				mol, err := sun.LampMolM2(in.Number("ppfd"), in.Number("hours"))
				out.Set("dliMolM2", mol)
				return err
			},
		},
		{
			Name: "lamp-energy", Title: "Electricity for lamp light", Formula: "kWh = light × area / (efficacy × share used) / 3.6; all of it ends as heat",
			Keys: []Key{
				{Name: "dli", What: "light the lamps add in a day", Kind: quantity.LightSum, Low: 0, High: 100, Required: true},
				{Name: "efficacy", What: "photons out per joule of electricity; good LED 2.8", Kind: quantity.Efficacy, Low: 0.1, High: sun.MaxEfficacyUmolJ, Required: true},
				{Name: "area", What: "area lit", Kind: quantity.Area, Low: 0, High: 1e5, Required: true},
				{Name: "use-share", What: "share of the light that lands on the crop", Kind: quantity.Share, Low: 0.05, High: 1, Default: "0.85"},
			},
			Outputs: []Output{{Name: "kWhDay", What: "electric energy", Unit: "kWh/d"}},
			Sources: []string{"nelson-bugbee-2014", "kusuma-2020"},
			run: func(in *inputs, out *answer) error {
				kWh, err := sun.LampKWh(in.Number("dli"), in.Number("efficacy"), in.Number("area"), in.Number("use-share"))
				out.Set("kWhDay", kWh)
				return err
			},
		},
		{
			Name: "sun-to-light", Title: "Light inside from the sun outside", Formula: "photons = 2.06 mol/MJ × global radiation × share the house lets through",
			Keys: []Key{
				{Name: "radiation", What: "global radiation of the day outside", Kind: quantity.Radiation, Unit: "MJ/m2", Low: 0, High: 50, Required: true},
				{Name: "transmission", What: "share of the light the whole house lets through", Kind: quantity.Share, Low: 0, High: 1, Required: true},
			},
			Outputs: []Output{{Name: "dliMolM2", What: "light of the day inside", Unit: "mol/m2/d"}},
			Sources: []string{"thimijan-heins-1983"},
			run: func(in *inputs, out *answer) error {
				mol, err := sun.InsideMolM2(in.Number("radiation"), in.Number("transmission"))
				out.Set("dliMolM2", mol)
				return err
			},
		},
	}
}

// moment returns the time or date of a key.
func (in *inputs) moment(key string) time.Time { t, _ := in.values[key].(time.Time); return t }

func runSunPosition(in *inputs, out *answer) error {
	at := in.moment("time")
	if y := at.UTC().Year(); y < 1900 || y > 2100 {
		return in.Refuse("time", "Time must lie in the years 1900 to 2100. You entered the year %d.", y)
	}
	kPa := in.Number("pressure")
	if !in.Given("pressure") {
		var err error
		if kPa, err = air.PressureKPa(in.Number("elevation")); err != nil {
			return err
		}
	}
	p, err := sun.At(at, in.Number("latitude"), in.Number("longitude"), kPa, in.Number("temp"))
	if err != nil {
		return err
	}
	out.Set("zenithDeg", p.ZenithDeg)
	out.Set("apparentZenithDeg", p.ApparentZenithDeg)
	out.Set("azimuthDeg", p.AzimuthDeg)
	return nil
}

func runExtraterrestrial(in *inputs, out *answer) error {
	o, err := sun.Extraterrestrial(in.Number("latitude"), in.moment("date").YearDay())
	if err != nil {
		return err
	}
	switch {
	case o.SunsetRad == 0:
		out.Warn("Polar night: the sun does not rise that day.")
	case o.SunsetRad == math.Pi:
		out.Warn("Polar day: the sun does not set that day.")
	}
	out.Set("raMjM2", o.RaMJm2)
	out.Set("dayHours", o.DayLengthH)
	return nil
}

func runMoistAir(in *inputs, out *answer) error {
	tempC, kPa := in.Number("temp"), in.Number("pressure")
	var m air.Moist
	var err error
	field := "rh"
	switch {
	case in.Given("wet-bulb"):
		field = "wet-bulb"
		m, err = air.FromWetBulb(tempC, in.Number(field), kPa)
	case in.Given("dew-point"):
		field = "dew-point"
		if dew := in.Number(field); dew > tempC {
			return in.Refuse(field, "Dew-point must be at most the air's %g °C. You entered %g °C.", tempC, dew)
		}
		m, err = air.FromDewPoint(tempC, in.Number(field), kPa)
	default:
		m, err = air.FromRH(tempC, in.Number(field), kPa)
	}
	if err != nil {
		return in.Refuse(field, "%s.", words.Capital(err.Error()))
	}
	out.Set("humidityRatio", m.HumidityRatio)
	out.Set("wetBulbC", m.WetBulbC)
	out.Set("enthalpyKJkg", m.EnthalpyKJkg)
	if math.IsNaN(m.DewPointC) {
		out.Null("dewPointC")
		out.Warn("Wholly dry air has no dew point.")
		return nil
	}
	out.Set("dewPointC", m.DewPointC)
	return nil
}

func runReferenceET(in *inputs, out *answer) error {
	d := air.ETDay{
		LatitudeDeg: in.Number("latitude"), ElevationM: in.Number("elevation"), DayOfYear: in.moment("date").YearDay(),
		TmaxC: in.Number("tmax"), TminC: in.Number("tmin"), VapourKPa: in.Number("vapour-pressure"),
		WindMS: in.Number("wind"), RadiationMJm2: in.Number("radiation"),
	}
	if d.TminC > d.TmaxC {
		return in.Refuse("tmin", "Tmin must be at most tmax, %g °C. You entered %g °C.", d.TmaxC, d.TminC)
	}
	o, err := sun.Extraterrestrial(d.LatitudeDeg, d.DayOfYear)
	if err != nil {
		return err
	}
	switch {
	case in.Given("rh-max") != in.Given("rh-min"):
		return in.Refuse("rh-min", "Rh-max and rh-min go together, and neither goes with vapour-pressure.")
	case in.Given("rh-max"):
		if high, low := in.Number("rh-max"), in.Number("rh-min"); low > high {
			return in.Refuse("rh-min", "Rh-min must be at most rh-max, %g %%. You entered %g %%.", 100*high, 100*low)
		}
		if d.VapourKPa, err = air.VapourFromRHFAO(d.TmaxC, d.TminC, in.Number("rh-max"), in.Number("rh-min")); err != nil {
			return err
		}
	default:
		if most := air.SaturationFAO(d.TmaxC); d.VapourKPa > most {
			return in.Refuse("vapour-pressure", "Vapour-pressure must be at most that of saturated air at tmax, %.2f kPa. You entered %g kPa.", most, d.VapourKPa)
		}
		if es := air.MeanSaturationFAO(d.TmaxC, d.TminC); d.VapourKPa > es {
			out.Warn("The vapour pressure is above the mean saturation pressure of the day, %.2f kPa: fog, or a wrong unit.", es)
		}
	}
	if in.Given("sun-hours") {
		if n := in.Number("sun-hours"); n > o.DayLengthH {
			return in.Refuse("sun-hours", "Sun-hours must be at most the day's length, %.2f h. You entered %g h.", o.DayLengthH, n)
		}
		if d.RadiationMJm2, err = sun.FromSunHours(o, in.Number("sun-hours")); err != nil {
			return err
		}
	}
	if d.RadiationMJm2 > o.RaMJm2 {
		return in.Refuse("radiation", "Radiation must be at most that above the air, %.2f MJ/m2 that day. You entered %g MJ/m2.", o.RaMJm2, d.RadiationMJm2)
	}
	r, err := air.ReferenceET(d)
	if err != nil {
		return err
	}
	if d.RadiationMJm2 > 1.05*r.RsoMJm2 {
		out.Warn("The radiation is more than 5 %% above that of a clear sky, %.2f MJ/m2: is it in another unit?", r.RsoMJm2)
	}
	out.Set("et0MmDay", r.ET0MmDay)
	out.Set("rnMjM2", r.RnMJm2)
	return nil
}
