package plumbing

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// CSV writes the timetable for a controller: a line for each opening of a valve,
// in the order in which they come, comma-separated as RFC 4180 has it. Times are
// in seconds from the beginning of the cycle, the first of which begins with its
// part. overlap_s is how much later than opens_at_s + open_s to shut a valve so
// that the next is open before: the pump must not run against shut valves. An
// opening that would not end within its part is left out. A name that a
// spreadsheet would take for a formula, for it begins with = + - or @, has an
// apostrophe put before it.
func (t *Timetable) CSV(w io.Writer) error {
	if len(t.Parts) == 0 {
		return errNoTimetable
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	if err := out.Write([]string{"part", "from", "to", "cycle_s", "valve", "bed", "opens_at_s", "open_s", "overlap_s", "inflow_l_min"}); err != nil {
		return fmt.Errorf("timetable: %w", err)
	}
	for i := range t.Parts {
		p := &t.Parts[i]
		for g, group := range p.Groups {
			for _, j := range group {
				u := &p.Turns[j]
				line := []string{
					p.Name, clockText(p.FromH), clockText(p.ToH), seconds(p.CycleS), guarded(u.Valve), guarded(u.Name),
					seconds(u.AtS), seconds(u.OpenS), seconds(p.overlapS(g, u)), strconv.FormatFloat(u.InflowM3s*60000, 'f', 2, 64),
				}
				if err := out.Write(line); err != nil {
					return fmt.Errorf("timetable: %w", err)
				}
			}
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return fmt.Errorf("timetable: %w", err)
	}
	return nil
}

// overlapS is how long a valve of a group stays open into the next group's turn:
// where nothing else flows, and the next follows at once.
func (p *Part) overlapS(group int, u *Turn) float64 {
	if !p.PumpRests || u.OpenS < slotS(p.Turns, p.Groups[group])-0.5 {
		return 0
	}
	next, from := group+1, 0.0
	if next == len(p.Groups) {
		if len(p.Groups) == 1 {
			return 0
		}
		next, from = 0, p.CycleS
	}
	if p.Turns[p.Groups[next][0]].AtS+from > u.AtS+u.OpenS+0.5 {
		return 0
	}
	return overlapS
}

// guarded is a name that no spreadsheet takes for a formula.
func guarded(name string) string {
	if name != "" && strings.ContainsRune("=+-@\t\r", rune(name[0])) {
		return "'" + name
	}
	return name
}

// seconds prints whole seconds, tenths where they are needed to tell.
func seconds(s float64) string { return strconv.FormatFloat(math.Round(s*10)/10, 'f', -1, 64) }

// clockText is an hour of the day as 06:30.
func clockText(hour float64) string {
	minutes := math.Round(hour * 60)
	return fmt.Sprintf("%02.0f:%02.0f", math.Floor(minutes/60), math.Mod(minutes, 60))
}
