package main

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"tidebed/larder"
	"tidebed/meals"
	"tidebed/season"
	"tidebed/site"
)

type forecastCmd struct {
	common
	File    string `arg:"" help:"A site file, or demo."`
	Weather string `placeholder:"FILE" help:"A weather file (EPW, TMY3 or a plain CSV of hours) in place of the site's normals."`
}

// Run prints what becomes of the plantings, the fish and the water, in the
// three courses. What is eaten on the home-fed days is not taken out: meals
// does that.
func (c *forecastCmd) Run(s streams) error {
	b, _, err := open(c.File)
	if err != nil {
		return err
	}
	if _, err := c.day(b); err != nil {
		return err
	}
	all, notes, err := c.seasons(b)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(map[string]*season.Forecast{
			"low": all[season.Low], "typical": all[season.Typical], "high": all[season.High],
		})
	}
	for _, n := range notes {
		fmt.Fprintln(s.out, n)
	}
	if err := printForecast(s, all); err != nil {
		return err
	}
	today, err := c.day(b)
	if err != nil {
		return err
	}
	places, err := larder.Places(b, today)
	if err != nil {
		return bad{"file", err}
	}
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(w, "\nlarder on %s\tkg\tkeeps to\tkWh a week\n", today)
	for _, p := range places {
		fmt.Fprintf(w, "%s\t%.0f of %.0f\t\t%.0f\n", p.Place.Name, p.Kg, p.Place.CapacityKg, p.KWhWeek)
		for _, t := range p.Things {
			fmt.Fprintf(w, "  %s\t%.1f\t%s, %s\t\n", t.Food, t.LeftKg, t.KeepsTo, t.Why)
		}
	}
	return w.Flush()
}

// seasons runs the three courses, under a weather file where one is given, with what
// is to be said of it.
func (c *forecastCmd) seasons(b *site.Site) (all [season.Courses]*season.Forecast, notes []string, err error) {
	if c.Weather == "" {
		if all, err = meals.Seasons(b); err != nil {
			return all, nil, bad{"file", err}
		}
		return all, nil, nil
	}
	file, notes, err := readWeather(c.Weather)
	if err != nil {
		return all, nil, err
	}
	sky, far, err := season.NewSkyUnder(b, file)
	if err != nil {
		return all, nil, bad{"file", err}
	}
	o := season.Ahead(b)
	o.Sky = sky
	if all, err = season.All(b, o); err != nil {
		return all, nil, bad{"file", err}
	}
	return all, append(notes, far...), nil
}

// days writes two dates as one when they are the same.
func days(low, high site.Date) string {
	switch {
	case low.IsZero() && high.IsZero():
		return "-"
	case low.IsZero():
		return high.String() + " at best"
	case high.IsZero():
		return low.String()
	case low == high:
		return low.String()
	case low.Before(high.Time):
		low, high = high, low
	}
	return high.String() + " to " + low.String()
}

func printForecast(s streams, all [season.Courses]*season.Forecast) error {
	low, typical, high := all[season.Low], all[season.Typical], all[season.High]
	fmt.Fprintf(s.out, "From %s to %s, if no fish are taken (the pages and meals take out those that are eaten).\n", low.From, low.To)
	for _, w := range low.Warnings {
		fmt.Fprintf(s.out, "! %s\n", w)
	}
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "\nplanting\tbed\tm²\tplanted\tup\tfirst harvest\tpulled\tkg low, typical, high\t")
	for i, p := range low.Plantings {
		t, h := typical.Plantings[i], high.Plantings[i]
		fmt.Fprintf(w, "%s\t%s\t%.3g\t%s\t%s\t%s\t%s\t%.3g, %.3g, %.3g\t%s\n", p.Name, p.Bed, p.AreaM2, p.Planted, days(p.Emerged, p.Emerged),
			days(p.First, h.First), days(p.Pulled, h.Pulled), p.HarvestKg, t.HarvestKg, h.HarvestKg, p.Why)
	}
	fmt.Fprintln(w, "\nfish\ttank\tday\tnumber\tg low, typical, high\tfeed g/d, typical\tkg/m³, typical")
	for i, c := range low.Cohorts {
		for k := 0; k < len(c.Weeks); k += 4 {
			d := c.Weeks[k]
			fmt.Fprintf(w, "%s\t%s\t%s\t%.0f\t%.0f, %.0f, %.0f\t%.0f\t%.1f\n", c.Name, c.Tank, d.Day, d.Number,
				d.WeightG, typical.Cohorts[i].Weeks[k].WeightG, high.Cohorts[i].Weeks[k].WeightG, typical.Cohorts[i].Weeks[k].FeedG, typical.Cohorts[i].Weeks[k].DensityKgM3)
		}
		if !c.TableOn.IsZero() {
			fmt.Fprintf(w, "\tof table size from %s\t\t\t\t\t\n", days(c.TableOn, high.Cohorts[i].TableOn))
		}
	}
	for _, l := range low.Loops {
		fmt.Fprintf(w, "\nloop %s, %.1f m³: nitrogen, g\t\n  at the start, fish and water\t%.0f\n", l.Name, l.VolumeM3, l.Nitrogen.Start)
		for _, e := range l.Nitrogen.In {
			fmt.Fprintf(w, "  in by %s\t%.0f\n", e.Name, e.Amount)
		}
		for _, e := range l.Nitrogen.Out {
			fmt.Fprintf(w, "  out by %s\t%.0f\n", e.Name, e.Amount)
		}
		fmt.Fprintf(w, "  at the end\t%.0f\n  left over\t%.1g\n", l.Nitrogen.End, l.Nitrogen.Left)
		if l.Leaves != nil {
			fmt.Fprintf(w, "  water given off by these plantings, m³\t%.2f; the building's air counts %.2f, for there beds stay planted\n", l.Leaves.PlantingsM3, l.Leaves.BuildingM3)
		}
		fmt.Fprintf(w, "  feed, g/m² planted and day\t%.0f; in these beds nitrogen stands still at %.0f, in a full leafy bed at good light at %.0f; rule books: 40 to 100 for rafts, 15 to 40 for media\n", l.FeedGM2Day, l.StandstillGM2Day, l.LeafyGM2Day)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	for _, p := range low.Plantings {
		for _, line := range p.Warnings {
			fmt.Fprintf(s.out, "! %s, %s: %s\n", p.Name, p.Bed, line)
		}
	}
	for i, f := range high.Feeds { // the hungriest course decides when to order
		if i == 0 {
			fmt.Fprintln(s.out)
		}
		fmt.Fprintln(s.out, strings.TrimSpace(f.Sentence))
	}
	for _, c := range high.Cohorts {
		for _, line := range c.Warnings {
			fmt.Fprintf(s.out, "! %s: %s\n", c.Name, line)
		}
	}
	fmt.Fprintln(s.out, "! Moving, selling and killing fish have their own rules: ask your authority. A forecast of dates is never a promise.")
	return nil
}
