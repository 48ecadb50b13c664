package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"text/tabwriter"

	"tidebed/climate"
	"tidebed/meals"
	"tidebed/season"
	"tidebed/site"
	"tidebed/warmth"
)

type heatCmd struct {
	common
	File     string `arg:"" optional:"" default:"demo" help:"A site file, or demo."`
	Weather  string `placeholder:"FILE" help:"A weather file (EPW, TMY3 or a plain CSV of hours) in place of the site's normals."`
	Variants bool   `help:"What would help most: curtain, second skin, lids, lower set points, a closed zone …, each run through the year."`
	Years    int    `placeholder:"100" help:"Run so many made-up years of this place's weather: how bad can it get?"`
	Seed     uint64 `default:"1" help:"Of the made-up years: the same seed, the same years."`
	Fish     string `placeholder:"TANK" help:"Rank the species by the heat a kilogram takes in that tank."`
}

// Help adds what the exit status says.
func (c *heatCmd) Help() string {
	return "A year from the opening, hour by hour.\n\nExit status 3: heaters do not reach their set points, or fuel must have been ordered before the day that is spoken from.\n\n" + statuses
}

// heatJSON is the answer as JSON.
type heatJSON struct {
	Year     *warmth.Year         `json:"year"`
	Sizing   *warmth.Sizing       `json:"sizing"`
	Answer   string               `json:"answer"`
	Drains   []warmth.Drain       `json:"drains"`
	Variants []warmth.Variant     `json:"variants,omitempty"` // in the order of warmth.OrderRule
	Together *warmth.Combination  `json:"together,omitempty"` // what pays, at once
	Closed   *warmth.Combination  `json:"closed,omitempty"`   // and one zone or loop closed for the winter
	Most     *warmth.Combination  `json:"most,omitempty"`     // and air and water kept cooler
	Fish     []warmth.FishHeatRow `json:"fish,omitempty"`
	Made     []season.MadeYear    `json:"madeYears,omitempty"`
}

// restShare is the share of the year at full power from which on a tank's heater
// counts as too weak.
const restShare = 0.95

// readWeather reads a weather file and what is to be told of it.
func readWeather(name string) (*climate.Series, []string, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, nil, bad{"weather", fmt.Errorf("--weather: %w", err)}
	}
	defer f.Close()
	series, report, err := climate.ReadFile(name, f)
	if err != nil {
		return nil, nil, bad{"weather", fmt.Errorf("--weather: %w", err)}
	}
	return series, report.Notes, nil
}

// Run tells what the building takes in heat and power, and what it costs.
func (c *heatCmd) Run(ctx context.Context, s streams) error {
	b, _, err := open(c.File)
	if err != nil {
		return err
	}
	today, err := c.day(b)
	if err != nil {
		return err
	}
	var notes []string
	year := func(b *site.Site) (*warmth.Building, *warmth.Year, error) { return season.Warmth(b) }
	if c.Weather != "" {
		file, told, err := readWeather(c.Weather)
		if err != nil {
			return err
		}
		notes = told
		year = func(b *site.Site) (*warmth.Building, *warmth.Year, error) {
			sky, far, err := season.NewSkyUnder(b, file)
			if err != nil {
				return nil, nil, err
			}
			for _, n := range far {
				if !slices.Contains(notes, n) {
					notes = append(notes, n)
				}
			}
			return season.WarmthUnder(b, sky)
		}
	}
	yearOf := func(b *site.Site) (*warmth.Year, error) {
		_, y, err := year(b)
		return y, err
	}
	building, y, err := year(b)
	if err != nil {
		return bad{"file", err}
	}
	y.SpeakFrom(today)
	if !c.JSON {
		for _, n := range notes {
			fmt.Fprintln(s.out, n)
		}
	}
	out := heatJSON{Year: y}
	if out.Sizing, err = warmth.Size(building, y); err != nil {
		return bad{"file", err}
	}
	if c.Variants {
		if out.Variants, err = warmth.Variants(ctx, yearOf, b); err == nil {
			err = meals.TellClosings(ctx, nil, b, today, out.Variants)
		}
		if err == nil {
			out.Together, out.Closed, out.Most, err = warmth.Together(ctx, yearOf, b, out.Variants)
		}
		if err != nil {
			if errors.Is(err, context.Canceled) {
				return err
			}
			return bad{"file", err}
		}
	}
	if c.Fish != "" {
		if out.Fish, err = warmth.FishHeat(ctx, yearOf, b, c.Fish); err != nil {
			if errors.Is(err, context.Canceled) {
				return err
			}
			return bad{"fish", fmt.Errorf("--fish: %w", err)}
		}
	}
	if c.Years != 0 {
		if out.Made, err = season.MadeYears(ctx, b, c.Years, c.Seed, func(done int) {
			if s.terminal && !c.JSON {
				fmt.Fprintf(s.err, "\r%d of %d years", done, c.Years)
			}
		}); err != nil {
			if errors.Is(err, context.Canceled) {
				return err
			}
			return bad{"years", fmt.Errorf("--years: %w", err)}
		}
		if s.terminal && !c.JSON {
			fmt.Fprint(s.err, "\r                    \r")
		}
	}
	out.Answer, out.Drains = y.Answer(out.Variants, moneyOf(y), plainWhole), y.Drains()
	no := false
	for i := range y.Zones {
		no = no || y.Zones[i].ShortH > 0
	}
	for i := range y.Fuels {
		no = no || y.Fuels[i].Late
	}
	var weak []string // heaters that never rest
	for i := range y.Heaters {
		if h := &y.Heaters[i]; h.Tank && h.FullH > restShare*24*float64(len(y.Days)) {
			weak, no = append(weak, fmt.Sprintf("%s runs nearly without a rest and does not hold %s at its water: take a stronger one, insulate the tank or lower its water.", h.Name, h.In)), true
		}
	}
	if c.JSON {
		return ended(s.json(out), no)
	}
	if err := printHeat(s, &out); err != nil {
		return err
	}
	for _, line := range weak {
		fmt.Fprintln(s.out, line)
	}
	return ended(nil, no)
}

// plainWhole prints a number to the unit; moneyOf an amount of a year's money.
func plainWhole(v float64) string { return fmt.Sprintf("%.0f", v) }

func moneyOf(y *warmth.Year) func(float64) string {
	return func(v float64) string { return plainWhole(v) + " " + y.Currency }
}

// printMachines tells of pads, dehumidifiers and heaters that switch over a band,
// where there are any.
func printMachines(w io.Writer, y *warmth.Year) {
	any := false
	for i := range y.Zones {
		z := &y.Zones[i]
		any = any || z.PadH > 0 || z.DryH > 0 || z.Starts > 0
	}
	if !any {
		return
	}
	fmt.Fprintln(w, "\nmachines of\tpad wet h\tpad water L\tdehumidifier h\tcaught L\tled to\tstarts of heaters")
	for i := range y.Zones {
		z := &y.Zones[i]
		to := z.CaughtTo
		if to == "" && z.CaughtL > 0 {
			to = "poured away"
		}
		fmt.Fprintf(w, "%s\t%.0f\t%.0f\t%.0f\t%.0f\t%s\t%.0f\n", z.Name, z.PadH, z.PadL, z.DryH, z.CaughtL, to, z.Starts)
	}
}

func printHeat(s streams, out *heatJSON) error {
	y := out.Year
	money, amounts := moneyOf(y), y.Amounts()
	fmt.Fprintln(s.out, out.Answer)
	if len(out.Variants) == 0 {
		fmt.Fprintln(s.out, "What to do first: see --variants.")
	}
	for i := range y.Fuels {
		if y.Fuels[i].Late {
			fmt.Fprintln(s.out, y.Fuels[i].Say)
		}
	}
	fmt.Fprintf(s.out, "From %s to %s: %.0f kWh of heat and %.0f kWh of electricity cost %s; %.0f %% of the energy is the building's own.\n", y.From, y.To, y.HeatKWh, y.ElectricKWh, money(y.Money), 100*y.Own.Share)
	fmt.Fprintln(s.out, "That is a year of the normals, smooth from day to day; real years take some more, and bad ones a quarter: see --years.")
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "\nzone\tleast °C\tmean\tgreatest\theat kWh\thours short\ttranspired L\ton covers L")
	for i := range y.Zones {
		z := &y.Zones[i]
		fmt.Fprintf(w, "%s\t%.1f\t%.1f\t%.1f\t%.0f\t%.0f\t%.0f\t%.0f\n", z.Name, z.LeastC, z.MeanC, z.GreatestC, z.HeatKWh, z.ShortH, z.TranspiredL, z.CoverL)
	}
	printMachines(w, y)
	fmt.Fprintln(w, "\nheater\twarms\tkWh\tfuel\tcost\tfull hours")
	for i := range y.Heaters {
		h := &y.Heaters[i]
		fmt.Fprintf(w, "%s\t%s\t%.0f\t%.0f %s\t%s\t%.0f\n", h.Name, h.In, h.HeatKWh, h.Units, h.Unit, money(amounts.Heater(h)), h.FullH)
	}
	fmt.Fprintln(w, "\nmonth\toutside °C\theat kWh\telectricity kWh\town sun kWh\tbought kWh\tcost")
	for i := range y.Months {
		m := &y.Months[i]
		fmt.Fprintf(w, "%04d-%02d\t%.1f\t%.0f\t%.0f\t%.0f\t%.0f\t%s\n", m.Year, m.Month, m.OutC, m.HeatKWh, m.ElectricKWh, m.PVKWh-m.ExportKWh, m.GridKWh, money(amounts.Months[i]))
	}
	fmt.Fprintln(w, "\nwhat the money goes into\tkWh\tshare\tcost")
	for i := range out.Drains {
		d, cost := &out.Drains[i], 0.0
		for _, at := range d.Items {
			cost += amounts.Items[at]
		}
		share := "-"
		if y.Money > 0 {
			share = fmt.Sprintf("%.0f %%", 100*d.Money/y.Money)
		}
		fmt.Fprintf(w, "%s\t%.0f\t%s\t%s\n", d.Name, d.KWh, share, money(cost))
	}
	fmt.Fprintln(w, "\nwhat is paid for\tin\tcause\tkWh\tcost")
	for i := range y.Bill.Items {
		x := &y.Bill.Items[i]
		if math.Abs(x.Money) < 0.5 {
			continue
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%.0f\t%s\n", x.What, x.In, x.Cause, x.KWh, money(amounts.Items[i]))
	}
	fmt.Fprintf(w, "all, with what is less than half a unit\t\t\t\t%s\n", money(amounts.Total))
	fmt.Fprintln(w, "\nwater of loop\tevaporated L\ttranspired L\tcondensed L\trecovered L\ttopped up L")
	for i := range y.Loops {
		l := &y.Loops[i]
		fmt.Fprintf(w, "%s\t%.0f\t%.0f\t%.0f\t%.0f\t%.0f\n", l.Name, l.EvaporatedL, l.TranspiredL, l.CondensedL, l.RecoveredL, l.ToppedUpL)
	}
	if len(out.Variants) > 0 {
		fmt.Fprintln(w, "\nwhat would help\theat saved kWh\tsaved a year\tits price\tpaid back in years\tgives up\tmind")
		for i := range out.Variants {
			v := &out.Variants[i]
			price, back := "ask", "-"
			if v.CostKnown {
				price = fmt.Sprintf("%.0f to %.0f", v.CostLow, v.CostHigh)
				if v.CostHigh == 0 {
					price, back = "nothing to buy", "at once"
				}
			}
			if v.CostHigh > 0 && v.PaybackLowY != nil && v.PaybackHighY != nil {
				back = fmt.Sprintf("%.1f to %.1f", *v.PaybackLowY, *v.PaybackHighY)
			}
			if v.Fault != "" {
				back = "cannot be reckoned: " + v.Fault
			}
			up := "nothing"
			if v.GivesUp() {
				up = "crop or fish"
			}
			fmt.Fprintf(w, "%s\t%.0f\t%s\t%s\t%s\t%s\t%s\n", v.What, v.SavedKWh, money(v.SavedMoney), price, back, up, v.Caution)
		}
	}
	if len(out.Made) > 0 {
		fmt.Fprintf(w, "\nof %d made-up years\tlowest\ta quarter below\tmiddle\ta quarter above\thighest\n", len(out.Made))
		for _, row := range []struct {
			what string
			of   func(season.MadeYear) float64
		}{
			{"heat, kWh", func(m season.MadeYear) float64 { return m.HeatKWh }}, {"greatest hour of heat, kW", func(m season.MadeYear) float64 { return m.PeakHeatKW }},
			{"electricity bought, kWh", func(m season.MadeYear) float64 { return m.GridKWh }}, {"cost, " + y.Currency, func(m season.MadeYear) float64 { return m.Money }},
			{"coldest hour outside, °C", func(m season.MadeYear) float64 { return m.ColdestC }}, {"coldest air inside, °C", func(m season.MadeYear) float64 { return m.LeastC }},
			{"hours in which heaters fell short", func(m season.MadeYear) float64 { return m.ShortH }}, {"water topped up, m³", func(m season.MadeYear) float64 { return m.ToppedUpM3 }},
		} {
			var all []float64
			for _, m := range out.Made {
				all = append(all, row.of(m))
			}
			slices.Sort(all)
			n := len(all) - 1
			fmt.Fprintf(w, "%s\t%.4g\t%.4g\t%.4g\t%.4g\t%.4g\n", row.what, all[0], all[n/4], all[n/2], all[(3*n+3)/4], all[n])
		}
	}
	if len(out.Fish) > 0 {
		fmt.Fprintln(w, "\nfish\theld at °C\theat kWh\tkg a year\tkWh a kg\tcost a kg\tnote")
		for i := range out.Fish {
			f := &out.Fish[i]
			fmt.Fprintf(w, "%s\t%.0f\t%.0f\t%.0f\t%.1f\t%.2f %s\t%s\n", f.Name, f.BestC, f.HeatKWh, f.KgYear, f.KWhKg, f.MoneyKg, y.Currency, f.Note)
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(s.out)
	if len(out.Variants) > 0 {
		fmt.Fprintln(s.out, warmth.RuleOf(out.Variants))
	}
	if out.Together != nil {
		fmt.Fprintln(s.out, out.Together.Say(out.Closed, out.Most))
		for _, m := range out.Together.Measures {
			fmt.Fprintf(s.out, "  pays: %s\n", m)
		}
		if out.Closed != nil {
			for _, m := range out.Closed.Loses {
				fmt.Fprintf(s.out, "  lost by closing: %s\n", m)
			}
		}
	}
	for i := range out.Sizing.Zones {
		fmt.Fprintln(s.out, out.Sizing.Zones[i].Say)
	}
	fmt.Fprintln(s.out, out.Sizing.Cut.Say)
	for i := range y.Fuels {
		if !y.Fuels[i].Late && y.Fuels[i].Say != "" { // else it stands above
			fmt.Fprintln(s.out, y.Fuels[i].Say)
		}
	}
	for _, a := range y.Assumed {
		fmt.Fprintf(s.out, "default: %s\n", a)
	}
	for _, line := range y.Cautions {
		fmt.Fprintf(s.out, "! %s\n", line)
	}
	return nil
}
