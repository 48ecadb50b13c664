package main

import (
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"

	"tidebed/inhand"
)

type hoursCmd struct {
	common
	File string `arg:"" optional:"" default:"demo" help:"A site file, or demo."`
	Card bool   `help:"Print the card for a stand-in instead: what to do first, second, third."`
}

// Help adds what the exit status says.
func (c *hoursCmd) Help() string {
	return "Exit status 3: when something stops, the fish of some tank suffer in less than half an hour.\n\n" + statuses
}

// Run tells how long each tank's fish have when pump or air stop.
func (c *hoursCmd) Run(s streams) error {
	b, _, err := open(c.File)
	if err != nil {
		return err
	}
	if _, err := c.day(b); err != nil {
		return err
	}
	a, err := inhand.Of(b, inhand.StockOf(b), inhand.Options{})
	if err != nil {
		return bad{"file", err}
	}
	warm, err := inhand.WarmOf(b) // nil where the building is not described
	if err != nil && !errors.Is(err, inhand.ErrNoSkin) {
		return bad{"file", err}
	}
	switch {
	case c.JSON:
		err = s.json(struct {
			*inhand.Answer
			Warm *inhand.Warm `json:"warm,omitempty"`
		}{a, warm})
	case c.Card:
		err = printCard(s, a, warm)
	default:
		err = printHours(s, a, warm)
	}
	if err == nil && a.Emergency {
		return errNo
	}
	return err
}

func printHours(s streams, a *inhand.Answer, warm *inhand.Warm) error {
	fmt.Fprintln(s.out, a.Headline)
	for _, r := range a.Reasons {
		fmt.Fprintln(s.out, r)
	}
	for _, t := range a.InOrder() {
		fmt.Fprintf(s.out, "\n%s: %.0f fish, %.3g kg, %.3g m³, %.3g °C; time until, %s\n", strings.ToUpper(t.Name), t.Number, t.BiomassKg, t.VolumeM3, t.TempC, a.When)
		w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
		fmt.Fprint(w, "  what stops\tverdict")
		for _, l := range inhand.Levels() {
			fmt.Fprintf(w, "\t%s", l)
		}
		fmt.Fprintln(w)
		for i := range t.Times {
			x := &t.Times[i]
			if x.Moment != a.Moment {
				continue
			}
			fmt.Fprintf(w, "  %s\t%s", x.Name, x.State)
			for _, l := range inhand.Levels() {
				text := "-"
				for _, th := range x.Thresholds {
					if th.Level == l {
						text = th.Text
					}
				}
				fmt.Fprintf(w, "\t%s", text)
			}
			fmt.Fprintln(w)
		}
		if err := w.Flush(); err != nil {
			return err
		}
	}
	if a.First != nil {
		fmt.Fprintf(s.out, "\nWHAT BUYS MOST TIME for %s, %s (now %s)\n", a.First.Tank, a.First.Case.Name, a.First.Text)
		w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
		for _, m := range a.Buys {
			fmt.Fprintf(w, "  %s\t%s\t%s\n", m.Name, m.Text, m.Won)
		}
		if err := w.Flush(); err != nil {
			return err
		}
		fmt.Fprintln(s.out, a.BuysNote)
	}
	if warm != nil {
		fmt.Fprintf(s.out, "\nWHEN THE HEAT STOPS, OR THE VENTS ON A HOT DAY\n%s\n", warm.Headline)
		w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
		for _, r := range warm.Rows() {
			where := "air of " + r.Zone
			if r.Tank != "" {
				where = strings.TrimSuffix(r.Tank+", "+r.Fish, ", ")
			}
			fmt.Fprintf(w, "  %s\t%s\t%s\t%s\n", r.When, where, r.Level, r.Text)
		}
		if err := w.Flush(); err != nil {
			return err
		}
	}
	for _, n := range a.Notes {
		fmt.Fprintf(s.out, "! %s\n", n)
	}
	for _, n := range a.Cautions {
		fmt.Fprintf(s.out, "! %s\n", n)
	}
	return nil
}

func printCard(s streams, a *inhand.Answer, warm *inhand.Warm) error {
	fmt.Fprintf(s.out, "IF THE PUMP OR THE AIR STOPS (made for the fish of %s)\n\n", a.StockOn)
	for i, d := range a.Do {
		fmt.Fprintf(s.out, "%d. %s\n", i+1, d)
	}
	fmt.Fprintln(s.out, "\nTime until the fish suffer, at the worst hour of the day:")
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprint(w, "  tank")
	for _, k := range inhand.CardCases() {
		fmt.Fprintf(w, "\t%s", k.Name)
	}
	fmt.Fprintln(w)
	for _, t := range a.InOrder() {
		fmt.Fprintf(w, "  %s", t.Name)
		for _, k := range inhand.CardCases() {
			text := "-"
			if t.Has(k.ID) {
				text = inhand.TextOf(t.Soonest(k.ID))
			}
			fmt.Fprintf(w, "\t%s", text)
		}
		fmt.Fprintln(w)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if warm != nil {
		fmt.Fprintln(s.out, "\nWhen the heat stops, or the vents on a hot day:")
		for _, line := range warm.Lines() {
			fmt.Fprintf(s.out, "- %s\n", line)
		}
	}
	fmt.Fprintln(s.out, "\nWhen it runs again:")
	for _, d := range a.Back {
		fmt.Fprintf(s.out, "- %s\n", d)
	}
	fmt.Fprintln(s.out, "\nCall: keeper ______________  neighbour ______________  electrician ______________\nThe battery stands: ______________")
	for _, n := range a.Cautions {
		fmt.Fprintf(s.out, "! %s\n", n)
	}
	return nil
}
