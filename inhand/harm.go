package inhand

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/plumbing"
	"tidebed/site"
)

// Harm says how long there is when something of a loop's plumbing fails: of the
// fish where they are concerned, by the answer, and of the roots; "–" when neither
// is. Without an answer, nil, the fish are left out.
func Harm(f *plumbing.Fault, a *Answer, l *site.Loop) string {
	var parts []string
	if a != nil && f.FishCase != "" {
		soonest, who := math.Inf(1), ""
		for _, t := range a.InOrder() {
			in := slices.ContainsFunc(l.Tanks, func(x site.Tank) bool { return x.Name == t.Name })
			if !in || f.FishTank != "" && t.Name != f.FishTank || !t.Has(f.FishCase) {
				continue
			}
			if h := t.Soonest(f.FishCase); who == "" || h < soonest {
				soonest, who = h, t.Name
			}
		}
		switch {
		case who == "":
		case soonest <= 0:
			parts = append(parts, fmt.Sprintf("fish of %s: they suffer already, without it", who))
		default:
			parts = append(parts, fmt.Sprintf("fish of %s: %s", who, TextOf(soonest)))
		}
	}
	if f.DryH > 0 && !math.IsInf(f.DryH, 0) && !math.IsNaN(f.DryH) {
		parts = append(parts, "roots: "+Duration(f.DryH))
	}
	if len(parts) == 0 {
		return "–"
	}
	return strings.Join(parts, "; ")
}
