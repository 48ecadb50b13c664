package plan

import (
	"tidebed/numeric/lp"
	"tidebed/site"
)

// Options are what a plan is asked for besides the site. The zero value is usual.
type Options struct {
	Order      []string // keys of levels, most important first; the usual order where empty. Levels left out follow in the usual order
	Give       float64  // how much of a share later levels may take back; 0 stands for UsualGive
	SafetyDays int      // earlier than its day that a crop harvested once must be ripe; negative: none; 0 stands for UsualSafetyDays
	LeadDays   int      // before which nothing new is sown, since seed must come first; negative: seed is in hand; 0 stands for UsualLeadDays
	Largest    bool     // the largest portions a person will eat, instead of comfortable ones
	WishedOnly bool     // only crops of the site's list of wishes
	HoursWeek  float64  // of work in the beds; 0: a share of the site's
	Pins       []Pin    // what must or must not be sown
	NoFish     bool     // no new fish are bought
	Rounds     int      // of agreement with the season, at most; 0 stands for UsualRounds, negative for none
	KeepPoints float64  // gain in points of the mean share below which the plan in force is kept; 0 stands for UsualKeepPoints, negative: always change
	Afresh     bool     // leave the plan in force out of account altogether
	Progress   func(Progress)
	Pool       *lp.Pool // of solvers; nil: one of its own
}

// Pin fixes or forbids a sowing. It belongs to the plan, not to the site.
type Pin struct {
	Forbid bool
	Crop   string
	Group  string    // group of beds or a bed's name; empty: any
	From   site.Date // planted within; zero: any day
	To     site.Date
	AreaM2 float64 // at least so much; for a pin that does not forbid
}

// Progress is told between steps.
type Progress struct {
	Step string // what is being done
	Done int    // of Of
	Of   int
	Best float64 // worst share of the best plan so far; 0 before there is one
	Gap  float64 // its distance from the bound; 0 when not known
}

// The usual values of Options.
const (
	UsualGive       = 0.005
	UsualSafetyDays = 7
	UsualLeadDays   = 7
	UsualRounds     = 3
	UsualKeepPoints = 0.5
)
