package main

import (
	"context"
	"fmt"
	"strings"
	"text/tabwriter"

	"tidebed/plumbing"
	"tidebed/quantity"
	"tidebed/site"
)

type pumpCmd struct {
	plumbingFlags
	Price string `placeholder:"\"0.34 EUR/kWh\"" help:"Of electricity; left out: the site's."`
}

// Help adds what the exit status says.
func (c *pumpCmd) Help() string {
	return "It tries each pump of the loop, spare ones too, with one, two, three and all beds flooded at a time.\n\nExit status 3: no pump of the site serves every bed as often as asked.\n\n" + statuses
}

// pumpJSON is a loop's choice as JSON.
type pumpJSON struct {
	Loop   string           `json:"loop"`
	Choice *plumbing.Choice `json:"choice"`
}

// Run searches the site's pumps for the smallest that serve.
func (c *pumpCmd) Run(ctx context.Context, s streams) error {
	b, loops, err := c.loops()
	if err != nil {
		return err
	}
	price := b.Prices.ElectricityPerJ * 3.6e6
	if c.Price != "" {
		v, err := quantity.Parse(c.Price, quantity.PricePerEnergy)
		if err != nil {
			return bad{"price", fmt.Errorf("--price: %w", err)}
		}
		price = v * 3.6e6
	}
	var out []pumpJSON
	no := false
	for i, l := range loops {
		o, err := c.settings(b, l)
		if err != nil {
			return err
		}
		choice, err := plumbing.Search(ctx, l, o, plumbing.GoalOf(l), price)
		if err != nil {
			if ctx.Err() != nil {
				return err
			}
			return bad{"file", err}
		}
		no = no || choice.Best == nil
		if c.JSON {
			out = append(out, pumpJSON{l.Name, choice})
			continue
		}
		if i > 0 {
			fmt.Fprintln(s.out)
		}
		if err := printPumps(s, b, l, choice); err != nil {
			return err
		}
	}
	if c.JSON {
		err = s.json(struct {
			Loops []pumpJSON `json:"loops"`
		}{out})
	} else {
		fmt.Fprintln(s.out, "! Pumps by water belong on a residual-current device (30 mA; US: 5 mA), their cords with a drip loop, sockets above any flood level: ask a qualified electrician. Unplug before hands go in.")
	}
	return ended(err, no)
}

func printPumps(s streams, b *site.Site, l *site.Loop, choice *plumbing.Choice) error {
	u := showFor(b)
	fmt.Fprintf(s.out, "%s: %s\n", l.Name, choice.Sentence)
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(w, "pump\tbeds at a time\tserves\tflow\thead\tpower\tbeds that flood\tfloods an hour at most\ttanks an hour\tlowest water, above the floor\tnonstop, kWh a year\tcost\tfor equal floods\tcost\n")
	for i := range choice.Rows {
		r := &choice.Rows[i]
		serves := "yes"
		if !r.Serves {
			serves = "no"
		}
		name := r.Pump
		if r.Spare {
			name += " (spare)"
		}
		money := func(v float64) string {
			if v == 0 {
				return "-"
			}
			return fmt.Sprintf("%.0f %s", v, b.Currency)
		}
		fmt.Fprintf(w, "%s\t%d\t%s\t%s\t%s\t%.0f W\t%d of %d\t%.2g\t%.2g\t%s\t%.0f\t%s\t%.0f\t%s\n", name, r.Together, serves, u.flow(r.FlowM3s), u.length(r.HeadM), r.WireW, r.Trip, r.Beds, r.MostPerHour, r.TanksPerH, u.length(r.SourceLowM), r.NonstopKWh, money(r.NonstopCost), r.TurnsKWh, money(r.TurnsCost))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	for i := range choice.Rows {
		if r := &choice.Rows[i]; !r.Serves && len(r.Why) > 0 {
			fmt.Fprintf(s.out, "%s, %d at a time: %s\n", r.Pump, r.Together, strings.Join(r.Why, " "))
		}
	}
	for _, n := range choice.Notes {
		fmt.Fprintln(s.out, n)
	}
	return nil
}
