package main

import (
	"errors"
	"fmt"
	"text/tabwriter"

	"tidebed/inhand"
	"tidebed/plumbing"
	"tidebed/site"
)

type timetableCmd struct {
	plumbingFlags
	Floods   float64 `placeholder:"1" help:"Floods of each bed an hour by day; left out: as the site says."`
	AtNight  float64 `placeholder:"0.5" help:"The same by night; left out: as the site says."`
	Together int     `placeholder:"1" help:"Beds flooded at a time; left out: as the site says."`
	CSV      bool    `name:"csv" help:"As CSV for a controller."`
	Failures bool    `help:"What if a valve, siphon, hose or pump fails?"`
}

// Help adds what the exit status says.
func (c *timetableCmd) Help() string {
	return "Exit status 3: not every bed floods as often as asked, or with --failures one fault empties a fish tank.\n\n" + statuses
}

// timetableJSON is a loop's timetable as JSON.
type timetableJSON struct {
	Answer    string              `json:"answer"`
	Timetable *plumbing.Timetable `json:"timetable"`
	Day       *plumbing.Course    `json:"day"`
	Faults    []plumbing.Fault    `json:"faults,omitempty"`
}

// Run works out what the valves are to do.
func (c *timetableCmd) Run(s streams) error {
	b, loops, err := c.loops()
	if err != nil {
		return err
	}
	var out []timetableJSON
	no, told := false, false
	var fish *inhand.Answer // nil without fish: then the hours are those of the roots alone
	if c.Failures {
		var failed error
		if fish, failed = inhand.Of(b, inhand.StockOf(b), inhand.Options{}); failed != nil && !errors.Is(failed, inhand.ErrNoFish) {
			return bad{"file", failed}
		}
	}
	for _, l := range loops {
		if err := c.goal(l); err != nil {
			return err
		}
		st, err := c.study(b, l)
		if err != nil {
			return err
		}
		if st == nil {
			continue
		}
		if st.Unpiped {
			if c.Loop != "" || len(loops) == 1 {
				return bad{"file", fmt.Errorf("loop %s: %w", l.Name, plumbing.ErrUnpiped)}
			}
			continue
		}
		no = no || !st.Timetable.Fits || c.Failures && len(plumbing.EmptiesTank(st.Faults)) > 0
		one := timetableJSON{Answer: st.Timetable.Answer(), Timetable: st.Timetable, Day: st.Day}
		if c.Failures {
			one.Faults = st.Faults
		}
		switch {
		case c.JSON:
			out = append(out, one)
			continue
		case c.CSV:
			if err := st.Timetable.CSV(s.out); err != nil {
				return err
			}
			continue
		}
		if told {
			fmt.Fprintln(s.out)
		}
		told = true
		if c.Failures {
			printFaults(s, b, st, fish)
		} else if err := printTimetable(s, b, st); err != nil {
			return err
		}
	}
	if c.JSON {
		err = s.json(struct {
			Loops []timetableJSON `json:"loops"`
		}{out})
	}
	return ended(err, no)
}

// goal puts what was asked into the loop.
func (c *timetableCmd) goal(l *site.Loop) error {
	var t site.Timetable
	if l.Timetable != nil {
		t = *l.Timetable
	}
	if c.Floods != 0 {
		t.PerHour = c.Floods
	}
	if c.AtNight != 0 {
		t.AtNight = c.AtNight
	}
	if c.Together != 0 {
		t.Together = c.Together
	}
	l.Timetable = &t
	if err := plumbing.GoalOf(l).Check(); err != nil {
		return bad{"floods", err}
	}
	return nil
}

func printTimetable(s streams, b *site.Site, st *plumbing.Study) error {
	u, t := showFor(b), st.Timetable
	fmt.Fprintf(s.out, "%s: %s\n", st.Loop.Name, t.Answer())
	for _, w := range t.Why {
		fmt.Fprintf(s.out, "! %s\n", w)
	}
	for i := range t.Parts {
		p := &t.Parts[i]
		fmt.Fprintf(s.out, "\n%s, %s to %s: a cycle of %s, valves open %.0f %% of it; tanks turned over %.2g times an hour\n", p.Name, clock(p.FromH), clock(p.ToH), minutes(p.CycleS), 100*p.Duty, p.TurnoverPerH)
		w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
		fmt.Fprintln(w, "  valve of\topens at\tstays open\tof which fill\tmargin\tinflow\tdrains\trests\texact volume over flow\tfloods")
		for j := range p.Turns {
			x := &p.Turns[j]
			at := minutes(x.AtS)
			if x.AtS <= 0 {
				at = "start"
			}
			trips := "yes"
			if !x.Trips {
				trips = "no"
			}
			fmt.Fprintf(w, "  %s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", x.Name, at, minutes(x.OpenS), minutes(x.FillS), minutes(x.MarginS), u.flow(x.InflowM3s), minutes(x.DrainS), minutes(x.RestS), minutes(x.ExactS), trips)
		}
		if err := w.Flush(); err != nil {
			return err
		}
		for j := range p.Turns {
			if x := &p.Turns[j]; x.Why != "" {
				fmt.Fprintf(s.out, "  %s: %s\n", x.Name, x.Why)
			}
		}
	}
	for i := range t.Steady {
		x := &t.Steady[i]
		fmt.Fprintf(s.out, "always flowing, %s: %s, floods %.3g times an hour. %s\n", x.Name, u.flow(x.InflowM3s), x.PerHour, x.Why)
	}
	d := st.Day
	fmt.Fprintf(s.out, "\nA day of it: %s falls to %s, its pump draws at %s; at most %s stand in the beds; %.2g kWh.\n", st.Scheme.Source.Name, u.height(d.SourceLowM), u.height(st.Scheme.Source.IntakeM), u.volume(d.MostInBedsM3), d.WireKWh)
	for _, n := range t.Notes {
		fmt.Fprintf(s.out, "%s\n", n)
	}
	printFindings(s, st.Findings, false)
	printAssumed(s, st.Scheme)
	return nil
}

func printFaults(s streams, b *site.Site, st *plumbing.Study, fish *inhand.Answer) {
	u := showFor(b)
	fmt.Fprintf(s.out, "%s: what if one thing fails\n", st.Loop.Name)
	for i := range st.Faults {
		f := &st.Faults[i]
		fmt.Fprintf(s.out, "%s: %s: %s", f.State, f.About, f.What)
		if f.FloorM3 > 0.0005 {
			fmt.Fprintf(s.out, " On the floor: %s.", u.volume(f.FloorM3))
		}
		if until := inhand.Harm(f, fish, st.Loop); until != "–" {
			fmt.Fprintf(s.out, " Time left: %s.", until)
		}
		if f.Remedy != "" {
			fmt.Fprintf(s.out, " %s", f.Remedy)
		}
		fmt.Fprintln(s.out)
		if f.Caution != "" {
			fmt.Fprintf(s.out, "! %s\n", f.Caution)
		}
	}
}
