// Package evidence holds published values against what the program works out:
// the page How far to trust it, and a test that keeps it true.
//
// In it: the check rows (rows/, a file a subject), their runner (Run), which asks the reckoner
// or one of a few named functions of the science. Not here: the formulas (the
// science packages) and the further tests beside each of them.
//
// A row counts only if the program works its value out from other inputs and
// the value has been seen in print; at most MostPerEquation rows of one equation
// count, further ones are shown. Values worked out once for these rows are
// goldens and stand under their own heading: they guard against change and
// prove nothing. Values looked up in a table of ours, printed values known from
// memory only, printed values to which a constant of ours was fitted, and values
// that an independent library gave are shown and not counted.
//
// Units: each row's expected value, answer and tolerance are in its Unit.
//
// Sources: each row names its own.
package evidence
