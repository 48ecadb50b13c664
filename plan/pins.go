package plan

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"tidebed/quantity"
	"tidebed/science/crop"
	"tidebed/site"
)

// ParsePin reads a pin as a person types it: the crop, then in any bed or group of
// beds, an area and the days between which it is planted, each of which may be left
// out: "potato in tubs 2 m2 2027-03-01..2027-04-01"; to forbid: "kale", "kale in north
// 1". A single day stands for itself; "2027-03-01.." is from that day on. The crop is
// its key or its name. Errors name what is not known and what is nearest to it: an
// unknown crop or bed, an area of nothing or more than the place has, days that run
// backwards, and an area of what is forbidden.
func ParsePin(text string, forbid bool, s *site.Site) (Pin, error) {
	pin, err := parsePin(text, forbid, s)
	if err != nil {
		word := "pin"
		if forbid {
			word = "forbid"
		}
		return Pin{}, fmt.Errorf("%s %q: %w", word, oneLine(text), err)
	}
	return pin, nil
}

// pinLetters is the longest pin that is read.
const pinLetters = 200

func parsePin(text string, forbid bool, s *site.Site) (Pin, error) {
	pin := Pin{Forbid: forbid}
	words := strings.Fields(text)
	switch {
	case len(words) == 0:
		return pin, errors.New("name a crop, such as potato in tubs 2 m2 2027-03-01..2027-04-01")
	case len(text) > pinLetters:
		return pin, fmt.Errorf("it is longer than %d letters", pinLetters)
	}
	if last := words[len(words)-1]; strings.Contains(last, "..") || looksLikeDay(last) {
		var err error
		if pin.From, pin.To, err = pinDays(last); err != nil {
			return pin, err
		}
		words = words[:len(words)-1]
	}
	words, area, err := pinArea(words)
	if err != nil {
		return pin, err
	}
	pin.AreaM2 = area
	if forbid && area > 0 {
		return pin, errors.New("what is forbidden has no area: leave it out")
	}
	name, place := strings.Join(words, " "), ""
	if at := slices.IndexFunc(words, func(w string) bool { return strings.EqualFold(w, "in") }); at >= 0 {
		name, place = strings.Join(words[:at], " "), strings.Join(words[at+1:], " ")
		if place == "" {
			return pin, errors.New("a bed must stand after in")
		}
	}
	if name == "" {
		return pin, errors.New("name a crop first, such as kale")
	}
	if pin.Crop, err = pinCrop(name); err != nil {
		return pin, err
	}
	if place == "" {
		return pin, nil
	}
	var has float64
	if pin.Group, has, err = pinPlace(place, s); err != nil {
		return pin, err
	}
	if has > 0 && pin.AreaM2 > has*(1+1e-6) {
		return pin, fmt.Errorf("%s is more than %s has: %s", Paced(pin.AreaM2), pin.Group, Paced(has))
	}
	return pin, nil
}

func looksLikeDay(word string) bool {
	return len(word) >= 8 && strings.Count(word, "-") == 2 && strings.Trim(word, "0123456789-") == ""
}

// pinDays reads FROM..TO, one end of which may be empty, or one day.
func pinDays(word string) (from, to site.Date, err error) {
	a, b, span := strings.Cut(word, "..")
	if !span {
		b = a
	}
	for _, end := range []struct {
		text string
		to   *site.Date
	}{{a, &from}, {b, &to}} {
		if end.text == "" {
			continue
		}
		if *end.to, err = site.ParseDate(end.text); err != nil {
			return from, to, fmt.Errorf("the days %s: %w; write them as 2027-03-01..2027-04-01", word, err)
		}
	}
	switch {
	case from.IsZero() && to.IsZero():
		return from, to, fmt.Errorf("the days %s say nothing; write them as 2027-03-01..2027-04-01", word)
	case !from.IsZero() && !to.IsZero() && to.Before(from.Time):
		return from, to, fmt.Errorf("its days run backwards: %s is before %s", to, from)
	}
	return from, to, nil
}

// pinArea takes an area from the end of the words: "2 m2" or "2m2".
func pinArea(words []string) (rest []string, m2 float64, err error) {
	for n := 1; n <= 2 && n < len(words); n++ {
		tail := strings.Join(words[len(words)-n:], " ")
		if tail[0] != '-' && (tail[0] < '0' || tail[0] > '9') {
			continue
		}
		m2, err = quantity.Parse(tail, quantity.Area)
		if err != nil {
			placed := slices.ContainsFunc(words, func(w string) bool { return strings.EqualFold(w, "in") })
			if n == 1 && !placed && strings.Trim(tail, "0123456789.,") == "" {
				return nil, 0, fmt.Errorf("%s has no unit; an area is written as 2 m2", tail)
			}
			continue // the number of a bed, such as north 1
		}
		if !(m2 > 0) || math.IsInf(m2, 0) {
			return nil, 0, fmt.Errorf("the area %s must be more than nothing", tail)
		}
		return words[:len(words)-n], m2, nil
	}
	return words, 0, nil
}

// pinCrop finds a crop by its key or its name.
func pinCrop(name string) (string, error) {
	var known []string
	for _, c := range crop.Crops() {
		if sameWords(c.Key, name) || sameWords(c.Name, name) {
			return c.Key, nil
		}
		known = append(known, c.Key)
	}
	return "", fmt.Errorf("no crop is called %s; nearest: %s", name, strings.Join(nearest(name, known, 3), ", "))
}

// sameWords compares without case, commas and the kind of space.
func sameWords(a, b string) bool { return pinWords(a) == pinWords(b) }

func pinWords(text string) string {
	return strings.Join(strings.Fields(strings.NewReplacer("_", " ", ",", " ", "-", " ").Replace(strings.ToLower(text))), " ")
}

// pinPlace finds a bed, or a group of beds, and the area that it has.
func pinPlace(place string, s *site.Site) (name string, m2 float64, err error) {
	var known []string
	if s != nil {
		for i := range s.Loops {
			for _, b := range s.Loops[i].Beds {
				if sameWords(b.Name, place) {
					return b.Name, b.GrowingM2(), nil
				}
				known = append(known, b.Name)
			}
		}
		for _, g := range groupsOf(s) {
			if sameWords(g.Name, place) {
				return g.Name, g.AreaM2, nil
			}
			if !slices.Contains(known, g.Name) {
				known = append(known, g.Name)
			}
		}
	}
	if len(known) == 0 {
		return "", 0, fmt.Errorf("no bed is called %s: the site has no beds", place)
	}
	return "", 0, fmt.Errorf("no bed or group of beds is called %s; nearest: %s", place, strings.Join(nearest(place, known, 4), ", "))
}

// ParseOrder reads keys of levels, most important first, with commas between. Errors:
// a key twice, or one that no level has.
func ParseOrder(text string) ([]string, error) {
	var out []string
	keys, _ := LevelKeys()
	for word := range strings.SplitSeq(text, ",") {
		word = strings.ToLower(strings.TrimSpace(word))
		switch {
		case word == "":
			continue
		case !slices.Contains(keys, word):
			return nil, fmt.Errorf("no level has the key %q; there are %s", oneLine(word), strings.Join(keys, ", "))
		case slices.Contains(out, word):
			return nil, fmt.Errorf("%s stands in it twice", word)
		}
		out = append(out, word)
	}
	return out, nil
}

// ParseGive reads how many points of a share later levels may take back, 0 to 10, as a
// share; "" is the usual one. Nothing at all stands as the smallest the programme knows.
func ParseGive(text string) (float64, error) {
	text = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "%"))
	if text == "" {
		return 0, nil
	}
	const points, least, most = 100, 1e-6, 10
	v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil || !(v >= 0) || v > most {
		return 0, fmt.Errorf("%q: give 0 to %d points, such as 0.5", oneLine(text), most)
	}
	return math.Max(least, v/points), nil
}

// SafetyOf is a safety in days, 0 to 60, as Options holds it: 0 days is negative there.
func SafetyOf(days int) (int, error) { return daysOf(days, 60) }

// LeadOf is the days until seed is there, 0 to 366, as Options holds them: 0 days is
// negative there.
func LeadOf(days int) (int, error) { return daysOf(days, 366) }

func daysOf(days, most int) (int, error) {
	switch {
	case days < 0 || days > most:
		return 0, fmt.Errorf("%d: give 0 to %d days", days, most)
	case days == 0:
		return -1, nil
	}
	return days, nil
}

// Line is progress in one line: "whole modules, 3 of 12; best so far 61 %, 2.1 % from the bound".
func (p Progress) Line() string {
	text := p.Step
	if p.Of > 0 {
		text += fmt.Sprintf(", %d of %d", p.Done, p.Of)
	}
	if p.Best > 0 {
		text += fmt.Sprintf("; best so far %.0f %%", math.Floor(100*p.Best))
		if p.Gap > 0 && !math.IsInf(p.Gap, 0) {
			text += fmt.Sprintf(", %.1f %% from the bound", 100*p.Gap)
		}
	}
	return text
}

// nearest are the n known words that fewest letters part from the one given.
func nearest(given string, known []string, n int) []string {
	given = pinWords(given)
	steps := map[string]int{}
	for _, k := range known {
		word := pinWords(k)
		steps[k] = lettersApart(given, word)
		if given != "" && (strings.HasPrefix(word, given) || strings.Contains(word, given)) {
			steps[k] = min(steps[k], 1)
		}
	}
	list := slices.Clone(known)
	slices.SortStableFunc(list, func(a, b string) int { return steps[a] - steps[b] })
	list = slices.Compact(list)
	return list[:min(n, len(list))]
}

// lettersApart is the number of letters to put in, take out or change.
func lettersApart(a, b string) int {
	x, y := []rune(a), []rune(b)
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		corner := row[0]
		row[0] = i + 1
		for j := range y {
			cost := corner
			if x[i] != y[j] {
				cost++
			}
			corner = row[j+1]
			row[j+1] = min(cost, row[j]+1, corner+1)
		}
	}
	return row[len(y)]
}
