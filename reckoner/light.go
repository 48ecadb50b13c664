package reckoner

// lightEntries are the quick sums about sun, air and lamps.
func lightEntries() []Entry { return nil }
