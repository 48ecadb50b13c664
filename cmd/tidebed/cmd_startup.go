package main

import (
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"

	"tidebed/ripen"
)

type startupCmd struct {
	common
	File   string `arg:"" optional:"" default:"demo" help:"A site file, or demo."`
	Loop   string `help:"The loop; left out: the first with beds."`
	FishIn bool   `name:"fish-in" help:"With the opening's fish in it: rations, water changes and salt."`
	Temp   string `placeholder:"18C" help:"The water is kept at; left out: as its tanks."`
	Seed   string `placeholder:"new" help:"new media, ripe water, or media moved from a running loop: new, water, media."`
	Media  string `placeholder:"20L" help:"How much running media is moved, with --seed media."`
	Goal   string `placeholder:"\"200 g/d\"" help:"Feed the loop must bear; left out: the opening's full ration."`
}

// Help adds what the exit status says.
func (c *startupCmd) Help() string {
	return fmt.Sprintf("Exit status 3: the goal is not borne within %d days, or with fish in it their limits cannot be kept.\n\n", ripen.MostDays) + statuses
}

// Run plans the start-up of a loop.
func (c *startupCmd) Run(s streams) error {
	b, _, err := open(c.File)
	if err != nil {
		return err
	}
	if _, err := c.day(b); err != nil {
		return err
	}
	typed := map[ripen.Field]string{ripen.LoopField: c.Loop, ripen.TempField: c.Temp, ripen.SeedField: c.Seed, ripen.MediaField: c.Media, ripen.GoalField: c.Goal}
	if c.FishIn {
		typed[ripen.MethodField] = string(ripen.WithFish)
	}
	question, err := ripen.Read(b, typed)
	if err != nil {
		var f *ripen.FieldError
		if errors.As(err, &f) {
			return bad{string(f.Field), fmt.Errorf("--%s: %w", f.Field, f)}
		}
		return err
	}
	plan, err := question.Plan(b)
	if err != nil {
		if ripen.Unworkable(err) {
			return bad{"", err}
		}
		return err
	}
	rows, err := question.Table(b, plan)
	if err != nil && !ripen.Unworkable(err) {
		return err
	}
	if c.JSON {
		err = s.json(struct {
			Answer string      `json:"answer"`
			Plan   *ripen.Plan `json:"plan"`
			ByTemp []ripen.Row `json:"byTemperature"`
		}{plan.Answer(rows), plan, rows})
	} else {
		err = printStartup(s, plan, rows)
	}
	if err == nil && (plan.ReadyDay == 0 || !plan.Kept) {
		return errNo
	}
	return err
}

// everyDays is the step of the printed days.
const everyDays = 7

func printStartup(s streams, p *ripen.Plan, rows []ripen.Row) error {
	fmt.Fprintln(s.out, p.Answer(rows))
	for _, line := range p.Why {
		fmt.Fprintln(s.out, line)
	}
	for _, line := range p.Warnings {
		fmt.Fprintf(s.out, "! %s\n", line)
	}
	for _, line := range p.Cautions {
		fmt.Fprintf(s.out, "! %s\n", line)
	}
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fish := p.Method == ripen.WithFish
	if fish {
		fmt.Fprintln(w, "\nday\tfeed g\tof full\tchange\tCaCl2 g\tbase g\tammonia\tnitrite\tpH\tun-ionised, most\tremark")
	} else {
		fmt.Fprintln(w, "\nday\tNH4Cl g\tbase g\tammonia\tnitrite\tnitrate\tpH\talkalinity\tremark")
	}
	for i := range p.Days {
		d := &p.Days[i]
		switch {
		case fish && (d.Day%everyDays == 1 || d.SaltG > 0 || d.BaseG > 0 || d.Change > 0 || d.Day == p.ReadyDay):
			fmt.Fprintf(w, "%d\t%.0f\t%.0f %%\t%.0f %%\t%s\t%s\t%.2f\t%.2f\t%.1f\t%.3f\t%s\n", d.Day, d.FeedG, 100*d.FeedShare, 100*d.Change, doseG(d.SaltG), doseG(d.BaseG), d.TANGm3, d.NO2NGm3, d.PH, d.MostNH3N, d.Note)
		case !fish && (d.Day%everyDays == 1 || d.NH4ClG > 0 || d.BaseG > 0 || d.Day == p.ReadyDay):
			fmt.Fprintf(w, "%d\t%s\t%s\t%.2f\t%.2f\t%.1f\t%.1f\t%.0f\t%s\n", d.Day, doseG(d.NH4ClG), doseG(d.BaseG), d.TANGm3, d.NO2NGm3, d.NO3NGm3, d.PH, d.AlkGm3, d.Note)
		}
	}
	fmt.Fprintln(w, "\nwater °C\tnew media\tripe water\tripe media, ready on day, without fish")
	for _, r := range rows {
		fmt.Fprintf(w, "%.3g\t%s\t%s\t%s (%.3g L from %s)\n", r.TempC, dayWord(r.NewDay), dayWord(r.WaterDay), dayWord(r.MediaDay), 1000*r.MediaM3, r.From)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "\nSimple in this: %s\nSources: %s\n", strings.Join(p.Simplified, " "), strings.Join(p.Sources, "; "))
	return nil
}

// doseG prints a dose; nothing is a dash.
func doseG(g float64) string {
	if g == 0 {
		return "-"
	}
	return fmt.Sprintf("%.4g", g)
}

func dayWord(day int) string {
	if day == 0 {
		return fmt.Sprintf("over %d", ripen.MostDays)
	}
	return fmt.Sprint(day)
}
