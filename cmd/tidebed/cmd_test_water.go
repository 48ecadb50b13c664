package main

import (
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"

	"tidebed/site"
	"tidebed/watertest"
)

type testCmd struct {
	common
	Args []string `arg:"" optional:"" help:"A site file, or demo, then key=value with units; without a file give species or group."`
}

// Help adds the keys and what the exit status says.
func (c *testCmd) Help() string {
	keys := []string{watertest.TankField, watertest.SpeciesField, watertest.GroupField}
	for _, f := range watertest.Fields() {
		keys = append(keys, f.Name)
	}
	return "For example: tidebed test demo tank=\"trout 1\" ph=6.4 ammonia=\"2 mg/L as N\" alkalinity=\"2 dKH\" temp=\"13 C\"\n\nKeys: " + strings.Join(keys, ", ") +
		".\n\nExit status 3: something must be done. Good water, and water to watch, is 0.\n\n" + statuses
}

// Run judges one water test.
func (c *testCmd) Run(s streams) error {
	var b *site.Site
	args := c.Args
	if len(args) > 0 && !strings.Contains(args[0], "=") {
		var err error
		if b, _, err = open(args[0]); err != nil {
			return err
		}
		args = args[1:]
	}
	if _, err := c.day(b); err != nil {
		return err
	}
	typed := map[string]string{}
	for _, arg := range args {
		key, value, found := strings.Cut(arg, "=")
		key = strings.ToLower(strings.TrimSpace(key))
		if !found {
			return bad{"", fmt.Errorf("%q is no key=value; write for example ph=6.8", arg)}
		}
		if _, twice := typed[key]; twice {
			return bad{key, fmt.Errorf("%s is given twice; give it once", key)}
		}
		typed[key] = value
	}
	reading, _, err := watertest.Parse(typed)
	if err != nil {
		return badTest(err)
	}
	var tank *watertest.Tank
	if reading.Tank != "" {
		if b == nil {
			return bad{watertest.TankField, fmt.Errorf("a tank needs its site file: tidebed test FILE tank=%q …", reading.Tank)}
		}
		if tank, err = watertest.TankOf(b, reading.Tank); err != nil {
			return badTest(err)
		}
	}
	v, err := watertest.Judge(reading, tank)
	if err != nil {
		return badTest(err)
	}
	if c.JSON {
		err = s.json(v)
	} else {
		err = printTest(s, v)
	}
	if err == nil && v.Must() {
		return errNo
	}
	return err
}

// badTest makes a refusal of bad input; what else went wrong stays our failure.
func badTest(err error) error {
	var refused *watertest.InputError
	if errors.As(err, &refused) {
		return bad{refused.Field, err}
	}
	return err
}

func printTest(s streams, v *watertest.Verdict) error {
	fmt.Fprintf(s.out, "%s\n\n%s; doses are for %s.\n", v.Sentence, v.Word, v.Water)
	for _, q := range v.Questions {
		fmt.Fprintln(s.out, "? "+q.Sentence)
	}
	for i, r := range v.Remedies {
		fmt.Fprintf(s.out, "%d. %s: %s.\n", i+1, r.Do, r.Why)
	}
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w)
	for _, g := range v.Gauges {
		fmt.Fprintf(w, "%s\t%.*f %s\t%s\t%s\n", g.Name, g.Decimals, g.Value, g.Unit, g.Verdict, borne(g))
	}
	for _, f := range v.Facts {
		fmt.Fprintf(w, "%s\t%s\t\t%s\n", f.Name, f.Text, f.Source)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	for _, d := range v.Doses {
		fmt.Fprintf(s.out, "\n%s. %s\n", d.Sentence, d.Remark)
		for _, p := range d.Parts {
			fmt.Fprintf(s.out, "  day %d: %.0f g, pH %.2f at once, %.2f settled, un-ionised ammonia %.4f mg/L as N at most\n", p.Day, p.G, p.PHAtOnce, p.PHSettled, p.NH3NGm3)
		}
	}
	fmt.Fprintln(s.out)
	fmt.Fprintln(s.out, v.Possible)
	for _, list := range [][]string{v.Doubts, v.Unusual, v.Missing} {
		for _, line := range list {
			fmt.Fprintln(s.out, line)
		}
	}
	for _, line := range v.Cautions {
		fmt.Fprintln(s.out, "! "+line)
	}
	return nil
}

// borne says the band that is borne for long.
func borne(g watertest.Gauge) string {
	switch {
	case g.Low != nil && g.High != nil:
		return fmt.Sprintf("%g to %g", *g.Low, *g.High)
	case g.Low != nil:
		return fmt.Sprintf("at least %g", *g.Low)
	case g.High != nil:
		return fmt.Sprintf("at most %g", *g.High)
	}
	return ""
}
