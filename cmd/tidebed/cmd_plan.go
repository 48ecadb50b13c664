package main

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"
	"time"

	"tidebed/meals"
	"tidebed/numeric/lp"
	"tidebed/plan"
	"tidebed/season"
	"tidebed/site"
	"tidebed/words"
)

type planCmd struct {
	common
	File       string        `arg:"" help:"A site file, or demo."`
	Order      []string      `placeholder:"KEY,…" help:"What comes first: keys of levels, most important first, as the table of levels names them."`
	Give       string        `placeholder:"POINTS" help:"How many points of a share later levels may take back (usual: 0.5)."`
	Safety     *int          `placeholder:"DAYS" help:"How many days before its day a crop that is harvested once must be ripe (usual: 7)."`
	Lead       *int          `placeholder:"DAYS" help:"Days until seed is there: nothing new is sown before (usual: 7; 0: it is in hand)."`
	Largest    bool          `help:"Reckon with the largest portions a person will eat."`
	WishedOnly bool          `help:"Only crops of the site's list of wishes."`
	Hours      float64       `placeholder:"H" help:"Hours of work a week in the beds."`
	Pin        []string      `sep:"none" placeholder:"SOWING" help:"What must be sown, such as 'potato in tubs 2 m2 2027-03-01..2027-04-01'. Repeat for more."`
	Forbid     []string      `sep:"none" placeholder:"SOWING" help:"What must not be sown, such as 'kale' or 'kale in north 1'. Repeat for more."`
	NoFish     bool          `help:"Buy no new fish."`
	Rounds     *int          `placeholder:"N" help:"How often at most plan and season are brought to agree (usual: 3; 0: not at all)."`
	For        time.Duration `placeholder:"TIME" help:"Stop the search after so long, such as 60s, and keep the best plan so far."`
	Why        bool          `help:"Also what one more of each thing is worth and why a crop is not used; each is found by solving again."`
	Jobs       string        `placeholder:"FILE.csv" help:"Write the jobs by date as a table."`
	Calendar   string        `placeholder:"FILE.ics" help:"Write the jobs as a calendar (iCalendar)."`
	Write      string        `placeholder:"FILE.yaml" help:"Write the site with the plan's plantings in it."`
	Force      bool          `help:"Let --write overwrite a file."`
}

// Help adds what the exit status and a stop mean.
func (c *planCmd) Help() string {
	return "What to sow, stock, put by and take so that the meals are there. Ctrl+C stops the search and keeps the best plan so far; a second one ends the program.\n\n" +
		"Exit status 3: on some home-fed days someone stays below the full need or the floor the house has set, with what is bought counted in.\n\n" + statuses
}

// planJSON is the answer as JSON.
type planJSON struct {
	*plan.Plan
	Jobs    []plan.Job         `json:"jobs"`
	Seeds   []plan.Seed        `json:"seeds"`
	Nursery []plan.NurseryWeek `json:"nursery"`
	Found   *plan.Reasons      `json:"found,omitempty"`      // worths and costs, with --why
	Fault   string             `json:"foundFault,omitempty"` // why there are none
}

// options reads the flags.
func (c *planCmd) options(b *site.Site) (o plan.Options, err error) {
	o = plan.Options{Largest: c.Largest, WishedOnly: c.WishedOnly, NoFish: c.NoFish, HoursWeek: c.Hours}
	if c.Hours < 0 || c.Hours > 1000 {
		return o, bad{"hours", fmt.Errorf("--hours %g: give 0 to 1000 hours a week", c.Hours)}
	}
	if o.Order, err = plan.ParseOrder(strings.Join(c.Order, ",")); err != nil {
		return o, bad{"order", fmt.Errorf("--order: %w", err)}
	}
	if o.Give, err = plan.ParseGive(c.Give); err != nil {
		return o, bad{"give", fmt.Errorf("--give: %w", err)}
	}
	if c.Safety != nil {
		if o.SafetyDays, err = plan.SafetyOf(*c.Safety); err != nil {
			return o, bad{"safety", fmt.Errorf("--safety: %w", err)}
		}
	}
	if c.Lead != nil {
		if o.LeadDays, err = plan.LeadOf(*c.Lead); err != nil {
			return o, bad{"lead", fmt.Errorf("--lead: %w", err)}
		}
	}
	if c.Rounds != nil {
		if o.Rounds = *c.Rounds; o.Rounds == 0 {
			o.Rounds = -1
		}
		if *c.Rounds < 0 || *c.Rounds > 20 {
			return o, bad{"rounds", fmt.Errorf("--rounds %d: give 0 to 20", *c.Rounds)}
		}
	}
	for _, list := range []struct {
		flag   string
		texts  []string
		forbid bool
	}{{"pin", c.Pin, false}, {"forbid", c.Forbid, true}} {
		for _, text := range list.texts {
			pin, err := plan.ParsePin(text, list.forbid, b)
			if err != nil {
				return o, bad{list.flag, fmt.Errorf("--%s: %w", list.flag, err)}
			}
			o.Pins = append(o.Pins, pin)
		}
	}
	return o, nil
}

// targets refuses, before the long work, files that must not be written.
func (c *planCmd) targets() error {
	taken := map[string]string{}
	if c.File != "demo" {
		taken[filepath.Clean(c.File)] = "the site file that is read"
	}
	for _, t := range []struct{ flag, name string }{{"jobs", c.Jobs}, {"calendar", c.Calendar}, {"write", c.Write}} {
		if t.name == "" {
			continue
		}
		clean := filepath.Clean(t.name)
		if other := taken[clean]; other != "" && (t.flag != "write" || !c.Force || other != taken[filepath.Clean(c.File)]) {
			return bad{t.flag, fmt.Errorf("--%s: %s is %s: name another", t.flag, t.name, other)}
		}
		taken[clean] = "written by --" + t.flag
		if info, err := os.Stat(filepath.Dir(clean)); err != nil || !info.IsDir() {
			return bad{t.flag, fmt.Errorf("--%s: there is no folder %s", t.flag, filepath.Dir(clean))}
		}
		info, err := os.Stat(clean)
		switch {
		case err == nil && info.IsDir():
			return bad{t.flag, fmt.Errorf("--%s: %s is a folder: name a file in it", t.flag, t.name)}
		case err == nil && t.flag == "write" && !c.Force:
			return bad{"write", fmt.Errorf("--write: %s is there already: name another file, or add --force", t.name)}
		}
	}
	return nil
}

// Run makes the plan.
func (c *planCmd) Run(ctx context.Context, s streams) error {
	b, warnings, err := open(c.File)
	if err != nil {
		return err
	}
	today, err := c.day(b)
	if err != nil {
		return err
	}
	o, err := c.options(b)
	if err != nil {
		return err
	}
	if err := c.targets(); err != nil {
		return err
	}
	if s.terminal && !c.JSON {
		o.Progress = func(p plan.Progress) { fmt.Fprintf(s.err, "\r\x1b[K%s", p.Line()) }
	}
	limited, stop := ctx, func() {}
	if c.For > 0 {
		limited, stop = context.WithTimeout(ctx, c.For)
	}
	p, err := plan.Make(limited, b, today, o)
	stop()
	if o.Progress != nil {
		fmt.Fprint(s.err, "\r\x1b[K")
	}
	switch {
	case errors.Is(err, plan.ErrStopped) && ctx.Err() == nil:
		return fmt.Errorf("--for %v: %w; give it longer", c.For, err)
	case errors.Is(err, context.Canceled), errors.Is(err, plan.ErrStopped):
		return context.Canceled
	case errors.Is(err, season.ErrLedger), errors.Is(err, lp.ErrSolver):
		return err
	case err != nil:
		return bad{"file", err}
	}
	for _, w := range warnings {
		p.Warnings = append(p.Warnings, w.Message)
	}
	out := planJSON{Plan: p, Jobs: p.Jobs(), Seeds: p.SeedList(), Nursery: p.Nursery()}
	var failed error
	if c.Why && !p.Stopped {
		out.Found, err = plan.Explain(ctx, b, today, o, p)
		if o.Progress != nil {
			fmt.Fprint(s.err, "\r\x1b[K")
		}
		if errors.Is(err, context.Canceled) {
			out.Found, err = nil, nil // the plan stands without them
		}
		if err != nil { // the plan is printed all the same
			failed = fmt.Errorf("what each thing is worth was not found: %w", err)
		}
	}
	told, err := c.write(p, out.Jobs)
	if err != nil {
		return err
	}
	if c.JSON {
		if failed != nil {
			out.Fault, failed = failed.Error(), errFailedSeen
		}
		err = s.json(out)
	} else {
		err = printPlan(s, &out, c.Why)
		for _, line := range told {
			fmt.Fprintln(s.out, line)
		}
	}
	if err == nil {
		err = failed
	}
	return ended(err, len(p.Unfed()) > 0)
}

// write writes the files that are asked for and says which.
func (c *planCmd) write(p *plan.Plan, jobs []plan.Job) (told []string, err error) {
	plain, lost := false, []string(nil)
	for _, f := range []struct {
		flag, name, what string
		make             func(*bytes.Buffer) error
	}{
		{"jobs", c.Jobs, "the jobs by date", func(w *bytes.Buffer) error { return plan.WriteCSV(w, jobs) }},
		{"calendar", c.Calendar, "the calendar", func(w *bytes.Buffer) error { return plan.WriteCalendar(w, p, plan.StampOf(p.Today)) }},
		{"write", c.Write, "the site with the plan in it", func(w *bytes.Buffer) error {
			if p.Applied == nil {
				return errors.New("the plan holds no site to write")
			}
			_, before, err := textOf(c.File)
			if err != nil {
				return err
			}
			text, kept, gone, err := site.Rewrite(before, p.Applied)
			plain, lost = !kept, gone
			w.Write(text)
			return err
		}},
	} {
		if f.name == "" {
			continue
		}
		var text bytes.Buffer
		if err := f.make(&text); err != nil {
			return told, fmt.Errorf("--%s: %w", f.flag, err)
		}
		if err := os.WriteFile(f.name, text.Bytes(), 0o644); err != nil {
			return told, bad{f.flag, fmt.Errorf("--%s: %w", f.flag, err)}
		}
		told = append(told, fmt.Sprintf("%s holds %s.", f.name, f.what))
		if f.flag == "write" {
			if plain {
				told = append(told, "It is written anew throughout: comments and units as typed are not in it.")
			} else if n := len(lost); n > 0 {
				told = append(told, fmt.Sprintf("%s of what is changed there %s not in it: %s.", words.Count(n, "comment", "comments"), words.Plural(n, "is", "are"), strings.Join(lost, "; ")))
			}
			told = append(told, "Its meals differ a little from these: meals serves each set of days in turn as well as it can, the plan shares between them.")
		}
	}
	return told, nil
}

// dated prints a day, or a dash for none.
func dated(d site.Date) string {
	if d.IsZero() {
		return "-"
	}
	return d.String()
}

// counted prints a share that may be unknown.
func counted(list []float64, i int) string {
	if i < len(list) {
		return meals.Percent(list[i])
	}
	return "-"
}

// printPlan prints the answer and the days first, then what is to be done, then what it
// rests on.
func printPlan(s streams, out *planJSON, why bool) error {
	p := out.Plan
	fmt.Fprintln(s.out, p.Sentence)
	if p.Stopped {
		fmt.Fprintln(s.out, "Stopped before its end: this is the best plan so far.")
	}
	for _, r := range p.Told() {
		fmt.Fprintln(s.out, r)
	}
	if list := p.Unfed(); len(list) > 0 {
		fmt.Fprintf(s.out, "Still to be found elsewhere: %s.\n", strings.Join(list, "; "))
	}
	for _, x := range p.Collides {
		fmt.Fprintf(s.out, "! %s: %s\n", x.What, x.Mend)
	}
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	if len(p.Occasions) > 0 {
		fmt.Fprintln(w, "\nhome-fed days\tfrom\tto\tworst-off eater\tall\twith what is bought\tnow, worst-off\tall that is sown a week late")
		for i := range p.Occasions {
			o := &p.Occasions[i]
			late := "-"
			if o.LateShare > 0 {
				late = meals.Percent(o.LateShare)
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", o.Name, o.From, o.To, meals.Percent(o.WorstShare), meals.Percent(o.MeanShare), meals.Percent(o.FedShare), counted(p.InForce.WorstShare, i), late)
		}
	}
	if soon, all := p.Soon(); len(soon) > 0 {
		fmt.Fprintln(w, "\nNEXT JOBS\nday\tjob\twhere\thow much\twhy")
		for _, j := range soon {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", j.Date, j.Line(), j.Where, cmp.Or(j.Amount, "-"), cmp.Or(j.Why, "-"))
		}
		if all > len(soon) {
			fmt.Fprintf(w, "and %d later; --jobs FILE.csv writes all\n", all-len(soon))
		}
	}
	sowings := func(head string, of func(*plan.Sowing) bool) {
		for i := range p.Sowings {
			x := &p.Sowings[i]
			if !of(x) {
				continue
			}
			if head != "" {
				fmt.Fprintf(w, "\n%s\nnursery\tin the bed\tbed\tarea\tcrop\tfirst harvest, low yields\tpulled\tserves\n", head)
				head = ""
			}
			nursery := "-"
			switch {
			case x.InNursery(p.Today):
				nursery = "since " + dated(x.Sow)
			case x.Nursed() && !x.Standing:
				nursery = dated(x.Sow)
			}
			name := x.Name
			if x.Young {
				name += ", young"
			}
			if x.Pinned {
				name += " (pinned)"
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", nursery, dated(x.Plant), x.Beds(), plan.Paced(x.AreaM2), name, dated(x.First), dated(x.Pulled), x.Uses())
		}
	}
	sowings("WHAT TO SOW", func(x *plan.Sowing) bool { return !x.Standing && !x.InNursery(p.Today) })
	if len(out.Seeds) > 0 {
		fmt.Fprintln(w, "\nseed list\tto order, a tenth to spare\tfirst sown\torder by")
		for _, x := range out.Seeds {
			by := x.OrderBy.String()
			if x.Late {
				by = "today: two weeks before is past"
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", x.Name, x.Amount(), x.First, by)
		}
	}
	sowings("IN THE NURSERY ALREADY", func(x *plan.Sowing) bool { return x.InNursery(p.Today) })
	sowings("WHAT STANDS", func(x *plan.Sowing) bool { return x.Standing })
	if len(p.Fish) > 0 {
		fmt.Fprintln(w, "\nfish to take\ttank\tno feed from\ton\tnumber\tlive weight\tfor")
		for _, f := range p.Fish {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%d\t%s\t%s\n", f.Species, f.Tank, dated(f.Purge), f.Day, f.Number, plan.Weighed(f.Kg), f.For)
		}
	}
	if len(p.Stockings) > 0 {
		fmt.Fprintln(w, "\nfish to buy\ttank\torder by\ton\tnumber\tof g each\twhy")
		for _, f := range p.Stockings {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%d\t%.0f\t%s\n", f.Title, f.Tank, dated(f.Order), f.Day, f.Number, f.WeightG, f.Why)
		}
	}
	if len(p.PutBy) > 0 {
		fmt.Fprintln(w, "\nput by\tplace\ton\tput in\tleft when used\tused on\tfor")
		for _, x := range p.PutBy {
			on := dated(x.Day)
			if x.Standing {
				on = "lies there"
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\n", x.What, x.Place, on, plan.Weighed(x.KgIn), plan.Weighed(x.KgOut), dated(x.UseOn), x.For)
		}
	}
	if len(p.Asked) > 0 {
		fmt.Fprintln(w, "\nasked for each week\tby\twanted\tgiven\tfrom the week of\twhy not more")
		for _, x := range p.Asked {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", x.Name, x.Use, plan.Weighed(x.WantKg), plan.Weighed(x.Kg), dated(x.From), cmp.Or(x.Why, "-"))
		}
	}
	for i := range p.Occasions {
		o := &p.Occasions[i]
		if len(o.Sources) == 0 {
			continue
		}
		fmt.Fprintf(w, "\n%s is fed by\tfrom\tamount\tof the need\n", o.Name)
		for _, x := range o.Sources {
			from := x.Where
			if !x.Inside {
				from += ", bought"
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", x.What, from, plan.Weighed(x.Kg), meals.Percent(x.Share))
		}
		for _, line := range o.Binds {
			fmt.Fprintf(w, "  bound by: %s\n", line)
		}
		for k := range o.Table {
			fmt.Fprintf(w, "  on the table %s: %s\n", o.Table[k].Date, o.Table[k].Line())
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(s.out)
	for _, f := range p.Feeds {
		if f.Say != "" {
			fmt.Fprintln(s.out, f.Say)
		}
	}
	if p.InForce.Say != "" {
		fmt.Fprintln(s.out, p.InForce.Say)
	}
	for _, x := range p.Changes {
		fmt.Fprintf(s.out, "  %s: %s\n", dated(x.Day), x.What)
	}
	if len(p.Levels) > 0 {
		fmt.Fprintln(w, "\nlevel\tkey\tunit\treached\tmay give back\tin whole modules")
		for _, l := range p.Levels {
			fmt.Fprintf(w, "%s\t%s\t%s\t%.4g\t%.2g\t%.4g\n", l.Name, l.Key, l.Unit, l.Value, l.Give, l.Whole)
		}
	}
	if len(p.Rounds) > 0 {
		fmt.Fprintln(w, "\nround\tas planned\tas the season has it\tgreatest change\t")
		for i, r := range p.Rounds {
			fmt.Fprintf(w, "%d\t%s\t%s\t%s\t%s\n", i+1, meals.Percent(r.WorstShare), meals.Percent(r.Found), meals.Percent(r.Changed), r.Note)
		}
	}
	if why {
		printReasons(w, p, out.Found)
	} else {
		printRejected(w, p.NotSown(p.Rejected))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(s.out)
	if p.Settled != "" {
		fmt.Fprintln(s.out, p.Settled)
	}
	for _, text := range []string{p.Near(), p.Below()} {
		if text != "" {
			fmt.Fprintln(s.out, text)
		}
	}
	if p.Check.Said != "" {
		fmt.Fprintln(s.out, p.Check.Said)
	}
	for _, x := range p.Check.Fault {
		fmt.Fprintf(s.out, "! %s\n", x)
	}
	for _, a := range p.Assumed {
		fmt.Fprintf(s.out, "default: %s\n", a)
	}
	for _, line := range p.Warnings {
		fmt.Fprintf(s.out, "! %s\n", line)
	}
	for _, line := range p.Cautions {
		fmt.Fprintf(s.out, "caution: %s\n", line)
	}
	return nil
}

func printReasons(w *tabwriter.Writer, p *plan.Plan, r *plan.Reasons) {
	if r == nil {
		fmt.Fprintln(w, "\nWhat each thing is worth was not worked out.")
		return
	}
	if len(r.Worths) > 0 {
		fmt.Fprintln(w, "\nwhat if: points of\tall together\tthe worst-off\t")
		for _, x := range r.Worths {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", x.What, signed(x.Points), signed(x.Worst), x.Note)
		}
	}
	printRejected(w, p.NotSown(r.Rejected))
}

// signed prints points with their sign; what rounds to nothing has none.
func signed(v float64) string {
	text := plan.Points(v)
	if v > 0 && text != "0" {
		return "+" + text
	}
	return text
}

func printRejected(w *tabwriter.Writer, list []plan.Rejected) {
	if len(list) == 0 {
		return
	}
	fmt.Fprintln(w, "\nnot sown\tone module would cost\twhy")
	for _, x := range list {
		cost := "-"
		if x.Tried {
			cost = plan.Points(x.Points) + " points"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\n", x.Name, cost, x.Why)
	}
}
