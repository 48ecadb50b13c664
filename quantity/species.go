package quantity

import (
	"fmt"
	"math/big"
	"strings"
)

// species says what one gram and one mole of an ion or compound, named after a
// concentration, count in the kind's own unit.
type species struct {
	perGram *big.Rat
	perMole *big.Rat
}

// Molar masses in g/mol, from the abridged standard atomic weights of IUPAC 2021
// (H 1.008, C 12.011, N 14.007, O 15.999, P 30.974, Ca 40.078).
var speciesOf = map[Kind]map[string]species{
	AsN: speciesTable("14.007", "N NO3-N NO2-N NH4-N NH3-N TAN TAN-N DIN=14.007 NO3=62.004 NO2=46.005 NH4=18.039 NH3=17.031"),
	AsP: speciesTable("30.974", "P PO4-P DIP=30.974 PO4 PO43=94.970 H2PO4=96.986 HPO4=95.978"),
	AsC: speciesTable("12.011", "C CO2-C DIC TIC=12.011 CO2=44.009 HCO3=61.016 CO3=60.008 CaCO3=100.086"),
	Alkalinity: {
		"CaCO3": {fraction("2/100.086"), fraction("2")},
		"HCO3":  {fraction("1/61.016"), fraction("1")},
	},
}

// usualSpecies is what a concentration without a name is taken to be.
var usualSpecies = map[Kind]string{AsN: "N", AsP: "P", AsC: "C", Alkalinity: "CaCO3"}

// speciesTable reads "A B=mass C=mass": names, then the molar mass they share.
// Each holds one atom of the element.
func speciesTable(atomG, list string) map[string]species {
	table := map[string]species{}
	var names []string
	for field := range strings.FieldsSeq(list) {
		name, mass, last := strings.Cut(field, "=")
		if names = append(names, name); !last {
			continue
		}
		for _, n := range names {
			table[n] = species{perGram: fraction(atomG + "/" + mass), perMole: fraction(atomG)}
		}
		names = nil
	}
	return table
}

// speciesError names a form in which the kind is not measured here.
type speciesError struct{ text string }

func (e *speciesError) Error() string {
	return show(e.text) + " is not a form of it that is known here"
}

// cutSpecies takes the name of an ion out of a unit: "mg/L as NO3", "mg/L NO2-N"
// and "mg N/L" give "mg/L" and the name. named is false when there is none.
func cutSpecies(kind Kind, text string) (unit, name string, named bool, err error) {
	known := speciesOf[kind]
	text = strings.ReplaceAll(text, "(as ", "as ")
	var kept []string
	asked := false
	for field := range strings.FieldsSeq(text) {
		if field == "as" && !asked {
			asked = true
			continue
		}
		if asked {
			field = strings.TrimSuffix(field, ")")
		}
		head, tail, stroke := strings.Cut(field, "/")
		head = strings.TrimRight(head, "+-")
		if _, ok := known[head]; ok && !named && len(kept) > 0 {
			name, named = head, true
			if stroke {
				kept[len(kept)-1] += "/" + tail
			}
			asked = false
			continue
		}
		if asked {
			return "", "", false, &speciesError{"as " + field}
		}
		kept = append(kept, field)
	}
	if asked {
		return "", "", false, fmt.Errorf("the word after %s is missing", show("as"))
	}
	if !named {
		name = usualSpecies[kind]
	}
	return strings.Join(kept, " "), name, named, nil
}
