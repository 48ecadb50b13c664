// Package words sets the small words of a sentence: the first letter, lists,
// numbers of things.
//
// In it: lists ("a, b and c"), a first letter made large or small, how many of
// a thing there are ("3 beds", "six people"), the name of a loop. Not here:
// numbers with units (package quantity), figures, shares, masses and days as
// one page or answer prints them (beside their users), names of code and of
// JSON made from words (package reckoner).
//
// It knows no units and no trade; it reads any text and never fails. A letter
// is a rune, so "élan" is as good as "bed". Sources: none, it is English.
package words
