package climate

import "time"

// Sky is weather day by day: the smooth Weather of normals, or a Series out of
// a file or a Generator. Day fills out with the weather of date's calendar day
// (only year, month and day are read), allocates nothing on good input, gives
// the same day for the same date, and may be called from many goroutines.
// Hours are of the standard clock, UTCOffsetH hours ahead of UTC.
type Sky interface {
	Day(date time.Time, out *Day) error
	UTCOffsetH() float64
}

var (
	_ Sky = (*Weather)(nil)
	_ Sky = (*Series)(nil)
)
