package site

import (
	"encoding/json"
	"fmt"
	"time"
)

// Date is a civil day, written YYYY-MM-DD. The zero Date is "not given".
type Date struct{ time.Time }

// On returns the Date of a year, month and day.
func On(year int, month time.Month, day int) Date {
	return Date{time.Date(year, month, day, 0, 0, 0, 0, time.UTC)}
}

// Plus returns the day that many days later (earlier when negative).
func (d Date) Plus(days int) Date { return Date{d.AddDate(0, 0, days)} }

// DaysTo returns the days from d to e, negative when e is earlier.
func (d Date) DaysTo(e Date) int { return int(e.Sub(d.Time).Hours() / 24) }

// String returns the day as YYYY-MM-DD, or "" when it is not given.
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return d.Format(time.DateOnly)
}

// MarshalJSON writes the day as "YYYY-MM-DD", null when it is not given.
func (d Date) MarshalJSON() ([]byte, error) {
	if d.IsZero() {
		return []byte("null"), nil
	}
	return json.Marshal(d.String())
}

// UnmarshalJSON reads what MarshalJSON writes. Errors: any other form, a day
// the calendar does not have.
func (d *Date) UnmarshalJSON(text []byte) error {
	var s *string
	if err := json.Unmarshal(text, &s); err != nil {
		return fmt.Errorf("date: %w", err)
	}
	if s == nil {
		*d = Date{}
		return nil
	}
	day, err := ParseDate(*s)
	if err != nil {
		return err
	}
	*d = day
	return nil
}
