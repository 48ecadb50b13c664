package ripen

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"tidebed/words"
)

var errTooMuch = errors.New("the goal is too high for this water")

// tenth prints one digit after the point, none where it is 0.
func tenth(v float64) string { return strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0") }

// step is what a kitchen balance shows of an amount.
func step(g float64) float64 {
	switch {
	case g < 1:
		return 0.01
	case g < 10:
		return 0.1
	case g < 50:
		return 0.5
	case g < 200:
		return 1
	}
	return 5
}

// round and floor bring grams to what a balance shows.
func round(g float64) float64 { s := step(g); return tidy(math.Round(g/s) * s) }
func floor(g float64) float64 { s := step(g); return tidy(math.Floor(g/s+1e-9) * s) }

// tidy takes the noise of a product off.
func tidy(g float64) float64 { return math.Round(g*100) / 100 }

// feedWords are grams of feed to 5 g, small ones to the gram.
func feedWords(g float64) string {
	switch {
	case g < 20:
		return tenth(g) + " g"
	case g < 10000:
		return strconv.FormatFloat(5*math.Round(g/5), 'f', 0, 64) + " g"
	}
	return strconv.FormatFloat(g/1000, 'f', 1, 64) + " kg"
}

func buckets(m3 float64) string {
	switch n := m3 / BucketM3; {
	case math.Abs(n-1) < 1e-9:
		return "a bucket (10 L)"
	case n > 1 && n <= 12 && math.Abs(n-math.Round(n)) < 1e-9:
		return fmt.Sprintf("%s (%.0f L)", words.Spelled(int(math.Round(n)), "bucket", "buckets"), m3*1000)
	}
	return fmt.Sprintf("%.3g L", m3*1000)
}

// manyHungry are days without feed that no fish should be put through in clean
// water. Common practice, no source.
const manyHungry = 7

// HungryDays are the days of a fish-in plan without feed, the first not counted.
func (p *Plan) HungryDays() (n int) {
	if p.Method != WithFish {
		return 0
	}
	for i := range p.Days {
		if p.Days[i].FeedShare == 0 && p.Days[i].Day > 1 {
			n++
		}
	}
	return n
}

// Answer is the plan in one sentence; rows of ByTemperature at the plan's own
// temperature add what ripe media would bring.
func (p *Plan) Answer(rows []Row) string {
	start := "A new " + p.Loop + " loop"
	if p.Method == WithFish {
		start = "The " + p.Loop + " loop, started with its fish in it and"
	}
	how := ""
	switch {
	case p.RipeMediaM3 > 0:
		how = fmt.Sprintf(" with %s of running media", buckets(p.RipeMediaM3))
	case p.SeedGCODM3 > 3*SeedNew:
		how = " with ripe water"
	}
	text := fmt.Sprintf("%s kept at %s °C%s", start, tenth(p.TempC), how)
	if p.ReadyDay == 0 {
		return fmt.Sprintf("%s does not come to bear %s of feed a day within %d days.", text, feedWords(p.GoalFeedGDay), MostDays)
	}
	text = fmt.Sprintf("%s is ready for %s of feed a day in about %s", text, feedWords(p.GoalFeedGDay), words.Count(p.ReadyDay, "day", "days"))
	switch {
	case p.EarlyDay > 0 && p.LateDay > 0:
		text += fmt.Sprintf(" (%d to %d)", p.EarlyDay, p.LateDay)
	case p.EarlyDay > 0:
		text += fmt.Sprintf(" (%d to more than %d)", p.EarlyDay, MostDays)
	}
	if h := p.HungryDays(); h >= manyHungry {
		return fmt.Sprintf("%s, and the fish go hungry on %d of them: start without fish, or with fewer.", text, h)
	}
	if p.RipeMediaM3 == 0 && p.Method == WithoutFish {
		for _, r := range rows {
			if r.TempC == p.TempC && r.MediaDay > 0 && r.MediaDay < p.ReadyDay {
				return fmt.Sprintf("%s; with %s of stones from %s in %d.", text, buckets(r.MediaM3), r.From, r.MediaDay)
			}
		}
	}
	return text + "."
}

// The cautions.
const (
	cautionFish    = "Fish go in by the test, never by the date: a full day's load gone overnight, twice; ask an aquaculture adviser when in doubt."
	cautionMeasure = "Measure alkalinity and pH on the day of a base; give a third, wait 6 hours, measure, then the rest."
	cautionAmmonia = "Ammonium chloride: gloves, no dust in eyes. Ammonia solution burns eyes and lungs and gives off gas: outdoors, goggles, and only the pure kind without scent or soap. Neither may meet hypochlorite or lye: poisonous gas."
	cautionBase    = "Potassium bicarbonate is mild; potassium hydroxide and lime in its place burn, and throw the pH: not for this plan."
	cautionWelfare = "Start without fish: in a new loop they live for weeks near the limit, hungry. An animal keeper answers for that; ask a fish vet or adviser before you do."
	cautionChange  = "New water: free of chlorine and chloramine, within 2 °C and a pH at or below that of the tank; a third at a time."
	cautionSalt    = "Calcium chloride grows hot when it dissolves: in a bucket of water first, goggles; over an hour, not into the tank's face."
	cautionStop    = "If fish gasp, hang at the inlet or clamp their fins: no feed, more air, change water, then test. Unfed fish still give off ammonia."
)

var simplifiedBoth = []string{
	"One temperature in all the water; no plants, no evaporation and top-up, no solids: what lies on the bottom gives off ammonia on top of this.",
	"Seeds are guesses within ten times each way; bacteria that come by air and hand are counted at a millionth of a gram COD for each m³ a day.",
	fmt.Sprintf("Air over the water with %.0f ppm of carbon dioxide; phosphate is taken to be there: add a pinch, bacteria need it.", airCO2PPM),
}

var sourcesBoth = []string{
	"[lekang] Lekang, Aquaculture Engineering: start-up of 20 to 40 days by temperature and pH",
	"[fao-589] Somerville et al. 2014, FAO 589: 25 to 40 days, up to two months in the cold (from memory)",
	"[vannecke-volcke] growth, decay and yield of the two groups of bacteria by temperature",
	"[emerson-1975] share of un-ionised ammonia; [plummer-busenberg-1982] carbonate system",
}

// tellFishless writes the plan's sentences.
func (q *setting) tellFishless(p *Plan) {
	say := func(format string, args ...any) { p.Why = append(p.Why, fmt.Sprintf(format, args...)) }
	say("Goal: %s of feed a day, %s; that is %s g of ammonia nitrogen a day, %.2g mg/L in %.3g m³ of water.", feedWords(p.GoalFeedGDay), q.goalWhy, tenth(p.GoalNGDay), p.LoadGm3Day, p.VolumeM3)
	if p.ReadyDay > 0 {
		late := "not within " + words.Count(MostDays, "day", "days")
		if p.LateDay > 0 {
			late = "on day " + strconv.Itoa(p.LateDay)
		}
		wide := "ten times the bacteria to begin with it is day %d, with a tenth %s"
		if p.RipeMediaM3 > 0 {
			wide = "three times the bacteria to begin with it is day %d, with a third %s"
		}
		say("With %s; with "+wide+".", q.seedWhy, p.EarlyDay, late)
	} else {
		say("With %s.", q.seedWhy)
	}
	if p.ReadyDay == 0 {
		reason := "in this water they grow too slowly"
		if p.GoalNGDay > p.CapacityNG {
			reason = fmt.Sprintf("its media oxidises %.3g g of nitrogen a day at most at this temperature: more media or less feed", p.CapacityNG)
		}
		say("It does not become ready: %s.", reason)
	}
	most, mostDay := 0.0, 0
	for i := range p.Days {
		if p.Days[i].NO2NGm3 > most {
			most, mostDay = p.Days[i].NO2NGm3, p.Days[i].Day
		}
	}
	if most > 0.1 {
		say("Ammonia and nitrite nitrogen together are kept at or below %.0f mg/L, so neither stalls the bacteria; nitrite is highest on day %d, %.1f mg/L.", MostNGm3, mostDay, most)
	}
	if p.GoalNGDay > 0.8*p.CapacityNG && p.ReadyDay > 0 {
		p.Warnings = append(p.Warnings, fmt.Sprintf("The goal is %.0f %% of the most that the media can bear: a dirty bed will not.", 100*p.GoalNGDay/p.CapacityNG))
	}
	highPH := 0.0
	for i := range p.Days {
		highPH = max(highPH, p.Days[i].PH)
	}
	if highPH > 8 {
		p.Warnings = append(p.Warnings, fmt.Sprintf("pH up to %.1f: well-aired water of the alkalinity wanted stands above the 8 that is advised. Keep ammonia low, as the plan does; above 5 mg/L at such a pH a start-up stalls at nitrite.", highPH))
	}
	if p.KGm3 > 150 {
		p.Warnings = append(p.Warnings, fmt.Sprintf("%.0f mg/L of potassium and %.0f mg/L of chloride stand in the water at the end: change half before planting, or give half of the base as calcium.", p.KGm3, p.ClGm3))
	}
	if p.NaGm3 > 50 {
		p.Warnings = append(p.Warnings, fmt.Sprintf("%.0f mg/L of sodium from the base stay and harm greens above 50: take potassium bicarbonate, or change the water before planting.", p.NaGm3))
	}
	if n := p.Days[len(p.Days)-1].NO3NGm3; n > 40 {
		p.Warnings = append(p.Warnings, fmt.Sprintf("%.0f mg/L of nitrate nitrogen at the end: plants take it, fish of cold water want less than 75.", n))
	}
	p.Cautions = []string{cautionFish, cautionMeasure, cautionAmmonia, cautionBase}
	p.Simplified = append([]string{"Doses are stirred evenly into the whole loop; pour them slowly where the pump draws.",
		"Base is reckoned for the salt; ammonia solution in its place brings 3.6 mg/L of alkalinity as CaCO3 for each mg/L of nitrogen."}, simplifiedBoth...)
	p.Sources = append([]string{"[srac-4502] DeLong and Losordo 2012: alkalinity 150, then 200 to 250 mg/L in the nitrite stage; ammonia and nitrite nitrogen below 5 mg/L",
		"[anthonisen-1976] un-ionised ammonia slows nitrite oxidisers from 0.1 to 1 mg/L; held below 0.25"}, sourcesBoth...)
}
