package main

import (
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"

	"tidebed/plumbing"
	"tidebed/quantity"
)

type siphonCmd struct {
	plumbingFlags
	Bed    string `help:"One bed; left out: all of them."`
	Flow   string `placeholder:"18L/min" help:"Inflow to judge by; left out: the one of the bed's turn in the timetable."`
	Fill   string `placeholder:"10min" help:"Fault finding: time it took to fill, with --bed."`
	Drain  string `placeholder:"5min" help:"Fault finding: time it took to drain."`
	Bucket string `placeholder:"10L" help:"Fault finding: size of the bucket held under the inlet."`
	In     string `placeholder:"30s" help:"Fault finding: time in which the bucket filled."`
	Rests  string `placeholder:"24cm" help:"Fault finding: level above the bed's floor at which the water stays."`

	PumpOff    bool `name:"pump-off" help:"Fault finding: --drain was timed from the crest with no water coming in."`
	Trickles   bool `help:"Fault finding: water trickles over the crest for ever."`
	NeverStops bool `help:"Fault finding: the siphon runs on and on."`
	Gurgles    bool `help:"Fault finding: it draws air and does not break."`
}

// Help adds what the exit status says.
func (c *siphonCmd) Help() string {
	return "With --bed and what a stop watch and a bucket show it looks for the fault.\n\nExit status 3: a siphon does not start, does not stop, or its bed runs over.\n\n" + statuses
}

// Run tells whether each bed floods and drains.
func (c *siphonCmd) Run(s streams) error {
	b, loops, err := c.loops()
	if err != nil {
		return err
	}
	u := showFor(b)
	flow := 0.0
	if c.Flow != "" {
		if flow, err = quantity.Parse(c.Flow, quantity.Flow); err != nil {
			return bad{"flow", fmt.Errorf("--flow: %w", err)}
		}
		if !(flow > 0 && flow <= 1) {
			return bad{"flow", fmt.Errorf("--flow: %q is outside 0 to 60000 L/min", c.Flow)}
		}
	}
	var all []plumbing.BedView
	found, no := c.Bed == "", false
	for _, l := range loops {
		o, err := c.settings(b, l)
		if err != nil {
			return err
		}
		scheme, err := plumbing.Draw(l, o)
		if err != nil {
			return bad{"file", err}
		}
		if scheme == nil {
			continue
		}
		var t *plumbing.Timetable
		if scheme.Piped {
			if t, err = scheme.Plan(plumbing.GoalOf(l)); err != nil {
				return bad{"file", err}
			}
		}
		views, err := scheme.BedViews(flow, t)
		if err != nil {
			return bad{"file", err}
		}
		for i := range views {
			if c.Bed != "" && views[i].Name != c.Bed {
				continue
			}
			found = true
			if c.measured() {
				return c.diagnose(s, scheme)
			}
			no = no || views[i].State == plumbing.Act
			all = append(all, views[i])
		}
	}
	if !found {
		return bad{"bed", fmt.Errorf("--bed: there is no bed %q; look in the site file for its name", c.Bed)}
	}
	if c.JSON {
		return ended(s.json(struct {
			Beds []plumbing.BedView `json:"beds"`
		}{all}), no)
	}
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "bed\tdrains by\tinflow\tstarts above\tbest below\tnever stops from\tverdict\tfills\tdrains\tperiod\tflood")
	for i := range all {
		v := &all[i]
		name := func(m3s float64) string {
			if m3s <= 0 {
				return "-"
			}
			return u.flow(m3s)
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", v.Name, v.Way, name(v.InflowM3s), name(v.StartM3s), name(v.GoodM3s), name(v.BreakM3s),
			strings.ReplaceAll(string(v.Verdict), "-", " "), minutes(v.FillS), minutes(v.DrainS), minutes(v.PeriodS), u.volume(v.StoredM3))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	for i := range all { // like beds together
		var names []string
		for j := range all {
			if all[j].Why == all[i].Why && all[j].State == all[i].State {
				names = append(names, all[j].Name)
			}
		}
		if all[i].Why != "" && names[0] == all[i].Name {
			fmt.Fprintf(s.out, "%s: %s: %s\n", all[i].State, plumbing.Names(names), all[i].Why)
		}
	}
	fmt.Fprintln(s.out, "! A real siphon may start at half the flow or need twice as much: see it start, and give the least flow as `starts-at`. Hands out of the water while the pump is plugged in; lids on tanks and sump where children come.")
	return ended(nil, no)
}

// measured reports whether there is something to find a fault by.
func (c *siphonCmd) measured() bool {
	return c.Fill != "" || c.Drain != "" || c.Bucket != "" || c.In != "" || c.Rests != "" || c.Trickles || c.NeverStops || c.Gurgles
}

func (c *siphonCmd) diagnose(s streams, scheme *plumbing.Scheme) error {
	if c.Bed == "" {
		return bad{"bed", fmt.Errorf("--bed: name the bed whose times these are")}
	}
	seen := plumbing.Seen{Bed: c.Bed, Trickles: c.Trickles, NeverStops: c.NeverStops, Gurgles: c.Gurgles, PumpOff: c.PumpOff}
	for _, f := range []struct {
		flag, text string
		kind       quantity.Kind
		to         *float64
	}{
		{"fill", c.Fill, quantity.Duration, &seen.FillS}, {"drain", c.Drain, quantity.Duration, &seen.DrainS},
		{"bucket", c.Bucket, quantity.Volume, &seen.BucketM3}, {"in", c.In, quantity.Duration, &seen.BucketS},
		{"rests", c.Rests, quantity.Length, &seen.RestLevelM},
	} {
		if f.text == "" {
			continue
		}
		v, err := quantity.Parse(f.text, f.kind)
		if err != nil {
			return bad{f.flag, fmt.Errorf("--%s: %w", f.flag, err)}
		}
		if !(v > 0) {
			return bad{f.flag, fmt.Errorf("--%s: %q must be above 0", f.flag, f.text)}
		}
		*f.to = v
	}
	d, err := scheme.Diagnose(seen)
	var input *plumbing.InputError
	if errors.As(err, &input) {
		flag := map[string]string{"fillS": "fill", "drainS": "drain", "bucketM3": "bucket", "bucketS": "in", "restLevelM": "rests", "bed": "bed"}[input.Field]
		if flag == "" {
			return bad{"", errors.New(input.Sentence)}
		}
		return bad{flag, fmt.Errorf("--%s: %s", flag, input.Sentence)}
	} else if err != nil {
		return bad{"", err}
	}
	if c.JSON {
		return s.json(d)
	}
	fmt.Fprintln(s.out, d.Answer)
	for i := range d.Causes {
		fmt.Fprintf(s.out, "%d. %s\n   %s: %s\n", i+1, d.Causes[i].Do, d.Causes[i].Cause, d.Causes[i].Why)
	}
	for _, line := range d.Cautions {
		fmt.Fprintf(s.out, "! %s\n", line)
	}
	return nil
}
