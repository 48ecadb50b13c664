// Package table reads the CSV tables that are embedded in the program into rows
// of named cells, and finds the words of a list that are most like a word.
//
// Not here: what a table's columns mean (the package that embeds it), files and
// texts of people (package site and the packages above it), numbers with units
// (package quantity).
//
// Units: none; a number is handed on as it is written, in the unit that the name
// of its column tells.
//
// Validity: a line that begins with # is a comment, the first other line names
// the columns, every further line is a row with a cell for each of them. Space
// about a cell is dropped. A blank cell is unknown, never zero. Decimal numbers
// must be finite. A fault in a table is a fault of the program, not of a person's
// data: reading panics with the table, line, column and cell.
//
// Sources: RFC 4180 for quoted cells; none otherwise.
package table
