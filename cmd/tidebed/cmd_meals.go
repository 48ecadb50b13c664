package main

import (
	"context"
	"fmt"
	"strings"
	"text/tabwriter"

	"tidebed/meals"
	"tidebed/numeric/lp"
	"tidebed/quantity"
	"tidebed/site"
)

type mealsCmd struct {
	common
	File string `arg:"" help:"A site file, or demo."`
	Menu string `placeholder:"FOOD=MASS;…" help:"Judge a menu of your own for the next home-fed days instead: what each person eats in a day, as eaten, such as 'potato_boiled=400 g; egg_boiled=100 g'."`
}

// Help adds what the exit status says.
func (c *mealsCmd) Help() string {
	return "Exit status 3: on the next home-fed days someone still needs food from elsewhere, beyond the building and its store cupboard, to reach the full need or the floor the house has set. All eaters served, or all days over: 0.\n\n" + statuses
}

// Run answers whether the building feeds its people.
func (c *mealsCmd) Run(ctx context.Context, s streams) error {
	b, warnings, err := open(c.File)
	if err != nil {
		return err
	}
	today, err := c.day(b)
	if err != nil {
		return err
	}
	if c.Menu != "" {
		return c.judge(s, b, today)
	}
	pool := lp.NewPool(2)
	defer pool.Close()
	var progress meals.Progress
	if s.terminal && !c.JSON {
		progress = func(done, of int, what string) {
			fmt.Fprintf(s.err, "menus of %d of %d sets of days: %s\n", done, of, what)
		}
	}
	a, err := meals.Forecast(ctx, pool, b, today, progress)
	if err != nil {
		return err
	}
	for _, w := range warnings {
		a.Warnings = append(a.Warnings, w.Message)
	}
	if c.JSON {
		err = s.json(a)
	} else {
		err = printMeals(s, a)
	}
	if err != nil {
		return err
	}
	for _, o := range a.Occasions {
		if o.Past {
			continue
		}
		for _, x := range o.Outside {
			if x.KcalDay > 0 {
				return errNo
			}
		}
		break
	}
	return nil
}

// typed reads a menu of the form FOOD=MASS; FOOD=MASS.
func typed(text string) (map[string]float64, error) {
	grams := map[string]float64{}
	for part := range strings.SplitSeq(text, ";") {
		if strings.TrimSpace(part) == "" {
			continue
		}
		key, amount, ok := strings.Cut(part, "=")
		if !ok {
			return nil, bad{"menu", fmt.Errorf("--menu: %q is no FOOD=MASS; write for example potato_boiled=400 g", strings.TrimSpace(part))}
		}
		kg, err := quantity.Parse(strings.TrimSpace(amount), quantity.Mass)
		if err != nil {
			return nil, bad{"menu", fmt.Errorf("--menu: %s: %w", strings.TrimSpace(key), err)}
		}
		g, err := quantity.In(kg, quantity.Mass, "g")
		if err != nil {
			return nil, err
		}
		grams[strings.TrimSpace(key)] += g
	}
	return grams, nil
}

// judge prints what a typed menu gives the eaters of the next home-fed days.
func (c *mealsCmd) judge(s streams, b *site.Site, today site.Date) error {
	grams, err := typed(c.Menu)
	if err != nil {
		return err
	}
	for _, set := range b.HomeFed {
		if set.To.Before(today.Time) {
			continue
		}
		m, err := meals.Assess(b, set, grams, false)
		if err != nil {
			return bad{"menu", err}
		}
		if c.JSON {
			return s.json(m)
		}
		fmt.Fprintf(s.out, "For %s this menu gives %s of the energy of all.\n\n", set.Name, meals.Percent(m.MeanShare))
		w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
		fmt.Fprintln(w, "eater\tenergy\tkcal a day\tg a day")
		for _, e := range m.Eaters {
			fmt.Fprintf(w, "%s\t%s\t%.0f\t%.0f\n", e.Name, meals.Percent(e.Share), e.InsideKcal, e.MassG)
		}
		if err := w.Flush(); err != nil {
			return err
		}
		for _, e := range m.Eaters {
			for _, line := range e.Warnings {
				fmt.Fprintf(s.out, "! %s: %s\n", e.Name, line)
			}
		}
		fmt.Fprintln(s.out, meals.Disclaimer)
		return nil
	}
	return bad{"menu", fmt.Errorf("no home-fed days lie ahead of %s: name some in the site file", today)}
}

func printMeals(s streams, a *meals.Answer) error {
	fmt.Fprintf(s.out, "%s\n", a.Sentence)
	for _, w := range a.Warnings {
		fmt.Fprintf(s.out, "! %s\n", w)
	}
	for _, o := range a.Occasions {
		fmt.Fprintf(s.out, "\n%s, %s to %s\n", strings.ToUpper(o.Name), o.From, o.To)
		if o.Past {
			fmt.Fprintln(s.out, "  over; a record")
			continue
		}
		fmt.Fprintf(s.out, "  %s\n", o.Sentence)
		for _, r := range o.Reasons {
			fmt.Fprintf(s.out, "  %s\n", r)
		}
		w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
		fmt.Fprintln(w, "\n  yields\tworst-off eater\tall\twith the cupboard")
		for _, r := range []meals.Run{o.Low, o.Typical, o.High} {
			fmt.Fprintf(w, "  %s\t%s\t%s\t%s\n", r.Yield, meals.Percent(r.WorstShare), meals.Percent(r.MeanShare), meals.Percent(r.WithCupboardShare))
		}
		fmt.Fprintf(w, "  ceiling\t%s\tlow yields, the largest portions a person will eat\n", meals.Percent(o.CeilingShare))
		if len(o.Outside) > 0 {
			fmt.Fprintln(w, "\n  must come from outside\tkcal a day still to find\tfrom the cupboard")
			for _, x := range o.Outside {
				fmt.Fprintf(w, "  %s\t%.0f\t%.0f\n", x.Eater, x.KcalDay, x.BoughtDay)
			}
		}
		if len(o.Helps) > 0 {
			fmt.Fprintln(w, "\n  would help most\tpoints\tall that fits")
			for _, h := range o.Helps {
				fmt.Fprintf(w, "  %s\t+%.1f\t%s\n", h.What, h.Gain*100, h.Whole)
				if h.Caution != "" {
					fmt.Fprintf(w, "    mind: %s\t\t\n", h.Caution)
				}
			}
		}
		if len(o.Lacks) > 0 {
			fmt.Fprintln(w, "\n  short of\tof the target\tworst for\t")
			for _, l := range o.Lacks {
				state := "the body's stores bridge these days"
				switch {
				case l.Sourceless:
					state = "no food on hand contains it"
				case l.Matters:
					state = "matters within these days"
				}
				fmt.Fprintf(w, "  %s\t%s\t%s\t%s\n", l.Nutrient, meals.Percent(l.Share), l.Eater, state)
			}
		}
		if m := o.Low.Menu; m != nil && len(m.Portions) > 0 {
			fmt.Fprintln(w, "\n  menu\tg per person and day\tfrom")
			for _, p := range m.Portions {
				from := "cupboard"
				if p.Inside {
					from = "inside"
				}
				fmt.Fprintf(w, "  %s\t%s\t%s\n", p.Name, grams(p.Grams/float64(len(o.Eaters)*o.Days)), from)
			}
		}
		if len(o.Missed) > 0 {
			fmt.Fprintln(w, "\n  not on this table\twhy")
			for _, m := range o.Missed {
				fmt.Fprintf(w, "  %s\t%s\n", m.What, m.Why)
			}
		}
		if err := w.Flush(); err != nil {
			return err
		}
		for _, line := range o.Warnings {
			fmt.Fprintf(s.out, "  ! %s\n", line)
		}
		for _, x := range o.Cautions {
			fmt.Fprintf(s.out, "  caution, %s: %s\n", x.About, x.Text)
		}
	}
	return nil
}

// grams prints what is on a plate; a pinch keeps its decimal.
func grams(g float64) string {
	switch {
	case g < 0.1:
		return "under 0.1"
	case g < 10:
		return fmt.Sprintf("%.1f", g)
	}
	return fmt.Sprintf("%.0f", g)
}
