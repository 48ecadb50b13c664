package main

import (
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"
	"text/tabwriter"

	"tidebed/reckoner"
)

type reckonCmd struct {
	common
	Name string   `arg:"" optional:"" help:"The sum; without it they are listed."`
	Keys []string `arg:"" optional:"" help:"key=value, with units."`
}

// noAnswer is what exit status 3 means for a sum.
const noAnswer = "Exit status 3: a quantity has no answer (never reached, no sunrise)."

// Help adds what the exit status says.
func (c *reckonCmd) Help() string {
	return "reckon NAME --help shows a sum's keys, ranges, formula and sources. " + noAnswer + "\n\n" + statuses
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
		if err := w.Flush(); err != nil {
			return err
		}
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

// sumHelp returns the sum whose help is asked for: reckon NAME … --help.
func sumHelp(args []string) (name string, ok bool) {
	if len(args) < 2 || args[0] != "reckon" {
		return "", false
	}
	for _, a := range args[1:] {
		switch {
		case a == "--help" || a == "-h":
			ok = true
		case name == "" && !strings.HasPrefix(a, "-"):
			name = a
		}
	}
	return name, ok && name != ""
}

// sumKey is a key of a sum as JSON.
type sumKey struct {
	Name     string   `json:"name"`
	What     string   `json:"what"`
	Range    string   `json:"range"`
	Default  string   `json:"default,omitempty"`
	Required bool     `json:"required"`
	Choices  []string `json:"choices,omitempty"`
}

// sumOutput is an output of a sum as JSON.
type sumOutput struct {
	Name string `json:"name"`
	What string `json:"what"`
	Unit string `json:"unit"`
}

// sumText is all about a sum as JSON.
type sumText struct {
	Entry    string      `json:"entry"`
	Title    string      `json:"title"`
	Keys     []sumKey    `json:"keys"`
	OneOf    [][]string  `json:"oneOf,omitempty"`
	Outputs  []sumOutput `json:"outputs"`
	Formula  string      `json:"formula"`
	Sources  []string    `json:"sources"`
	Cautions []string    `json:"cautions,omitempty"`
}

// describe prints a sum's keys, formula and sources.
func describe(s streams, name string, asJSON bool) error {
	e, err := reckoner.Find(name)
	if err != nil {
		return err
	}
	if asJSON {
		text := sumText{Entry: e.Name, Title: e.Title, OneOf: e.OneOf, Formula: e.Formula, Sources: e.Sources, Cautions: e.Cautions}
		for _, k := range e.Keys {
			text.Keys = append(text.Keys, sumKey{k.Name, k.What, k.Range, k.Default, k.Required, k.Choices})
		}
		for _, o := range e.Outputs {
			text.Outputs = append(text.Outputs, sumOutput{o.Name, o.What, o.Unit})
		}
		return s.json(text)
	}
	fmt.Fprintf(s.out, "%s: %s\n\n", e.Name, e.Title)
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	for _, k := range e.Keys {
		state := "may be left out"
		switch {
		case k.Default != "":
			state = "default " + k.Default
		case k.Required:
			state = "needed"
		}
		for _, group := range e.OneOf {
			if slices.Contains(group, k.Name) {
				state = "give just one of " + strings.Join(group, ", ")
			}
		}
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\n", k.Name, k.What, k.Range, state)
	}
	for _, o := range e.Outputs {
		fmt.Fprintf(w, "  gives %s\t%s\t%s\t\n", o.Name, o.What, o.Unit)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "\nformula: %s\n", e.Formula)
	for _, key := range e.Sources {
		fmt.Fprintln(s.out, "source: "+key)
	}
	for _, c := range e.Cautions {
		fmt.Fprintln(s.out, c)
	}
	fmt.Fprintf(s.out, "\n%s\n%s\n", noAnswer, statuses)
	return nil
}
