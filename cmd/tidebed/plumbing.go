package main

import (
	"fmt"
	"math"
	"strings"

	"tidebed/plumbing"
	"tidebed/quantity"
	"tidebed/site"
)

// plumbingFlags are what the verbs about plumbing share.
type plumbingFlags struct {
	common
	File string `arg:"" optional:"" default:"demo" help:"A site file, or demo."`
	Loop string `help:"The loop; left out: all of them."`
	Temp string `placeholder:"18C" help:"Of the water; left out: as the loop's tanks."`
	New  bool   `help:"New pipes, without the film that grows in fish water within weeks."`
}

// loops opens the site and gives the loops asked for.
func (c *plumbingFlags) loops() (*site.Site, []*site.Loop, error) {
	b, _, err := open(c.File)
	if err != nil {
		return nil, nil, err
	}
	if _, err := c.day(b); err != nil {
		return nil, nil, err
	}
	var all []*site.Loop
	var names []string
	for i := range b.Loops {
		names = append(names, b.Loops[i].Name)
		if c.Loop == "" || c.Loop == b.Loops[i].Name {
			all = append(all, &b.Loops[i])
		}
	}
	switch {
	case len(b.Loops) == 0:
		return nil, nil, bad{"file", fmt.Errorf("the site describes no loop")}
	case len(all) == 0:
		return nil, nil, bad{"loop", fmt.Errorf("--loop: there is no loop %q; there are %s", c.Loop, strings.Join(names, ", "))}
	}
	return b, all, nil
}

// settings are those for a loop.
func (c *plumbingFlags) settings(b *site.Site, l *site.Loop) (plumbing.Settings, error) {
	o := plumbing.SettingsOf(b, l)
	o.New = c.New
	if c.Temp != "" {
		v, err := quantity.Parse(c.Temp, quantity.Temperature)
		if err == nil && (v < 0 || v > 45) {
			err = fmt.Errorf("%q is outside 0 to 45 °C", c.Temp)
		}
		if err != nil {
			return o, bad{"temp", fmt.Errorf("--temp: %w", err)}
		}
		o.TempC = v
	}
	return o, nil
}

// study works a loop out; nil for a loop without water.
func (c *plumbingFlags) study(b *site.Site, l *site.Loop) (*plumbing.Study, error) {
	o, err := c.settings(b, l)
	if err != nil {
		return nil, err
	}
	st, err := plumbing.StudyOf(l, o)
	if err != nil {
		return nil, bad{"file", err}
	}
	return st, nil
}

// shown prints quantities in the units of the site's reader.
type shown struct{ system quantity.System }

func showFor(b *site.Site) shown {
	if b.Units == "us-customary" {
		return shown{quantity.USCustomary}
	}
	return shown{quantity.Metric}
}

func (u shown) flow(m3s float64) string { return quantity.Format(m3s, quantity.Flow, u.system) }
func (u shown) length(m float64) string { return quantity.Format(m, quantity.Length, u.system) }
func (u shown) volume(m3 float64) string {
	return quantity.Format(m3, quantity.Volume, u.system)
}

// minutes prints a time of valves and siphons: "9 min 40 s".
func minutes(seconds float64) string {
	s := int(math.Round(seconds))
	switch {
	case seconds <= 0:
		return "-"
	case s < 60:
		return fmt.Sprintf("%d s", s)
	case s < 3600:
		return fmt.Sprintf("%d min %02d s", s/60, s%60)
	}
	m := int(math.Round(seconds / 60))
	return fmt.Sprintf("%d h %02d min", m/60, m%60)
}

// clock prints an hour of the day: "6:00".
func clock(h float64) string {
	m := int(h*60 + 0.5)
	return fmt.Sprintf("%d:%02d", m/60, m%60)
}

// findings prints what is to be done, the worst first; good ones only when asked.
func printFindings(s streams, all []plumbing.Finding, good bool) {
	for _, state := range []plumbing.State{plumbing.Act, plumbing.Watch, plumbing.Good} {
		for i := range all {
			f := &all[i]
			if f.State != state || state == plumbing.Good && !good {
				continue
			}
			fmt.Fprintf(s.out, "%s: %s", state, said(f))
			if f.Source != "" {
				fmt.Fprintf(s.out, " (%s)", f.Source)
			}
			fmt.Fprintln(s.out)
			if f.Caution != "" {
				fmt.Fprintf(s.out, "! %s\n", f.Caution)
			}
		}
	}
}

// said is a finding in words, with what it is about and what to do.
func said(f *plumbing.Finding) string {
	text := f.Sentence
	if !strings.HasPrefix(text, f.About) {
		text = f.About + ": " + text
	}
	return strings.TrimSpace(text + " " + f.Remedy)
}

// height prints a height above the floor.
func (u shown) height(m float64) string {
	if m < 0 {
		return u.length(-m) + " below the floor"
	}
	return u.length(m) + " above the floor"
}

// ended is the exit of a verb about plumbing.
func ended(err error, no bool) error {
	if err == nil && no {
		return errNo
	}
	return err
}

// printAssumed prints the defaults that stand for what the site does not say.
func printAssumed(s streams, scheme *plumbing.Scheme) {
	for _, a := range scheme.Assumed() {
		fmt.Fprintf(s.out, "default: %s\n", a)
	}
}
