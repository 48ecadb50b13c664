package meals

import (
	"fmt"
	"strings"

	"tidebed/site"
)

// dayWords writes a day for people: "3 June", with the year where it is not
// that of today.
func dayWords(d, today site.Date) string {
	if d.Year() == today.Year() {
		return d.Format("2 January")
	}
	return d.Format("2 January 2006")
}

// span writes a run of days: "10 to 16 October", "30 May to 2 June".
func span(from, to, today site.Date) string {
	switch {
	case from.Time.Equal(to.Time):
		return "On " + dayWords(from, today)
	case from.Month() == to.Month() && from.Year() == to.Year():
		return fmt.Sprintf("From %d to %s", from.Day(), dayWords(to, today))
	}
	return fmt.Sprintf("From %s to %s", dayWords(from, today), dayWords(to, today))
}

// Percent writes a share with the digits it deserves: whole percents, one
// decimal below one percent.
func Percent(share float64) string {
	p := share * 100
	switch {
	case p > 0 && p < 0.05:
		return "less than 0.1 %"
	case p > 0 && p < 1:
		return fmt.Sprintf("%.1f %%", p)
	}
	if p < 100 && p >= 99.5 {
		return "99 %" // what is less than all never reads as all
	}
	return fmt.Sprintf("%.0f %%", p)
}

// shortName is a food's name without what the table adds after it.
func shortName(name string) string {
	if i := strings.IndexAny(name, ",("); i > 0 {
		name = name[:i]
	}
	return strings.TrimSpace(name)
}
