package evidence

import (
	"context"
	"fmt"
	"maps"
	"math"
	"strings"
	"time"

	"tidebed/climate"
	"tidebed/science/air"
	"tidebed/science/sun"
)

func init() {
	maps.Copy(functions, map[string]function{
		"sun-day":            lightFigures(sunDay),
		"sun-hour-share":     lightFigures(sunHourShare),
		"sunshine-radiation": lightFigures(sunshine),
		"range-radiation":    lightFigures(fromRange),
		"clear-sky":          lightFigures(clearSky),
		"diffuse-hour":       lightFigures(func(n lightInputs) (float64, error) { return sun.DiffuseShareHour(n["clearness"]), nil }),
		"tilted":             lightFigures(tilted),
		"pane-light":         lightFigures(func(n lightInputs) (float64, error) { return sun.Transmission(n["angle"], n["index"], n["kl"]) }),
		"pane-reflection":    lightFigures(func(n lightInputs) (float64, error) { return sun.Reflection(n["angle"], n["index"]) }),
		"sun-event":          sunEvent,
		"air-fao":            airFAO,
		"net-longwave": lightFigures(func(n lightInputs) (float64, error) {
			return air.NetLongwaveFAO(n["tmax"], n["tmin"], n["ea"], n["rs"]/n["rso"]), nil
		}),
		"net-shortwave": lightFigures(func(n lightInputs) (float64, error) { return air.NetShortwaveFAO(n["rs"]), nil }),
		"et-day":        etDay,
		"et-hour":       etHour,
		"open-water":    lightFigures(openWater),
		"bubbling-air":  lightFigures(bubbling),
		"hour-temp":     lightFigures(hourTemp),
	})
}

// lightInputs are the inputs of a row that are numbers.
type lightInputs map[string]float64

// lightFigures makes a function of one that takes numbers only.
func lightFigures(f func(lightInputs) (float64, error)) function {
	return func(_ context.Context, _ *bench, in map[string]string) (float64, error) {
		n, err := readLightInputs(in)
		if err != nil {
			return 0, err
		}
		return f(n)
	}
}

// readLightInputs reads all inputs but the words "figure" and "model".
func readLightInputs(in map[string]string) (lightInputs, error) {
	n := make(lightInputs, len(in))
	for key, text := range in {
		if key == "figure" || key == "model" {
			continue
		}
		v, err := number(text)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", key, err)
		}
		n[key] = v
	}
	return n, nil
}

// outerSun is the sun above the air; cooper 1 takes the other declination.
func outerSun(n lightInputs) (sun.Outer, error) {
	if n["cooper"] == 1 {
		return sun.ExtraterrestrialCooper(n["latitude"], int(n["day"]))
	}
	return sun.Extraterrestrial(n["latitude"], int(n["day"]))
}

// The figures of sun-day by number, for rows name them by "of".
const (
	ofRa = iota
	ofDistance
	ofDeclination
	ofSunset
	ofLength
	ofHour
)

func sunDay(n lightInputs) (float64, error) {
	o, err := outerSun(n)
	if err != nil {
		return 0, err
	}
	switch n["of"] {
	case ofRa:
		return o.RaMJm2, nil
	case ofDistance:
		return o.InverseDistance, nil
	case ofDeclination:
		return o.DeclinationRad, nil
	case ofSunset:
		return o.SunsetRad, nil
	case ofLength:
		return o.DayLengthH, nil
	case ofHour:
		return o.HourMJm2(n["angle"] * math.Pi / 180), nil
	}
	return 0, fmt.Errorf("of=%g is no figure of a day", n["of"])
}

func sunHourShare(n lightInputs) (float64, error) {
	o, err := outerSun(n)
	if err != nil {
		return 0, err
	}
	scale := n["radiation"]
	if scale == 0 {
		scale = 1
	}
	return scale * o.HourShare(n["angle"]*math.Pi/180), nil
}

func sunshine(n lightInputs) (float64, error) {
	o, err := outerSun(n)
	if err != nil {
		return 0, err
	}
	return sun.FromSunHours(o, n["hours"])
}

func fromRange(n lightInputs) (float64, error) {
	o, err := outerSun(n)
	if err != nil {
		return 0, err
	}
	return sun.Hargreaves(o, n["tmax"], n["tmin"], n["factor"], n["elevation"])
}

// clearSky is the radiation under a clear sky, from that above the air when it
// is given, else from latitude and day.
func clearSky(n lightInputs) (float64, error) {
	share, err := sun.ClearSkyShare(n["elevation"])
	if err != nil {
		return 0, err
	}
	ra, given := n["ra"]
	if !given {
		o, err := outerSun(n)
		if err != nil {
			return 0, err
		}
		ra = o.RaMJm2
	}
	return share * ra, nil
}

func tilted(n lightInputs) (float64, error) {
	l := sun.Level{Global: n["global"], Outer: n["outer"]}
	if l.Outer > 0 {
		l.Diffuse = l.Global * sun.DiffuseShareHour(l.Global/l.Outer)
	}
	return sun.Tilted(sun.Sky(n["sky"]), l, n["ratio"], n["slope"], n["ground"])
}

// sunEvent is a sunrise or sunset as clock hours of the zone.
func sunEvent(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	date, err := time.Parse(time.DateOnly, in["date"])
	if err != nil {
		return 0, err
	}
	lat, err := number(in["latitude"])
	if err != nil {
		return 0, err
	}
	lon, err := number(in["longitude"])
	if err != nil {
		return 0, err
	}
	zone, err := number(in["zone"])
	if err != nil {
		return 0, err
	}
	rise, set, kind, err := sun.RiseSetMinutes(date.Year(), date.Month(), date.Day(), lat, lon)
	if err != nil {
		return 0, err
	}
	if kind != sun.RisesAndSets {
		return 0, fmt.Errorf("no sunrise or sunset that day")
	}
	if strings.HasPrefix(in["figure"], "sunset") {
		return set/60 + zone, nil
	}
	return rise/60 + zone, nil
}

// airFAO is a part of reference evapotranspiration, named by figure.
func airFAO(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	n, err := readLightInputs(in)
	if err != nil {
		return 0, err
	}
	switch in["figure"] {
	case "pressure":
		return air.PressureFAO(n["elevation"])
	case "gamma":
		p, err := air.PressureFAO(n["elevation"])
		return air.PsychrometricFAO(p), err
	case "saturation":
		return air.SaturationFAO(n["temp"]), nil
	case "mean-saturation":
		return air.MeanSaturationFAO(n["tmax"], n["tmin"]), nil
	case "slope":
		return air.SlopeFAO(n["temp"]), nil
	case "vapour-wet-bulb":
		p, err := air.PressureFAO(n["elevation"])
		if err != nil {
			return 0, err
		}
		return air.VapourFromWetBulbFAO(n["temp"], n["wet"], p, n["coefficient"])
	case "vapour-humidity":
		return air.VapourFromRHFAO(n["tmax"], n["tmin"], n["rhmax"], n["rhmin"])
	case "wind":
		return air.WindAt2M(n["wind"], n["height"])
	}
	return 0, fmt.Errorf("figure %q is not known", in["figure"])
}

// etDay is a figure of a day's reference evapotranspiration from sunshine.
func etDay(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	n, err := readLightInputs(in)
	if err != nil {
		return 0, err
	}
	d := air.ETDay{
		LatitudeDeg: n["latitude"], ElevationM: n["elevation"], DayOfYear: int(n["day"]), TmaxC: n["tmax"], TminC: n["tmin"],
		VapourKPa: n["ea"], SoilHeatMJm2: n["soil"],
	}
	if d.RadiationMJm2, err = sunshine(n); err != nil {
		return 0, err
	}
	if d.WindMS, err = air.WindAt2M(n["wind"], n["height"]); err != nil {
		return 0, err
	}
	if _, given := n["rhmax"]; given {
		if d.VapourKPa, err = air.VapourFromRHFAO(d.TmaxC, d.TminC, n["rhmax"], n["rhmin"]); err != nil {
			return 0, err
		}
	}
	r, err := air.ReferenceET(d)
	if err != nil {
		return 0, err
	}
	switch in["figure"] {
	case "et0":
		return r.ET0MmDay, nil
	case "rn":
		return r.RnMJm2, nil
	case "rns":
		return r.RnsMJm2, nil
	case "rnl":
		return r.RnlMJm2, nil
	case "rso":
		return r.RsoMJm2, nil
	}
	return 0, fmt.Errorf("figure %q is not known", in["figure"])
}

func etHour(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	n, err := readLightInputs(in)
	if err != nil {
		return 0, err
	}
	o, err := outerSun(n)
	if err != nil {
		return 0, err
	}
	ra := o.HourMJm2(sun.HourAngleRad(n["clock"], n["longitude"], n["meridian"], int(n["day"])))
	mm, r, err := air.ReferenceETHour(air.ETHour{
		ElevationM: n["elevation"], TempC: n["temp"], RHShare: n["rh"], WindMS: n["wind"],
		RadiationMJm2: n["radiation"], OuterMJm2: ra, NightClearness: n["clearness"],
	})
	if err != nil {
		return 0, err
	}
	switch in["figure"] {
	case "et0":
		return mm, nil
	case "rn":
		return r.RnMJm2, nil
	case "ra":
		return ra, nil
	}
	return 0, fmt.Errorf("figure %q is not known", in["figure"])
}

func openWater(n lightInputs) (float64, error) {
	return air.OpenWaterEvaporation(n["temp"], n["rh"], n["wind"], n["net"], n["pressure"])
}

func bubbling(n lightInputs) (float64, error) {
	room, err := air.FromRH(n["room"], n["rh"], air.StandardKPa)
	if err != nil {
		return 0, err
	}
	return air.BubblingHeatW(n["flow"], n["water"], room)
}

// hourTemp is the temperature at a clock hour from the highest and lowest of
// three days; the sun is that of a place and date, its clock of a zone.
func hourTemp(n lightInputs) (float64, error) {
	c := climate.Curve{
		TmaxC: n["max"], TminC: n["min"], TmaxBeforeC: n["maxbefore"], TminBeforeC: n["minbefore"], TminNext: n["minnext"],
	}
	hours := func(offset int) (rise, set float64, err error) {
		date := time.Date(2010, time.Month(int(n["month"])), int(n["date"])+offset, 0, 0, 0, 0, time.UTC)
		riseMin, setMin, kind, err := sun.RiseSetMinutes(date.Year(), date.Month(), date.Day(), n["latitude"], n["longitude"])
		if err == nil && kind != sun.RisesAndSets {
			err = fmt.Errorf("no sunrise or sunset that day")
		}
		return riseMin/60 + n["zone"], setMin/60 + n["zone"], err
	}
	var err error
	if c.RiseBeforeH, c.SetBeforeH, err = hours(-1); err != nil {
		return 0, err
	}
	if c.RiseH, c.SetH, err = hours(0); err != nil {
		return 0, err
	}
	if c.RiseAfterH, _, err = hours(1); err != nil {
		return 0, err
	}
	return c.TempC(n["hour"]), nil
}
