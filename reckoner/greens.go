package reckoner

// greensEntries are the quick sums about tray-grown greens.
func greensEntries() []Entry { return nil }
