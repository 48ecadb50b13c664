// Package web is the pages: HTML made on the server, embedded assets, no script.
//
// In it: the handlers and their page structs, the templates and the style sheet,
// the staff (the sign for every value that has limits), the drawing of what
// reaches which meal and the charts of a season. Not here: any formula. Meals are
// answered by package meals, beds and fish by the courses of package season that
// come with that answer, quick sums by package reckoner, check rows by package
// evidence; a page asks for an answer and prints it. The only arithmetic is that
// of showing: shares as percent, amounts for a person and a day, sums of what
// stands and is to come, places in a drawing.
//
// Units: as in the answers shown, printed in the reader's system by package
// quantity. Valid: any answer; a value that is not a number is shown as missing.
// Sources: none of its own; pages repeat those that came with the figures.
package web
