package menu

import "tidebed/science/food"

// Eater is a person with their needs.
type Eater struct {
	Name      string
	Person    food.Person
	NeedKcal  float64 // a day
	Floor     float64 // least share of NeedKcal, bought food included; 1 for protected eaters
	Protected bool
	Never     []string // food keys or groups this eater is never served
}

// Stock is an amount of one raw food.
type Stock struct {
	Key    string  // key of the raw food
	Grams  float64 // as harvested, bought or put by
	Inside bool    // made by the building
	Open   bool    // more of it comes from columns of a larger programme (AddTo)
}

// Form is one way to eat a stock.
type Form struct {
	Food    string  // key of the food as eaten
	Stock   int     // index of the stock it draws on
	PerGram float64 // grams eaten from one gram of stock
}

// Question is one set of days.
type Question struct {
	Days        float64
	Eaters      []Eater
	Stocks      []Stock
	Forms       []Form
	Comfortable bool // comfortable portions; else the largest a person will eat
	Bought      bool // stocks that are not inside may be used
}

// Menu is who gets what over the whole set of days.
type Menu struct {
	Portions   []Portion     `json:"portions"` // grams as eaten, all eaters, all days, most energy first
	Eaters     []EaterFigure `json:"eaters"`
	WorstShare float64       `json:"worstShare"` // inside energy over need, the worst-off eater
	MeanShare  float64       `json:"meanShare"`  // inside energy over need, all together
	FedShare   float64       `json:"fedShare"`   // inside and bought energy over need, all together
	StockUsedG []float64     `json:"stockUsedG"` // by stock of the question
	Levels     []Level       `json:"levels"`     // what each level of the programme reached
	Sourceless []string      `json:"sourceless"` // nutrients no food on hand contains
}

// Portion is one food of the menu.
type Portion struct {
	Food    string    `json:"food"`
	Name    string    `json:"name"`
	Grams   float64   `json:"grams"` // all eaters, all days
	Kcal    float64   `json:"kcal"`
	Inside  bool      `json:"inside"`
	ByEater []float64 `json:"byEater"` // grams for the whole set
}

// EaterFigure is what one eater gets.
type EaterFigure struct {
	Name        string                     `json:"name"`
	Share       float64                    `json:"share"`       // inside and bought energy over the need
	InsideKcal  float64                    `json:"insideKcal"`  // a day
	BoughtKcal  float64                    `json:"boughtKcal"`  // a day, from the cupboard
	OutsideKcal float64                    `json:"outsideKcal"` // a day, still to come from elsewhere up to the floor
	MassG       float64                    `json:"massG"`       // a day
	Intake      [food.NumNutrients]float64 `json:"intake"`      // a day, known values only
	Target      [food.NumNutrients]float64 `json:"target"`      // a day; 0 where there is none
	UnknownMass [food.NumNutrients]float64 `json:"unknownMass"` // share of mass without a value
	Warnings    []string                   `json:"warnings"`
}

// Level is one step of the lexicographic programme.
type Level struct {
	Name  string  `json:"name"`
	Value float64 `json:"value"`
	Give  float64 `json:"give"` // how much of it later levels may take back
}
