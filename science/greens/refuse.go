package greens

import (
	"strings"
	"unicode"
)

// RefusedError says that a plant is never grown as a seedling to eat, and why.
type RefusedError struct {
	Plant  string // as it was asked for
	Reason string
}

// Error names the plant, the reason and what to do instead.
func (e *RefusedError) Error() string {
	return e.Plant + " is refused as a tray green: " + e.Reason + "; choose a green of the table"
}

// Reasons of refusal. Source: fda-bad-bug for kidney beans; the rest common
// knowledge of poisonous plants, from memory.
const (
	nightshade = "seedlings of the nightshade family hold glycoalkaloids or tropanes"
	kidney     = "raw beans of this kind hold phytohaemagglutinin, lima beans cyanide too"
	lupin      = "lupins hold quinolizidine alkaloids and are an allergen"
	lethal     = "its seed is deadly"
	cyanide    = "its young shoots set cyanide free"
	pips       = "pips and stones hold amygdalin, which sets cyanide free"
	furano     = "its seedlings hold furanocoumarins, and poisonous kin look like it"
	oxalate    = "its leaves hold oxalate and anthraquinones"
	needles    = "it holds cyanide or needles of oxalate"
	treated    = "treated, dyed or dressed seed carries fungicide; ornamental seed is not sold as food"
	favism     = "raw broad beans hold vicine, which is dangerous for people with G6PD deficiency"
)

// refusedGenera are botanical genera, and lower-case families of wild plants.
var refusedGenera = map[string]string{
	"solanum": nightshade, "capsicum": nightshade, "physalis": nightshade, "lycopersicon": nightshade, "nicotiana": nightshade,
	"datura": nightshade, "atropa": nightshade, "brugmansia": nightshade, "lycium": nightshade, "hyoscyamus": nightshade,
	"phaseolus": kidney, "lupinus": lupin, "ricinus": lethal, "digitalis": lethal, "abrus": lethal, "conium": lethal,
	"aconitum": lethal, "delphinium": lethal, "nerium": lethal, "cicuta": lethal,
	"sorghum": cyanide, "linum": cyanide, "manihot": needles, "colocasia": needles,
	"prunus": pips, "malus": pips, "pyrus": pips, "cydonia": pips,
	"pastinaca": furano, "heracleum": furano, "ammi": furano, "rheum": oxalate,
}

// refusedWords are common names, whole words in lower case without plural s.
var refusedWords = map[string]string{
	"tomato": nightshade, "pepper": nightshade, "chilli": nightshade, "chili": nightshade, "chile": nightshade, "paprika": nightshade,
	"capsicum": nightshade, "aubergine": nightshade, "eggplant": nightshade, "potato": nightshade, "tomatillo": nightshade,
	"nightshade": nightshade, "tobacco": nightshade, "goji": nightshade, "wolfberry": nightshade, "physali": nightshade, "henbane": nightshade, "belladonna": nightshade,
	"rhubarb": oxalate, "kidney": kidney, "runner": kidney, "lima": kidney, "haricot": kidney, "pinto": kidney, "navy": kidney,
	"borlotti": kidney, "cannellini": kidney, "black bean": kidney, "bush bean": kidney, "climbing bean": kidney, "dry bean": kidney,
	"french bean": kidney, "green bean": kidney, "snap bean": kidney, "white bean": kidney, "common bean": kidney, "bean dry": kidney, "butter bean": kidney,
	"broad bean": favism, "fava": favism, "faba": favism, "lupin": lupin, "lupine": lupin, "castor": lethal, "foxglove": lethal, "hemlock": lethal,
	"oleander": lethal, "monkshood": lethal, "larkspur": lethal,
	"sorghum": cyanide, "johnson": cyanide, "johnsongrass": cyanide, "sudan": cyanide, "sudangrass": cyanide, "flax": cyanide, "linseed": cyanide,
	"apple": pips, "apricot": pips, "cherry": pips, "peach": pips, "plum": pips, "almond": pips, "pear": pips, "quince": pips, "nectarine": pips,
	"parsnip": furano, "hogweed": furano, "cassava": needles, "manioc": needles, "taro": needles,
	"treated": treated, "dressed": treated, "dyed": treated, "ornamental": treated, "wild": treated,
}

// refusedSpecies are species of genera that are otherwise eaten.
var refusedSpecies = map[string]string{"vicia faba": favism}

// Refused returns why a plant, by key, common or botanical name, is never
// grown as a seedling; nil when nothing is known against it. It looks at whole
// words, so that "cherry tomato" and "Solanum lycopersicum" are found and
// "tomatoes" too.
func Refused(name string) *RefusedError {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) })
	if len(words) == 1 && singular(words[0]) == "bean" {
		return &RefusedError{name, kidney}
	}
	for i, w := range words {
		if reason, ok := refusedGenera[w]; ok {
			return &RefusedError{name, reason}
		}
		one := singular(w)
		for _, text := range []string{w, one} {
			if reason, ok := refusedWords[text]; ok && !allowed(words) {
				return &RefusedError{name, reason}
			}
		}
		if i+1 < len(words) {
			pair := w + " " + singular(words[i+1])
			if reason, ok := refusedWords[pair]; ok {
				return &RefusedError{name, reason}
			}
			if reason, ok := refusedSpecies[w+" "+words[i+1]]; ok {
				return &RefusedError{name, reason}
			}
		}
	}
	return nil
}

// allowed knows the names that hold a refused word and mean another plant:
// pepper cress and sweet potato are no nightshades, wild rocket is sown as food.
func allowed(words []string) bool {
	text := strings.Join(words, " ")
	return text == "wild rocket" || text == "pepper cress" || text == "pepper grass" || text == "sweet potato"
}

func singular(w string) string {
	switch {
	case strings.HasSuffix(w, "oes"):
		return strings.TrimSuffix(w, "es")
	case strings.HasSuffix(w, "ies") && len(w) > 4:
		return strings.TrimSuffix(w, "ies") + "y"
	case strings.HasSuffix(w, "s") && len(w) > 3:
		return strings.TrimSuffix(w, "s")
	}
	return w
}
