package reckoner

import (
	"errors"
	"fmt"
	"math"

	"tidebed/quantity"
	"tidebed/science/air"
	"tidebed/science/fish"
	"tidebed/science/water"
	"tidebed/words"
)

func chemTempKey(highC float64) Key {
	return Key{Name: "temp", What: "water temperature", Kind: quantity.Temperature, Low: 0, High: highC, Required: true}
}

func phKey(name, what string) Key {
	return Key{Name: name, What: what, Kind: quantity.Plain, Low: 0, High: 14, Required: true}
}

func alkalinityKey() Key {
	return Key{
		Name: "alkalinity", What: "alkalinity, in mg/L as CaCO3 or meq/L", Kind: quantity.Alkalinity, Low: water.LeastAlkalinityEqM3, High: water.MostAlkalinityEqM3,
		Range: "-500 to 2502 mg/L as CaCO3 (-10 to 50 meq/L)", Required: true, Field: "alkalinityEqM3",
	}
}

func ionicKey(def string) Key {
	return Key{Name: "ionic-strength", What: "ionic strength; 0.013 times the conductivity in dS/m", Kind: quantity.Molarity, Unit: "mol/L", BareUnit: "mol/L", Low: 0, High: 0.5, Default: def}
}

func tanKey(required bool, def string) Key {
	return Key{Name: "tan", What: "total ammonia, as N", Kind: quantity.AsN, Low: 0, High: 1000, Required: required, Default: def}
}

func waterVolumeKey() Key {
	return Key{Name: "volume", What: "volume of water", Kind: quantity.Volume, Low: 1e-6, High: 1e6, Required: true}
}

func oxygenKey(name, what string) Key {
	return Key{Name: name, What: what, Kind: quantity.Concentration, Low: 0, High: 40, Required: true}
}

func oxygenElevationKey() Key {
	return Key{Name: "elevation", What: "height above the sea", Kind: quantity.Length, Low: -500, High: water.HighestM, Default: "0 m"}
}

// doseFormulas are the chemicals of alkalinity-dose, the contract's first.
func doseFormulas() []string {
	list := []string{"KHCO3", "NaHCO3", "K2CO3", "KOH", "Ca(OH)2", "CaCO3", "HNO3", "H3PO4"}
	return append(list, "Na2CO3", "Mg(OH)2", "HCl", "H2SO4")
}

// waterEntries are the quick sums about the chemistry of water.
func waterEntries() []Entry {
	carbonate := []string{"plummer-busenberg-1982", "emerson-1975", "bates-1951", "davies-1962"}
	doNow := "dissolved oxygen now"
	daysKey := Key{Name: "days", What: "days from the start", Kind: quantity.Duration, Unit: "d", BareUnit: "d", Low: 0, High: 36500, Required: true, Field: "days"}
	return []Entry{
		{
			Name: "un-ionised-ammonia", Title: "Ammonia that harms fish",
			Formula: "share = 1 / (1 + 10^(pKa - pH)); pKa = 0.09018 + 2729.92 / (temperature in K); un-ionised = share × total, all as N",
			Keys:    []Key{chemTempKey(45), phKey("ph", "pH"), tanKey(true, "")},
			Outputs: []Output{
				{Name: "fraction", What: "share of the total that is un-ionised"},
				{Name: "nh3nGm3", What: "un-ionised ammonia, as N; 1.2159 times as much as NH3", Unit: "g/m3"},
			},
			Sources:  []string{"emerson-1975"},
			Cautions: []string{"Kits show N, NH3 or NH4: look which. Salts in the water make it up to a tenth less."},
			run:      runUnionised,
		},
		{
			Name: "oxygen-saturation", Title: "Oxygen that water holds",
			Formula: "series in the absolute temperature and the salinity at 1 atm, times the pressure less that of vapour; pressure from the elevation when not given, 101.325 kPa when neither is",
			Keys: []Key{
				chemTempKey(water.HighestDOC),
				{Name: "elevation", What: "height above the sea, in place of the pressure", Kind: quantity.Length, Low: -500, High: water.HighestM},
				{Name: "pressure", What: "air pressure at the place, not reduced to the sea; 101.325 kPa when neither is given", Kind: quantity.Pressure, Unit: "kPa", Low: water.LowestKPa, High: water.HighestKPa},
				{Name: "salinity", What: "salinity", Kind: quantity.Share, Unit: "g/kg", BareUnit: "g/kg", Low: 0, High: water.HighestSaltGK, Default: "0"},
			},
			Outputs: []Output{{Name: "doGm3", What: "dissolved oxygen at saturation", Unit: "g/m3"}},
			Sources: []string{"benson-krause-1984", "apha-4500-o"},
			run:     runOxygenSaturation,
		},
		{
			Name: "ph", Title: "pH of a water",
			Formula: "the pH at which carbonate, ammonia, phosphate and water together have the alkalinity; carbon closed in (dic) or dissolved CO2 held (co2)",
			Keys: []Key{
				chemTempKey(45), alkalinityKey(),
				{Name: "dic", What: "dissolved inorganic carbon, in mmol/L or mg/L as C", Kind: quantity.AsC, Unit: "mmol/L", Low: 0, High: 1000, Field: "dicMolM3"},
				{Name: "co2", What: "dissolved carbon dioxide held fixed, mg/L as CO2", Kind: quantity.Concentration, Low: 0, High: 5000},
				tanKey(false, "0 mg/L"),
				{Name: "phosphate", What: "phosphate, as P", Kind: quantity.AsP, Low: 0, High: 1000, Default: "0 mg/L"},
				ionicKey("0"),
			},
			OneOf:   [][]string{{"dic", "co2"}},
			Outputs: []Output{{Name: "ph", What: "pH as a probe reads it"}, {Name: "co2Gm3", What: "dissolved carbon dioxide", Unit: "g/m3"}},
			Sources: carbonate,
			run:     runPH,
		},
		{
			Name: "carbon-dioxide", Title: "Carbon dioxide from pH and alkalinity",
			Formula: "dissolved carbon = (alkalinity - hydroxide + hydrogen) / charge per carbon at that pH; CO2 = its share",
			Keys:    []Key{chemTempKey(45), phKey("ph", "pH"), alkalinityKey(), ionicKey("0")},
			Outputs: []Output{
				{Name: "co2Gm3", What: "dissolved carbon dioxide", Unit: "g/m3"},
				{Name: "dicMolM3", What: "dissolved inorganic carbon", Unit: "mol/m3"},
			},
			Sources:  carbonate,
			Cautions: []string{"Phosphate, ammonia and humic matter count as carbonate here: in soft water the CO2 is overstated."},
			run:      runCarbonDioxide,
		},
		{
			Name: "alkalinity-dose", Title: "Base or acid for a pH",
			Formula: "closed: the amount that gives the target pH with the carbon in the water; open: the amount whose alkalinity gives it once CO2 is back at its level",
			Keys: []Key{
				waterVolumeKey(), chemTempKey(45), phKey("ph", "pH now"), alkalinityKey(),
				{Name: "target-ph", What: "pH to reach", Kind: quantity.Plain, Low: 3, High: 12, Required: true},
				{Name: "chemical", What: "base or acid, reckoned pure", Kind: Word, Choices: doseFormulas(), Required: true},
				ionicKey("0.005"), tanKey(false, ""),
			},
			Outputs: []Output{
				{Name: "closedG", What: "amount that shows the target within minutes; none where none does", Unit: "g"},
				{Name: "openG", What: "amount that holds the target in aerated water, in parts over days", Unit: "g"},
				{Name: "phIfOpenDoseAtOnce", What: "pH if the open amount went in at once"},
				{Name: "nh3nAtTargetGm3", What: "un-ionised ammonia at the target pH, as N", Unit: "g/m3", Optional: true},
			},
			Sources:  append([]string{"wolf-gladrow-2007", "fao-589"}, carbonate...),
			Cautions: []string{"With fish move the pH by 0.3 a day at most: a third of the amount, wait 6 h, measure again.", "Raising the pH makes ammonia harmful: reckon un-ionised-ammonia first.", "Goggles and gloves; base or acid into water, never the reverse; divide by the purity of what you buy."},
			run:      runAlkalinityDose,
		},
		{
			Name: "iron-dose", Title: "Iron chelate for a concentration", Formula: "grams = target × volume / iron share of the chelate",
			Keys: []Key{
				waterVolumeKey(),
				{Name: "target", What: "iron to add", Kind: quantity.Concentration, Low: 0, High: 100, Required: true},
				{Name: "share", What: "iron in the chelate, by mass", Kind: quantity.Share, Low: 0.001, High: 1, Required: true},
			},
			Outputs:  []Output{{Name: "doseG", What: "chelate", Unit: "g"}},
			Sources:  []string{"rakocy-uvi"},
			Cautions: []string{"EDTA holds to about pH 6.5, DTPA to 7.5, EDDHA to 9."},
			run:      runIronDose,
		},
		{
			Name: "chloride-for-nitrite", Title: "Salt against nitrite", Formula: "chloride wanted = ratio × nitrite nitrogen; salt = what is missing × volume / chloride share of the salt",
			Keys: []Key{
				waterVolumeKey(),
				{Name: "no2n", What: "nitrite, as N", Kind: quantity.AsN, Low: 0, High: 1000, Required: true},
				{Name: "chloride", What: "chloride now", Kind: quantity.Concentration, Low: 0, High: 1e5, Required: true},
				{Name: "ratio", What: "chloride to nitrite nitrogen, by mass; 33 for sick fish or cold water", Kind: quantity.Plain, Low: 1, High: 100, Default: "20"},
				{Name: "salt", What: "salt to add", Kind: Word, Choices: []string{"NaCl", "CaCl2.2H2O", "KCl"}, Required: true},
			},
			Outputs:  []Output{{Name: "targetGm3", What: "chloride to have", Unit: "g/m3"}, {Name: "saltG", What: "salt", Unit: "g"}},
			Sources:  []string{"srac-462", "tomasso-1986"},
			Cautions: []string{"Largemouth bass gain nothing from chloride.", "Sodium stays in the water: with crops take calcium or potassium chloride."},
			run:      runChloride,
		},
		{
			Name: "dechlorination", Title: "Agent that takes chlorine out", Formula: "grams = chlorine × volume × grams of agent per gram of chlorine",
			Keys: []Key{
				waterVolumeKey(),
				{Name: "chlorine", What: "chlorine, free or bound, as Cl2", Kind: quantity.Concentration, Low: 0, High: 100, Required: true},
				{Name: "agent", What: "agent", Kind: Word, Choices: water.Dechlorinators(), Required: true},
			},
			Outputs:  []Output{{Name: "doseG", What: "agent", Unit: "g"}},
			Sources:  []string{"awwa-dechlorination", "basu-2011"},
			Cautions: []string{"Chloramine: take thiosulfate, and count with 0.2 mg/L of ammonia nitrogen for each mg/L; standing or aerating does not remove it.", "Test with a strip before fish meet the water."},
			run: func(in *inputs, out *answer) error {
				g, err := water.Dechlorination(in.Number("volume"), in.Number("chlorine"), in.Word("agent"))
				out.Set("doseG", g)
				return err
			},
		},
		{
			Name: "nitrification-area", Title: "Surface and media for the ammonia of a feed",
			Formula: "ammonia nitrogen = 0.092 × protein × feed; area = ammonia / rate; media = area / specific surface",
			Keys: []Key{
				{Name: "feed", What: "dry feed", Kind: quantity.MassRate, Unit: "g/d", Low: 0, High: 1e8, Required: true},
				{Name: "protein", What: "protein of the feed", Kind: quantity.Share, Low: 0.10, High: 0.65, Required: true},
				{Name: "rate", What: "nitrification; 0.2 to 0.6 g/m2/d in gravel beds with solids", Kind: quantity.AreaMassRate, Unit: "g/m2/d", Low: 0.01, High: 5, Required: true},
				{Name: "specific-surface", What: "surface of the media, without micropores", Kind: quantity.SpecificSurface, Low: 10, High: 5000, Required: true},
			},
			Outputs: []Output{
				{Name: "tanGd", What: "total ammonia nitrogen", Unit: "g/d"}, {Name: "areaM2", What: "wetted surface", Unit: "m2"}, {Name: "mediaM3", What: "media, all of it wetted", Unit: "m3"},
			},
			Sources: []string{"timmons-ebeling", "zhu-chen-1999"},
			run:     runNitrificationArea,
		},
		{
			Name: "falling-water", Title: "Oxygen that a fall brings in",
			Formula: "want above / want below = 1 + 0.38 a b h (1 - 0.11 h) (1 + 0.046 t), h in m, t in °C",
			Keys: []Key{
				chemTempKey(water.HighestDOC), oxygenKey("do", "oxygen above the fall"),
				{Name: "drop", What: "height of the fall", Kind: quantity.Length, Low: 0, High: 3, Required: true}, oxygenElevationKey(),
				{Name: "a", What: "water: 1.8 clean, 1.6 slightly, 1.0 moderately, 0.65 grossly polluted", Kind: quantity.Plain, Low: 0.1, High: 2.5, Default: "1.6"},
				{Name: "b", What: "fall: 0.8 sharp crest, 1.05 slope", Kind: quantity.Plain, Low: 0.05, High: 6, Default: "0.8"},
			},
			Outputs:  []Output{{Name: "doAfterGm3", What: "oxygen below the fall", Unit: "g/m3"}, {Name: "efficiency", What: "share of the want, or of the surplus, that is made good"}},
			Sources:  []string{"butts-evans-1983", "benson-krause-1984"},
			Cautions: []string{"Fitted to rivers: small flows may give a fifth of it. Halve it for safety, or measure oxygen above and below."},
			run:      runFallingWater,
		},
		{
			Name: "aerator", Title: "Oxygen an aerator really gives", Formula: "label × alpha × (beta × saturation - oxygen) / 9.09 × 1.024^(t - 20)",
			Keys: []Key{
				{Name: "sotr", What: "oxygen by the label: clean water of 20 °C without oxygen", Kind: quantity.MassRate, Low: 0, High: 10, Required: true, Field: "sotrKgS"},
				chemTempKey(water.HighestDOC), oxygenKey("do", "oxygen of the tank"),
				{Name: "alpha", What: "transfer against clean water", Kind: quantity.Plain, Low: 0.1, High: 1.2, Default: "0.9"},
				{Name: "beta", What: "saturation against fresh water's", Kind: quantity.Plain, Low: 0.5, High: 1.1, Default: "0.98"},
				oxygenElevationKey(),
			},
			Outputs: []Output{{Name: "otrKgS", What: "oxygen brought in", Unit: "kg/s"}, {Name: "share", What: "of the label's"}},
			Sources: []string{"asce-oxygen-transfer", "benson-krause-1984"},
			run:     runAerator,
		},
		{
			Name: "oxygen-hours", Title: "Hours of oxygen when the air stops",
			Formula: "oxygen runs to saturation - use / transfer; hours = logarithm of the distances from there, at the start and at the limit, over the transfer; transfer = velocity × 1.024^(t - 20) / depth",
			Keys: []Key{
				chemTempKey(water.HighestDOC), oxygenKey("do", doNow), oxygenKey("limit", "oxygen not to go below"),
				{Name: "depth", What: "mean depth of the water", Kind: quantity.Length, Low: 0.01, High: 20, Required: true},
				{Name: "density", What: "fish in the water", Kind: quantity.Density, Low: 0, High: 1000, Required: true},
				{Name: "respiration", What: "oxygen fish use; twice the routine rate after a meal, and a quarter more for bacteria", Kind: quantity.RespirationRate, Low: 0, High: 5000, Required: true},
				{Name: "surface-transfer", What: "transfer velocity of the surface at 20 °C", Kind: quantity.SurfaceRate, Unit: "m/d", Low: 0, High: 100, Default: "0.6 m/d"},
				oxygenElevationKey(),
			},
			Outputs:  []Output{{Name: "hours", What: "until the limit; 0 when below it already, none when never", Unit: "h"}},
			Sources:  []string{"chin-2006", "asce-oxygen-transfer", "benson-krause-1984"},
			Cautions: []string{"Stop feeding before anything else."},
			run:      runOxygenHours,
		},
		{
			Name: "salt-build-up", Title: "What topping up leaves in the water",
			Formula: "top-up = evaporation + drain; concentration runs to source × top-up / drain by the exponential of drain × days / volume; without a drain it rises in a straight line",
			Keys: []Key{
				waterVolumeKey(),
				{Name: "evaporation", What: "water that evaporates", Kind: quantity.Flow, Unit: "m3/d", Low: 0, High: 1e5, Required: true},
				{Name: "drain", What: "water drained or lost with what it holds", Kind: quantity.Flow, Unit: "m3/d", Low: 0, High: 1e5, Required: true},
				{Name: "source", What: "concentration in the top-up", Kind: quantity.Concentration, Low: 0, High: 1e5, Required: true},
				{Name: "start", What: "concentration at the start", Kind: quantity.Concentration, Low: 0, High: 1e5, Required: true},
				daysKey,
			},
			Outputs: []Output{{Name: "gM3", What: "concentration at the end", Unit: "g/m3"}},
			Sources: []string{"mass-balance"},
			run: func(in *inputs, out *answer) error {
				g, err := water.SaltBuildUp(in.Number("volume"), in.Number("evaporation"), in.Number("drain"), in.Number("source"), in.Number("start"), in.Number("days"))
				out.Set("gM3", g)
				return err
			},
		},
	}
}

func warnIonic(in *inputs, out *answer) {
	if in.Number("ionic-strength") > 0.1 {
		out.Warn("Above an ionic strength of 0.1 mol/L the activities are rough; 0.1 is the water of 8 dS/m.")
	}
}

func runUnionised(in *inputs, out *answer) error {
	ph, tan := in.Number("ph"), in.Number("tan")
	fraction, err := water.UnionisedFraction(in.Number("temp"), ph)
	if err != nil {
		return err
	}
	if ph < 6 || ph > 10 {
		out.Warn("The equation holds from pH 6 to 10.")
	}
	if tan > 5 {
		out.Warn("Total ammonia nitrogen above 5 mg/L: stop feeding; may the kit show NH4 (divide by 1.288)?")
	}
	out.Set("fraction", fraction)
	out.Set("nh3nGm3", fraction*tan)
	return nil
}

func runOxygenSaturation(in *inputs, out *answer) error {
	kPa := air.StandardKPa
	switch {
	case in.Given("elevation") && in.Given("pressure"):
		return in.Refuse("pressure", "Elevation and pressure say the same thing twice; give only one of them.")
	case in.Given("pressure"):
		kPa = in.Number("pressure")
	case in.Given("elevation"):
		var err error
		if kPa, err = air.PressureKPa(in.Number("elevation")); err != nil {
			return in.Refuse("elevation", "%s.", words.Capital(err.Error()))
		}
	}
	doGm3, err := water.OxygenSaturation(in.Number("temp"), kPa, in.Number("salinity"))
	out.Set("doGm3", doGm3)
	return err
}

func runPH(in *inputs, out *answer) error {
	e, err := water.NewEquilibria(in.Number("temp"), in.Number("ionic-strength"))
	if err != nil {
		return err
	}
	warnIonic(in, out)
	s := water.Solutes{
		AlkEqM3: in.Number("alkalinity"), DICMolM3: in.Number("dic"),
		TANMolM3: in.Number("tan") / water.MolarN, PMolM3: in.Number("phosphate") / water.MolarP,
	}
	var ph, co2MolM3 float64
	if in.Given("co2") {
		co2MolM3 = in.Number("co2") / water.MolarCO2
		ph, err = e.PHAtCO2(s, co2MolM3, 7)
	} else if ph, err = e.PH(s, 7); err == nil {
		co2MolM3 = e.CO2(ph, s.DICMolM3)
	}
	if err != nil {
		return err
	}
	if ph < 5.5 || ph > 9 {
		out.Warn("A pH of %.2f harms fish and bacteria.", ph)
	}
	out.Set("ph", ph)
	out.Set("co2Gm3", water.MolarCO2*co2MolM3)
	return nil
}

// refuseWater turns the chemistry's refusals into those of a key.
func refuseWater(in *inputs, err error) error {
	switch {
	case errors.Is(err, water.ErrImpossible):
		return in.Refuse("alkalinity", "Alkalinity of %.4g mg/L as CaCO3 and pH %g cannot stand together: that pH alone takes more. Measure both again.", in.Number("alkalinity")*water.CaCO3PerEq, in.Number("ph"))
	case errors.Is(err, water.ErrWrongWay):
		return in.Refuse("chemical", "Chemical: %s works the wrong way from pH %g to %g; give a base to raise the pH, an acid to lower it.", in.Word("chemical"), in.Number("ph"), in.Number("target-ph"))
	case errors.Is(err, quantity.ErrRange):
		return in.Refuse("ph", "Ph of %g with an alkalinity of %.4g mg/L as CaCO3 would take more carbon than water holds. Measure both again.", in.Number("ph"), in.Number("alkalinity")*water.CaCO3PerEq)
	}
	return err
}

func runCarbonDioxide(in *inputs, out *answer) error {
	e, err := water.NewEquilibria(in.Number("temp"), in.Number("ionic-strength"))
	if err != nil {
		return err
	}
	warnIonic(in, out)
	ph := in.Number("ph")
	dic, err := e.DIC(ph, water.Solutes{AlkEqM3: in.Number("alkalinity")})
	if err != nil {
		return refuseWater(in, err)
	}
	co2Gm3 := water.MolarCO2 * e.CO2(ph, dic)
	if in.Number("alkalinity")*water.CaCO3PerEq < 20 {
		out.Warn("Alkalinity below 20 mg/L as CaCO3 holds no pH.")
	}
	if co2Gm3 > 20 {
		out.Warn("Carbon dioxide above 20 mg/L burdens fish: aerate.")
	}
	out.Set("co2Gm3", co2Gm3)
	out.Set("dicMolM3", dic)
	return nil
}

func runAlkalinityDose(in *inputs, out *answer) error {
	warnIonic(in, out)
	c, err := water.LookupChemical(in.Word("chemical"))
	if err != nil {
		return in.Refuse("chemical", "Chemical: %s.", err)
	}
	target := in.Number("target-ph")
	b := water.Bath{
		VolumeM3: in.Number("volume"), TempC: in.Number("temp"), PH: in.Number("ph"), AlkEqM3: in.Number("alkalinity"),
		TANGm3: in.Number("tan"), IonicMolL: in.Number("ionic-strength"),
	}
	d, err := b.For(c, target, 1)
	tooFar := errors.Is(err, water.ErrTooFar)
	if err != nil && !tooFar {
		return refuseWater(in, err)
	}
	if d.ClosedOK {
		out.Set("closedG", d.ClosedG)
	} else {
		out.Null("closedG")
		out.Warn("No amount of %s brings the pH to %g while the carbon stays in the water.", c.Formula, target)
	}
	if in.Given("tan") {
		fraction, err := water.UnionisedFraction(b.TempC, target)
		if err != nil {
			return err
		}
		out.Set("nh3nAtTargetGm3", fraction*b.TANGm3)
		if fraction*b.TANGm3 > 0.05 {
			out.Warn("At the target %.2g mg/L of ammonia nitrogen is un-ionised, more than fish bear for long.", fraction*b.TANGm3)
		}
	}
	if tooFar {
		out.Null("openG", "phIfOpenDoseAtOnce")
		out.Warn("With the CO2 of now no reasonable alkalinity holds pH %g: strip CO2 first.", target)
		return nil
	}
	if over := (d.PHAtOnce - target) * c.AlkEqMol; over > 0.3 {
		out.Warn("All at once it would bring the pH to %.1f until CO2 is back: give it in parts over days.", d.PHAtOnce)
	}
	if days := math.Ceil(math.Abs(target-b.PH)/water.MostPHStepDay - 1e-9); days > 1 {
		out.Warn("With fish take at least %.0f days for it: 0.3 of pH a day.", days)
	}
	out.Set("openG", d.OpenG)
	out.Set("phIfOpenDoseAtOnce", d.PHAtOnce)
	return nil
}

func runIronDose(in *inputs, out *answer) error {
	if in.Number("target") > 5 {
		out.Warn("With fish never more than 5 mg/L of iron at once.")
	}
	g, err := water.IronDose(in.Number("volume"), in.Number("target"), in.Number("share"))
	out.Set("doseG", g)
	return err
}

func runChloride(in *inputs, out *answer) error {
	salt, err := water.LookupChlorideSalt(in.Word("salt"))
	if err != nil {
		return in.Refuse("salt", "Salt: %s.", err)
	}
	target, saltG, sodiumGm3, err := water.ChlorideDose(in.Number("volume"), in.Number("no2n"), in.Number("chloride"), in.Number("ratio"), salt)
	if err != nil {
		return err
	}
	if sodiumGm3 > 50 {
		out.Warn("It adds %.0f mg/L of sodium, which stays: greens suffer above 50 in all, stop at 100.", sodiumGm3)
	}
	if in.Number("ratio") < 20 {
		out.Warn("Below 20 of chloride to nitrite nitrogen fish are little protected.")
	}
	if saltG == 0 && target > 0 {
		out.Warn("There is chloride enough.")
	}
	out.Set("targetGm3", target)
	out.Set("saltG", saltG)
	return nil
}

func runNitrificationArea(in *inputs, out *answer) error {
	tanGd := fish.TANFromFeed(in.Number("feed"), in.Number("protein"))
	areaM2, mediaM3, err := water.NitrificationArea(tanGd, in.Number("rate"), in.Number("specific-surface"))
	if err != nil {
		return err
	}
	if in.Number("rate") > 2 {
		out.Warn("More than 2 g/m2/d is not reached in beds.")
	}
	out.Set("tanGd", tanGd)
	out.Set("areaM2", areaM2)
	out.Set("mediaM3", mediaM3)
	return nil
}

// saturationAt is the oxygen saturation by the keys temp and elevation.
func saturationAt(in *inputs) (float64, error) {
	csGm3, err := water.OxygenSaturationAt(in.Number("temp"), in.Number("elevation"))
	if err != nil {
		return 0, in.Refuse("elevation", "Elevation: %s.", err)
	}
	return csGm3, nil
}

func runFallingWater(in *inputs, out *answer) error {
	csGm3, err := saturationAt(in)
	if err != nil {
		return err
	}
	ratio, err := water.WeirRatio(in.Number("drop"), in.Number("temp"), in.Number("a"), in.Number("b"))
	if err != nil {
		return err
	}
	after, efficiency, err := water.AfterFall(in.Number("do"), csGm3, ratio)
	if err != nil {
		return err
	}
	if in.Number("do") > csGm3 {
		out.Warn("The water holds more oxygen than at saturation, %.2f mg/L: the fall takes some out.", csGm3)
	}
	out.Set("doAfterGm3", after)
	out.Set("efficiency", efficiency)
	return nil
}

func runAerator(in *inputs, out *answer) error {
	csGm3, err := saturationAt(in)
	if err != nil {
		return err
	}
	share, err := water.OxygenTransferShare(in.Number("temp"), in.Number("do"), csGm3, in.Number("alpha"), in.Number("beta"))
	if err != nil {
		return err
	}
	if share < 0 {
		out.Warn("The water holds more oxygen than the aerator could keep in it: it drives some out.")
	}
	out.Set("otrKgS", in.Number("sotr")*share)
	out.Set("share", share)
	return nil
}

func runOxygenHours(in *inputs, out *answer) error {
	csGm3, err := saturationAt(in)
	if err != nil {
		return err
	}
	kLaPerH, err := water.SurfaceKLaPerH(in.Number("surface-transfer"), in.Number("depth"), in.Number("temp"))
	if err != nil {
		return fmt.Errorf("surface: %w", err)
	}
	doGm3, limitGm3 := in.Number("do"), in.Number("limit")
	useGm3H := in.Number("density") * in.Number("respiration") / 1000
	hours, reached, err := water.OxygenHours(doGm3, limitGm3, csGm3, kLaPerH, useGm3H)
	if err != nil {
		return err
	}
	if doGm3 > 1.2*csGm3 {
		out.Warn("Oxygen above 120 %% of saturation, %.2f mg/L: look at the meter.", csGm3)
	}
	switch {
	case !reached:
		out.Null("hours")
		out.Warn("The surface alone keeps the oxygen above %g mg/L.", limitGm3)
		return nil
	case hours == 0:
		out.Warn("Oxygen is at the limit or below it already.")
	}
	out.Set("hours", hours)
	return nil
}
