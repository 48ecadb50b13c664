package reckoner

// cropEntries are the quick sums about crops.
func cropEntries() []Entry { return nil }
