package main

import (
	"fmt"
	"sort"
	"strconv"
	"text/tabwriter"

	"tidebed/reckoner"
)

type reckonCmd struct {
	common
	Name string   `arg:"" optional:"" help:"The sum; without it they are listed."`
	Keys []string `arg:"" optional:"" help:"key=value, with units."`
}

// Run answers one sum or lists them all.
func (c *reckonCmd) Run(s streams) error {
	if _, err := c.day(nil); err != nil {
		return err
	}
	if c.Name == "" {
		return list(s, c.JSON)
	}
	entry, err := reckoner.Find(c.Name)
	if err != nil {
		return err
	}
	in, err := reckoner.ReadArgs(c.Name, c.Keys)
	if err != nil {
		return err
	}
	r, err := reckoner.Run(c.Name, in)
	if err != nil {
		return err
	}
	if c.JSON {
		if err := s.json(r); err != nil {
			return err
		}
	} else {
		w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
		for _, o := range entry.Outputs {
			v, ok := r.Outputs[o.Name]
			if !ok {
				continue
			}
			text := fmt.Sprint(v)
			switch v := v.(type) {
			case nil:
				text = "no answer"
			case float64:
				text = strconv.FormatFloat(v, 'g', 4, 64)
			}
			fmt.Fprintf(w, "%s\t%s %s\t%s\n", o.Name, text, o.Unit, o.What)
		}
		w.Flush()
		for _, line := range append(r.Warnings, entry.Cautions...) {
			fmt.Fprintln(s.out, line)
		}
		fmt.Fprintf(s.out, "formula: %s\n", entry.Formula)
		for _, key := range r.Sources {
			fmt.Fprintln(s.out, "source: "+key)
		}
	}
	if r.NoAnswer() {
		return errNo
	}
	return nil
}

// list prints the sums there are.
func list(s streams, asJSON bool) error {
	entries := reckoner.Entries()
	sort.Slice(entries, func(i, j int) bool { return entries[i].Name < entries[j].Name })
	if asJSON {
		type row struct {
			Name  string `json:"name"`
			Title string `json:"title"`
		}
		var rows []row
		for _, e := range entries {
			rows = append(rows, row{e.Name, e.Title})
		}
		return s.json(rows)
	}
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	for _, e := range entries {
		fmt.Fprintf(w, "%s\t%s\n", e.Name, e.Title)
	}
	return w.Flush()
}

// describe prints a sum's keys, formula and sources.
func describe(s streams, name string) error {
	e, err := reckoner.Find(name)
	if err != nil {
		return err
	}
	fmt.Fprintf(s.out, "%s: %s\n\n", e.Name, e.Title)
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	for _, k := range e.Keys {
		state := "needed"
		switch {
		case k.Default != "":
			state = "default " + k.Default
		case !k.Required:
			state = "may be left out"
		}
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\n", k.Name, k.What, k.Range, state)
	}
	for _, o := range e.Outputs {
		fmt.Fprintf(w, "  gives %s\t%s\t%s\t\n", o.Name, o.What, o.Unit)
	}
	w.Flush()
	fmt.Fprintf(s.out, "\nformula: %s\n", e.Formula)
	for _, key := range e.Sources {
		fmt.Fprintln(s.out, "source: "+key)
	}
	for _, c := range e.Cautions {
		fmt.Fprintln(s.out, c)
	}
	return nil
}
