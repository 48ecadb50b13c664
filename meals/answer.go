package meals

import (
	"tidebed/menu"
	"tidebed/science/food"
	"tidebed/season"
	"tidebed/site"
)

// Disclaimer belongs on every menu.
const Disclaimer = food.Disclaimer

// Caution is what must be said about a food or to a person.
type Caution = food.Caution

// Answer is the answer for one building as seen from one day.
type Answer struct {
	Site      string     `json:"site"`
	Today     site.Date  `json:"today"`
	Occasions []Occasion `json:"occasions"` // by date
	Sentence  string     `json:"sentence"`  // the answer line: the next set of days
	Warnings  []string   `json:"warnings"`
	// Seasons are the courses of growth behind the answer: low, typical, high.
	Seasons [season.Courses]*season.Forecast `json:"-"`
}

// Occasion is the answer for one set of home-fed days.
type Occasion struct {
	Name     string    `json:"name"`
	From     site.Date `json:"from"`
	To       site.Date `json:"to"`
	Days     int       `json:"days"`
	Past     bool      `json:"past"` // a record: nothing is computed for it
	Eaters   []Eater   `json:"eaters"`
	NeedKcal float64   `json:"needKcal"` // all eaters, all days

	Sentence string   `json:"sentence"` // one sentence with figure and date
	Reasons  []string `json:"reasons"`  // three at most

	Low     Run `json:"low"` // the promise: low yields, comfortable portions
	Typical Run `json:"typical"`
	High    Run `json:"high"`
	// CeilingShare is the worst eater's share at low yields if everybody ate the
	// largest portions a person will eat.
	CeilingShare float64 `json:"ceilingShare"`

	Outside []Outside `json:"outside"` // what must come from outside, protected eaters first
	Lacks   []Lack    `json:"lacks"`   // nutrients short in the promised menu
	Helps   []Help    `json:"helps"`   // what would help most, best first
	Missed  []Missed  `json:"missed"`  // what stands or lies there but is not on this table, and why

	Cautions []Caution `json:"cautions"`
	Warnings []string  `json:"warnings"`
}

// Eater is a person at the table.
type Eater struct {
	Name      string  `json:"name"`
	NeedKcal  float64 `json:"needKcal"`  // a day
	Protected bool    `json:"protected"` // never given less than the full need
	Why       string  `json:"why"`       // why protected: "under 18", "pregnant", a flag
	Floor     float64 `json:"floor"`     // least share of the need
}

// Run is one course of the yields.
type Run struct {
	Yield             string     `json:"yield"`             // low, typical, high
	WorstShare        float64    `json:"worstShare"`        // of the energy, from inside, the worst-off eater
	MeanShare         float64    `json:"meanShare"`         // of the energy of all, from inside
	WithCupboardShare float64    `json:"withCupboardShare"` // of the energy of all, inside and cupboard
	Menu              *menu.Menu `json:"menu"`              // inside first, then the cupboard where the house allows it
	Alone             *menu.Menu `json:"alone"`             // from inside alone, nothing bought
	OnHand            []Stock    `json:"onHand"`
}

// Stock is one thing that lies or stands ready for a set of days.
type Stock struct {
	Food       string    `json:"food"` // key of the raw food
	Name       string    `json:"name"`
	From       string    `json:"from"`       // the bed, cohort, larder place, cupboard
	Kg         float64   `json:"kg"`         // as harvested, put by, or live weight
	EdibleKcal float64   `json:"edibleKcal"` // if all of it were eaten in its usual form
	Ready      site.Date `json:"ready"`
	Until      site.Date `json:"until"`
	Inside     bool      `json:"inside"`
	EatenKg    float64   `json:"eatenKg"` // taken by this set's promised menu
}

// Fed reports whether every eater has what must be had, children all and adults their
// floor, from inside and the store cupboard together, at low yields. False where there
// is no menu.
func (o *Occasion) Fed() bool {
	if o.Low.Menu == nil {
		return false
	}
	for _, x := range o.Outside {
		if x.KcalDay > 0 {
			return false
		}
	}
	return true
}

// Outside is energy that must come from outside for one eater, on average a day.
type Outside struct {
	Eater     string  `json:"eater"`
	KcalDay   float64 `json:"kcalDay"`   // beyond inside and cupboard, up to the full need or floor
	BoughtDay float64 `json:"boughtDay"` // from the store cupboard
	Protected bool    `json:"protected"`
}

// Lack is a nutrient the promised menu is short of for its worst-off eater.
type Lack struct {
	Nutrient    string  `json:"nutrient"`
	Eater       string  `json:"eater"`
	Share       float64 `json:"share"`       // intake over target
	Matters     bool    `json:"matters"`     // within these days; else the body's stores bridge it
	Sourceless  bool    `json:"sourceless"`  // no food on hand contains it
	UnknownMass float64 `json:"unknownMass"` // share of the menu's mass whose value the tables lack
}

// Help is one change, worked out by solving again with it.
type Help struct {
	What    string  `json:"what"`    // "plant 1 m² of potato in Tub row by 2027-06-20"
	Gain    float64 `json:"gain"`    // of the worst eater's share, low run; 0.01 is a point
	Share   float64 `json:"share"`   // the share then reached
	Caution string  `json:"caution"` // of the crop; may be empty
	Whole   string  `json:"whole"`   // what the whole of it would do, in words; may be empty
}

// Missed is what is not on the table of a set of days, and why.
type Missed struct {
	What string `json:"what"`
	Why  string `json:"why"`
}
