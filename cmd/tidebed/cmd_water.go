package main

import (
	"fmt"
	"text/tabwriter"

	"tidebed/season"
	"tidebed/site"
)

type waterCmd struct {
	common
	File    string `arg:"" help:"A site file, or demo."`
	Loop    string `placeholder:"NAME" help:"Only this loop."`
	Weeks   int    `default:"8" help:"How far to look ahead, 1 to 100."`
	Undosed bool   `help:"Without the doses that a keeper would give."`
}

// Help tells the statuses.
func (c *waterCmd) Help() string {
	return "At typical growth, and where low or high growth is worse so told. Exit status 3: within the weeks, in any of the three, oxygen, un-ionised ammonia, nitrite or pH leaves what the fish of a tank bear for long. " + c.common.Help()
}

// Run prints what the water of each tank will do, and what is to be dosed.
func (c *waterCmd) Run(s streams) error {
	b, _, err := open(c.File)
	if err != nil {
		return err
	}
	today, err := c.day(b)
	if err != nil {
		return err
	}
	if c.Weeks < 1 || c.Weeks > 100 {
		return bad{"weeks", fmt.Errorf("--weeks %d: give 1 to 100", c.Weeks)}
	}
	until := today.Plus(7 * c.Weeks)
	if until.Before(b.Opening.Date.Time) || b.Opening.Date.DaysTo(until) >= season.LongestDays {
		return bad{"today", fmt.Errorf("--today %s: the weeks must lie within %d days after the opening, %s", today, season.LongestDays, b.Opening.Date)}
	}
	all, err := season.All(b, season.Options{To: until, Undosed: c.Undosed})
	if err != nil {
		return bad{"file", err}
	}
	f := all[season.Typical]
	var loops []season.LoopCourse
	for _, l := range f.Loops {
		if c.Loop == "" || c.Loop == l.Name {
			loops = append(loops, l)
		}
	}
	if c.Loop != "" && len(loops) == 0 {
		names := ""
		for _, l := range f.Loops {
			names += " " + l.Name
		}
		return bad{"loop", fmt.Errorf("--loop %s: there is no such loop; there is%s", c.Loop, names)}
	}
	sentence := season.WaterSentence(loops, today, until, site.Date.String)
	var worse []season.Worse
	danger := false
	for _, x := range season.WorseCrossings(all) {
		if c.Loop == "" || c.Loop == x.Loop {
			worse = append(worse, x)
		}
	}
	for _, f := range all {
		for i := range f.Loops {
			l := &f.Loops[i]
			if l.Water == nil || c.Loop != "" && c.Loop != l.Name {
				continue
			}
			for _, cell := range l.Water.Cells {
				for i := range cell.Leaves {
					danger = danger || cell.Leaves[i].Danger(today, until)
				}
			}
		}
	}
	if c.JSON {
		err = s.json(struct {
			Sentence string              `json:"sentence"`
			Course   string              `json:"course"`
			From     site.Date           `json:"from"`
			Until    site.Date           `json:"until"`
			Loops    []season.LoopCourse `json:"loops"`
			Worse    []season.Worse      `json:"worse"`
			Cautions []string            `json:"cautions"`
		}{sentence, f.Yield, today, until, loops, worse, season.DoseCautions})
	} else {
		err = printWater(s, sentence, loops, worse, f.Cohorts, today)
	}
	if err == nil && danger {
		return errNo
	}
	return err
}

func printWater(s streams, sentence string, loops []season.LoopCourse, worse []season.Worse, cohorts []season.CohortCourse, today site.Date) error {
	fmt.Fprintln(s.out, sentence)
	for i := range worse {
		fmt.Fprintf(s.out, "%s: %s.\n", worse[i].Saying(site.Date.String), worse[i].Remedy())
	}
	for _, l := range loops {
		if l.Water == nil {
			continue
		}
		for _, note := range l.Water.Notes {
			fmt.Fprintln(s.out, "!", note)
		}
		for _, c := range l.Water.Cells {
			if c.Tank == "" {
				continue
			}
			fmt.Fprintf(s.out, "\n%s, loop %s, limits of the group %s; each week's day\n", c.Tank, l.Name, c.Group)
			w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
			fmt.Fprintln(w, "  day\t°C\toxygen, least\tammonia N\tun-ionised\tnitrite N\tnitrate N\tpH\talkalinity\tCO2")
			for i := range c.Days {
				d := &c.Days[i]
				if d.Day.Before(today.Time) || today.DaysTo(d.Day)%7 != 0 {
					continue
				}
				fmt.Fprintf(w, "  %s\t%.1f\t%.1f\t%.2f\t%.4f\t%.3f\t%.0f\t%.1f to %.1f\t%.0f\t%.1f\n", d.Day, d.TempC, d.DOMinGm3, d.TANMaxGm3, d.NH3NMaxGm3, d.NO2NMaxGm3, d.NO3NGm3, d.PHMin, d.PHMax, d.Value("alkalinity", false), d.CO2MaxGm3)
			}
			for _, x := range c.Leaves {
				fmt.Fprintf(w, "  %s\t%s: %s (%.3g, limit %.3g %s) until %s: %s\n", x.Day, x.Verdict, x.Parameter, x.Value, x.Limit, x.Unit, x.Until, x.Cause)
			}
			if err := w.Flush(); err != nil {
				return err
			}
		}
		w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
		fmt.Fprintf(w, "\nloop %s: doses of two weeks\t\t\n", l.Name)
		given := false
		for i := range l.Water.Doses {
			d := &l.Water.Doses[i]
			if d.Day.Before(today.Time) || today.DaysTo(d.Day) > 14 {
				continue
			}
			given = true
			amount := d.Amount()
			if d.Held {
				amount = "held back"
			}
			fmt.Fprintf(w, "  %s\t%s\t%s\t%s\n", d.Day, amount, d.What, d.Why)
		}
		if !given {
			fmt.Fprintln(w, "  none")
		}
		fmt.Fprintf(w, "\nloop %s: balance\there\trule of the trade\tmass balance\n", l.Name)
		for _, r := range l.Balance(cohorts) {
			fmt.Fprintf(w, "  %s\t%s\t%s\t%s\n", r.What, r.Here, r.Rule, r.Balance)
		}
		for _, x := range l.Shortages() {
			fmt.Fprintf(w, "  short of %s from %s\t%.2g g/m³\tample from %.2g\tcomes: %s; helps: %s\n", x.Food, x.Day, x.Gm3, x.Ample, x.Given, x.Remedy)
		}
		from, to, total := l.WholeNitrogen()
		fmt.Fprintf(w, "\nloop %s: nitrogen, %d g\t\t\n", l.Name, total)
		for side, parts := range [2][]season.WholePart{from, to} {
			for _, p := range parts {
				fmt.Fprintf(w, "  %s %s\t%d g\t%d %%\n", [2]string{"from", "to"}[side], p.Name, p.Grams, p.Percent)
			}
		}
		if err := w.Flush(); err != nil {
			return err
		}
	}
	fmt.Fprintln(s.out)
	for _, caution := range season.DoseCautions {
		fmt.Fprintln(s.out, "!", caution)
	}
	return nil
}
