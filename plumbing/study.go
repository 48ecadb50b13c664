package plumbing

import (
	"errors"

	"tidebed/site"
)

// UsualC is the temperature of a loop's water where its tanks name none.
const UsualC = 15.0

// TempOf is the temperature at which a loop's pipework is reckoned: that of its
// first tank that is held at one, else UsualC.
func TempOf(l *site.Loop) float64 {
	for i := range l.Tanks {
		if l.Tanks[i].WaterC > 0 {
			return l.Tanks[i].WaterC
		}
	}
	return UsualC
}

// Study is all that plumbing has to say of a loop.
type Study struct {
	Loop      *site.Loop
	Scheme    *Scheme
	Timetable *Timetable // nil when Unpiped
	Day       *Course    // a day by the timetable, from six in the morning; nil when Unpiped
	Faults    []Fault
	Findings  []Finding
	Unpiped   bool // the site describes no pump with its curve, or no pipes from it
}

// StudyOf draws a loop, plans its valves, follows a day and goes through what can
// fail. A loop without water gives nil. Errors: what Draw, Plan and Faults refuse.
func StudyOf(l *site.Loop, o Settings) (*Study, error) { return study(l, o, true) }

// QuickStudy is StudyOf without the faults.
func QuickStudy(l *site.Loop, o Settings) (*Study, error) { return study(l, o, false) }

func study(l *site.Loop, o Settings, faults bool) (*Study, error) {
	s, err := Draw(l, o)
	if err != nil || s == nil {
		return nil, err
	}
	st := &Study{Loop: l, Scheme: s}
	st.Timetable, err = s.Plan(GoalOf(l))
	switch {
	case errors.Is(err, ErrUnpiped):
		st.Unpiped = true
		st.Findings = s.Findings(nil, nil)
		return st, nil
	case err != nil:
		return nil, err
	}
	st.Day = st.Timetable.Day()
	if faults {
		if st.Faults, err = s.Faults(st.Timetable); err != nil {
			return nil, err
		}
	}
	st.Findings = s.Findings(st.Timetable, st.Faults)
	return st, nil
}

// Worst is the worst state of the findings; Good when there are none.
func (st *Study) Worst() State {
	worst := Good
	for i := range st.Findings {
		switch st.Findings[i].State {
		case Act:
			return Act
		case Watch:
			worst = Watch
		}
	}
	return worst
}
