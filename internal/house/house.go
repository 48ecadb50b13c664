// Package house holds the order of the project's packages: each may import
// only packages on earlier lines.
//
// In it: the order and the check of a given import graph. Not here: reading
// the graph, which its test does with the go command. It knows no units.
package house

import (
	"fmt"
	"slices"
	"strings"
)

// Module is the path of the module; packages below are named without it.
const Module = "tidebed"

// Floors lists the packages from the ground up; packages in one line may not
// import one another.
var Floors = [][]string{
	{"words"},
	{"quantity"},
	{"table"},
	{"numeric/root", "numeric/ode", "numeric/lp"},
	{"science/sun"}, {"science/air"}, {"science/water"}, {"science/pipe"}, {"science/fish"}, {"science/food"},
	{"science/siphon"}, {"science/fabric"}, {"science/crop"},
	{"science/greens"}, {"science/power"},
	{"cells"}, {"climate"}, {"site"}, {"stocktake"}, {"plumbing"}, {"warmth"}, {"ripen", "inhand", "watertest"}, {"season"}, {"larder"}, {"menu"}, {"meals"}, {"plan"},
	{"trays", "money"}, {"round"}, {"book"}, {"reckoner"}, {"evidence"}, {"web"}, {"cmd/tidebed"},
}

// only says which package alone may import an outside module.
var only = map[string]string{
	"modernc.org/sqlite":            "book",
	"github.com/tetratelabs/wazero": "numeric/lp",
	"github.com/goccy/go-yaml":      "site",
}

// noFormula are the packages that hold no formula: they may not reach into the
// sciences themselves.
var noFormula = []string{"web", "cmd/tidebed"}

// support are packages outside the order, for tests; beside those only the
// packages named here may import them.
var support = map[string][]string{
	"numeric/lp/lptest":   {"evidence"}, // known programmes, shown to people too
	"numeric/ode/odetest": {"evidence"}, // known stiff problems, shown to people too
	"internal/house":      nil,
}

// floor returns the line of a package, -1 when it has none.
func floor(pkg string) int {
	return slices.IndexFunc(Floors, func(line []string) bool { return slices.Contains(line, pkg) })
}

// Check returns a sentence for each import that breaks the order. graph maps a
// package, named without the module, to the full paths it imports.
func Check(graph map[string][]string) []string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	for pkg, imports := range graph {
		if _, aside := support[pkg]; aside {
			continue
		}
		at := floor(pkg)
		if at < 0 {
			say("package %s is on no line of the house: add it to internal/house", pkg)
			continue
		}
		for _, path := range imports {
			for outside, owner := range only {
				if (path == outside || strings.HasPrefix(path, outside+"/")) && pkg != owner {
					say("package %s imports %s, which only %s may", pkg, path, owner)
				}
			}
			other, ours := strings.CutPrefix(path, Module+"/")
			if !ours {
				continue
			}
			if users, aside := support[other]; aside {
				if !slices.Contains(users, pkg) {
					say("package %s imports %s, which is for tests", pkg, other)
				}
				continue
			}
			if slices.Contains(noFormula, pkg) && strings.HasPrefix(other, "science/") {
				say("package %s imports %s: it holds no formula, so it asks a package between them", pkg, other)
			}
			if to := floor(other); to < 0 || to >= at {
				say("package %s imports %s, which is not on an earlier line of the house", pkg, other)
			}
		}
	}
	slices.Sort(out)
	return out
}
