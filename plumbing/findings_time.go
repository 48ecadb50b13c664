package plumbing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/site"
	"tidebed/words"
)

// timetable checks whether it fits, its duty and the level of what the pump draws
// from.
func (a *audit) timetable() {
	s, t := a.s, a.t
	if t == nil || !s.Piped || len(t.Parts) == 0 {
		return
	}
	fewer := sync(func() string { return a.fewer() })
	why := a.ownReasons(t.Why)
	if !t.Fits && len(t.Why) > 0 && len(why) == 0 {
		// problems tells
	} else if !t.Fits && len(why) > 0 {
		sentence, remedy := split(why)
		late := slices.ContainsFunc(t.Parts, func(p Part) bool { return p.CycleS > secondsInHour/p.AskedPerHour*(1+1e-9) })
		switch less := fewer(); {
		case less == "":
		case late:
			remedy = less
		default:
			remedy += " Without that: " + words.Lower(less)
		}
		a.say(Act, "timetable.floods", s.Loop.Name, "The timetable does not fit. "+sentence, remedy, practice, "")
	} else {
		for i := range t.Parts {
			if p := &t.Parts[i]; p.Duty > mostDuty {
				a.say(Watch, "timetable.floods", s.Loop.Name, fmt.Sprintf("By %s some valve is open %.0f %% of the time; above 95 %% one slow fill puts the whole turn out.", p.Name, 100*p.Duty), cmp.Or(fewer(), "Flood less often, or bring the beds more water."), practice, "")
			}
		}
	}
	c := s.dayOf(t)
	if c == nil {
		return
	}
	src := &s.Source
	field, name := s.sourceField(), src.Name
	cover := a.u.depth(intakeCoverM)
	if c.SourceLowM < src.IntakeM+intakeCoverM-1e-6 {
		state, what := Watch, "the pump draws air in whirls"
		if s.runsDry(c) {
			state, what = Act, "the pump runs dry"
		}
		a.say(state, field, name, fmt.Sprintf("{}: in the course of a day its water sinks to %s, the pump's intake lies %s; with less than %s over it %s.", a.u.level(c.SourceLowM), a.u.level(src.IntakeM), cover, what),
			a.cover(), practice, unplugFirst)
	} else {
		a.say(Good, field, name, fmt.Sprintf("{}: its water stands between %s in the course of a day; the intake lies %s.", a.u.levels(c.SourceLowM, c.SourceHighM), a.u.level(src.IntakeM)), "", practice, "")
	}
	if c.SourceHighM > src.RimM+1e-6 {
		a.say(Act, field, name, fmt.Sprintf("{}: in the course of a day its water comes to the rim, %s, and runs over.", a.u.level(src.RimM)), "Take water out while the beds are drained.", practice, "")
	}
}

// ownReasons are the reasons of a timetable less those for beds of which problems
// tells that they cannot drain: to the timetable these are beds without a drain.
func (a *audit) ownReasons(why []string) []string {
	return slices.DeleteFunc(slices.Clone(why), func(text string) bool {
		return slices.ContainsFunc(a.s.Beds, func(b Bed) bool {
			return b.Way == Unknown && b.In.Siphon != nil && strings.Contains(text, "drains is not described") && strings.Contains(text, b.In.Name)
		})
	})
}

// sync makes a function that works once and keeps its answer.
func sync(work func() string) func() string {
	done, text := false, ""
	return func() string {
		if !done {
			done, text = true, work()
		}
		return text
	}
}

// split are the reasons of a timetable in two: what is, and what to do, which is the
// last sentence of each.
func split(why []string) (sentence, remedy string) {
	const most = 3
	var is, do []string
	for i, text := range why {
		if i == most {
			is = append(is, fmt.Sprintf("The timetable itself names %s more.", countOf(len(why)-most, "reason")))
			break
		}
		if i := strings.LastIndex(strings.TrimSuffix(text, "."), ". "); i >= 0 {
			is = append(is, text[:i+1])
			if next := text[i+2:]; !slices.Contains(do, next) {
				do = append(do, next)
			}
		} else {
			is = append(is, text)
		}
	}
	if len(do) == 0 {
		do = []string{"Mend what the reasons name, and make the timetable anew."}
	}
	return strings.Join(is, " "), strings.Join(do, " ")
}

// runsDry reports whether the pump had no water in a course.
func (s *Scheme) runsDry(c *Course) bool {
	return c.DrySeconds > 0 || c.SourceLowM <= s.Source.IntakeM+1e-3
}

// planOf is the timetable of a goal, its floods by night no more often than those by
// day, and whether it fits with time to spare and the pump's intake covered.
func (s *Scheme) planOf(g Goal) (t *Timetable, good bool) {
	t, err := s.Plan(g)
	if err != nil || !t.Fits {
		return t, false
	}
	for i := range t.Parts {
		if t.Parts[i].Duty > mostDuty {
			return t, false
		}
	}
	c := s.dayOf(t)
	return t, c != nil && c.DrySeconds == 0
}

// fewer is a number of floods an hour that fits, planned and followed for a day;
// empty when fewer floods alone do not do it.
func (a *audit) fewer() string {
	s, t := a.s, a.t
	slots, least := 0.0, math.Inf(1)
	for i := range t.Parts {
		slots = math.Max(slots, t.Parts[i].SlotsS)
		least = math.Min(least, t.Parts[i].AskedPerHour)
	}
	if !(slots > 0) {
		return ""
	}
	g := t.Goal
	asked := g.filled().PerHour
	most := math.Min(mostDuty*secondsInHour/slots, asked)
	if t.MostPerHour > 0 {
		most = math.Min(most, t.MostPerHour)
	}
	for range 4 {
		n := most
		if unit := math.Pow(10, math.Floor(math.Log10(n))-1); n < asked || n/unit > math.Floor(n/unit) {
			n = floorTo(n, unit)
		}
		if !(n >= 0.05) {
			return ""
		}
		g.PerHour = n
		if g.AtNight > 0 {
			g.AtNight = math.Min(t.Goal.AtNight, n)
		}
		if _, ok := s.planOf(g); ok && (n < asked || g.AtNight < t.Goal.AtNight) {
			return fmt.Sprintf("Flood %.2g times an hour or less (`floods`).", n)
		}
		most = 0.8 * n
	}
	return ""
}

// cover is what keeps the pump's intake covered through the day: each way is drawn
// anew, planned, and followed for a day.
func (a *audit) cover() string {
	s := a.s
	src := &s.Source
	tank := s.sourceTank()
	covers := func(change func(l *site.Loop)) bool {
		return a.tried(change, func(made *Scheme) bool {
			if !made.Piped {
				return false
			}
			g := GoalOf(made.Loop)
			t, err := made.Plan(g)
			if err != nil {
				return false
			}
			c := made.dayOf(t)
			return c != nil && c.SourceLowM >= made.Source.IntakeM+intakeCoverM-1e-6 && c.DrySeconds == 0 && c.SourceHighM <= made.Source.RimM+1e-6
		})
	}
	var ways []string
	if slices.ContainsFunc(s.Branches, func(b Branch) bool { return b.Timed && b.Pipe.OpenS > 0 }) && !s.allTrip(a.t) && covers(func(l *site.Loop) {
		for i := range l.Pipes {
			l.Pipes[i].OpenS = 0
		}
	}) {
		return "Let the valves open until the siphons start (take `open` from their pipes): beds that stay full hold the water back."
	}
	for _, rise := range []float64{0.01, 0.02, 0.03, 0.05, 0.08, 0.12, 0.2, 0.3} {
		if rise = a.u.up(rise, 0.01); src.SurfaceM+rise > src.RimM-leastFreeM {
			break
		}
		if covers(func(l *site.Loop) {
			if tank >= 0 {
				t := &l.Tanks[tank]
				t.VolumeM3, t.LevelM, t.DepthM, t.RimM = src.VolumeM3+rise*src.AreaM2, src.SurfaceM+rise, src.SurfaceM-src.BottomM+rise, src.RimM
			} else {
				l.SumpM3, l.SumpLevelM, l.SumpDepthM, l.SumpRimM = src.VolumeM3+rise*src.AreaM2, src.SurfaceM+rise, src.SurfaceM-src.BottomM+rise, src.RimM
			}
		}) {
			ways = append(ways, fmt.Sprintf("top up by %s (%s) while the beds are drained", a.u.depth(rise), a.u.amount(rise*src.AreaM2)))
			break
		}
	}
	if to := a.u.upLevel(src.BottomM + 0.01); to < src.IntakeM-0.01 {
		for _, drop := range []float64{0.02, 0.05, 0.1, 0.2} {
			at := math.Max(to, a.u.downLevel(src.IntakeM-drop))
			if covers(func(l *site.Loop) {
				for i := range l.Pumps {
					if !l.Pumps[i].Spare {
						l.Pumps[i].IntakeM = &at
					}
				}
			}) {
				ways = append(ways, fmt.Sprintf("lower the intake to %s", a.u.level(at)))
				break
			}
			if at == to {
				break
			}
		}
	}
	if g := GoalOf(s.Loop); g.Together > 1 {
		for n := g.Together - 1; n >= 1; n /= 2 {
			if covers(func(l *site.Loop) { setGoal(l, func(t *site.Timetable) { t.Together = n }) }) {
				ways = append(ways, fmt.Sprintf("flood %s at a time (`together`)", countOf(n, "bed")))
				break
			}
		}
	}
	if len(ways) == 0 && tank < 0 {
		for _, more := range []float64{1.25, 1.5, 2, 3, 4, 6} {
			if covers(func(l *site.Loop) {
				l.SumpM3, l.SumpDepthM, l.SumpRimM = src.VolumeM3*more, src.SurfaceM-src.BottomM, src.RimM
			}) {
				return fmt.Sprintf("Take a sump of %s at the same depth of water, or flood smaller beds, or fewer of them, from this one.", a.u.amount(src.VolumeM3*more))
			}
		}
	}
	if len(ways) == 0 {
		return "Take a larger sump, or flood smaller beds, or fewer of them, from this one."
	}
	return words.Capital(strings.Join(ways, ", or ")) + "."
}

// allTrip reports whether every turn of a timetable floods what it is to flood.
func (s *Scheme) allTrip(t *Timetable) bool {
	for i := range t.Parts {
		if slices.ContainsFunc(t.Parts[i].Turns, func(u Turn) bool { return u.floods() && !u.Trips }) {
			return false
		}
	}
	return true
}

// setGoal changes a copy of a loop's timetable.
func setGoal(l *site.Loop, change func(t *site.Timetable)) {
	var t site.Timetable
	if l.Timetable != nil {
		t = *l.Timetable
	}
	change(&t)
	l.Timetable = &t
}

// dayOf is the normal day of a timetable, that which Plan has followed when it has;
// nil when it cannot be followed.
func (s *Scheme) dayOf(t *Timetable) *Course {
	if c := t.Day(); c != nil {
		return c
	}
	c, err := s.Run(t, RunOptions{Seconds: faultRunS, FromH: usualFromH})
	if err != nil {
		return nil
	}
	return c
}
