package lp

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Lengths to which names are cut, in characters: readers limit the length of a
// line, some to less than a thousand bytes.
const (
	maxMPSTitle   = 60
	maxMPSComment = 120
)

// mpsConstant is the column that holds the constant of the objective.
const mpsConstant = "CONST"

// WriteMPS writes the problem as text in free MPS format, so that another
// solver can be asked for a second opinion. Same problem, same bytes.
//
// Row i is called R(i+1) and column j C(j+1), so that the first are R1 and C1;
// the objective is COST. Names that were given stand in a comment line above the
// row or column, cut to 120 characters, and no reader takes them up.
//
//	objective  always to be minimised. Where Maximize is set, costs and offset
//	           are written with the opposite sign, and the optimum another
//	           solver finds is minus the problem's. A comment says so. (The
//	           section OBJSENSE would say it better, but not every reader knows
//	           it.)
//	offset     as the cost of one more column CONST, fixed at 1, if it is not 0
//	           (readers differ over the sign of a right side of COST)
//	rows       E, G or L; two different bounds as G or L with a range; a row
//	           without bounds as N, which some readers drop
//	columns    bounds are written wherever readers differ over what they
//	           assume: for every whole column, and the lower before the upper
//
// Numbers are those of the problem, in its units, written with as many digits as
// it takes to read back the same float64. The one exception is a row with two
// different bounds: the format holds one bound and the distance to the other.
// The other reads back the same as a rule, and is never off by more than 2^-52 of
// the distance (-0.1 to 0.3 is such a case). Entries of exactly 0 are left out.
//
// A problem that is not Valid gives its error, wrapping ErrProblem, and nothing is
// written. An error of w is returned wrapped; part of the text may then be
// written.
//
// Source: the format is common practice; its rows and columns follow the MPS
// input of linear programming systems since the 1960s (from memory).
func (p *Problem) WriteMPS(w io.Writer) error {
	if err := p.Valid(); err != nil {
		return err
	}
	out := bufio.NewWriter(w) // keeps the first error for Flush
	p.writeMPSRows(out)
	p.writeMPSColumns(out)
	p.writeMPSSides(out)
	p.writeMPSBounds(out)
	fmt.Fprintln(out, "ENDATA")
	if err := out.Flush(); err != nil {
		return fmt.Errorf("%swrite in MPS format: %w", p.prefix(), err)
	}
	return nil
}

func (p *Problem) writeMPSRows(out *bufio.Writer) {
	fmt.Fprintln(out, "* Linear programme in free MPS format.")
	if p.Name != "" {
		fmt.Fprintf(out, "* Problem: %s\n", mpsComment(p.Name))
	}
	if p.Maximize {
		fmt.Fprintln(out, "* To be maximised; written with costs and constant negated, to be minimised.")
		fmt.Fprintln(out, "* The optimum of this file is minus the optimum of the problem.")
	} else {
		fmt.Fprintln(out, "* To be minimised.")
	}
	fmt.Fprintln(out, "* Names stand above their row or column.")
	fmt.Fprintf(out, "NAME          %s\n", mpsTitle(p.Name))
	fmt.Fprintln(out, "ROWS")
	fmt.Fprintln(out, " N  COST")
	for i := range p.RowLower {
		if i < len(p.rowNames) && p.rowNames[i] != "" {
			fmt.Fprintf(out, "* %s\n", mpsComment(p.rowNames[i]))
		}
		kind, _, _ := mpsRow(p.RowLower[i], p.RowUpper[i])
		fmt.Fprintf(out, " %s  %s\n", kind, mpsRowName(i))
	}
}

func (p *Problem) writeMPSColumns(out *bufio.Writer) {
	fmt.Fprintln(out, "COLUMNS")
	whole := false
	mark := func(now bool) {
		if now != whole {
			name := "'INTORG'"
			if whole {
				name = "'INTEND'"
			}
			fmt.Fprintf(out, "    MARKER    'MARKER'                 %s\n", name)
			whole = now
		}
	}
	for j, cost := range p.Cost {
		mark(p.whole(j))
		if j < len(p.colNames) && p.colNames[j] != "" {
			fmt.Fprintf(out, "* %s\n", mpsComment(p.colNames[j]))
		}
		name, written := mpsColName(j), false
		if cost != 0 {
			mpsLine(out, "", name, "COST", p.mpsSense()*cost)
			written = true
		}
		for k := p.Start[j]; k < p.Start[j+1]; k++ {
			if p.Value[k] != 0 {
				mpsLine(out, "", name, mpsRowName(p.Index[k]), p.Value[k])
				written = true
			}
		}
		if !written { // the column must be known before its bounds
			mpsLine(out, "", name, "COST", 0)
		}
	}
	mark(false)
	if p.Offset != 0 {
		fmt.Fprintln(out, "* Constant of the objective.")
		mpsLine(out, "", mpsConstant, "COST", p.mpsSense()*p.Offset)
	}
}

// writeMPSSides writes the right sides and the ranges of the rows.
func (p *Problem) writeMPSSides(out *bufio.Writer) {
	fmt.Fprintln(out, "RHS")
	ranges := false
	for i := range p.RowLower {
		_, side, width := mpsRow(p.RowLower[i], p.RowUpper[i])
		if side != 0 {
			mpsLine(out, "", "RHS", mpsRowName(i), side)
		}
		ranges = ranges || width != 0
	}
	if !ranges {
		return
	}
	fmt.Fprintln(out, "RANGES")
	for i := range p.RowLower {
		if _, _, width := mpsRow(p.RowLower[i], p.RowUpper[i]); width != 0 {
			mpsLine(out, "", "RNG", mpsRowName(i), width)
		}
	}
}

func (p *Problem) writeMPSBounds(out *bufio.Writer) {
	head := false
	line := func(kind, name string, v float64) {
		if !head {
			fmt.Fprintln(out, "BOUNDS")
			head = true
		}
		if math.IsInf(v, 0) {
			fmt.Fprintf(out, " %-2s BND       %s\n", kind, name)
			return
		}
		mpsLine(out, kind, "BND", name, v)
	}
	for j := range p.Cost {
		name, lower, upper := mpsColName(j), p.ColLower[j], p.ColUpper[j]
		noLower, noUpper := math.IsInf(lower, -1), math.IsInf(upper, 1)
		switch {
		case lower == upper:
			line("FX", name, lower)
			continue
		case noLower && noUpper:
			line("FR", name, upper)
			continue
		case noLower:
			line("MI", name, lower)
		case lower != 0:
			line("LO", name, lower)
		}
		switch {
		case !noUpper:
			line("UP", name, upper)
		case p.whole(j): // some readers take 1 for the missing bound
			line("PL", name, upper)
		}
	}
	if p.Offset != 0 {
		line("FX", mpsConstant, 1)
	}
}

// mpsRow returns the kind of a row with these bounds, its right side, and the
// distance to its second bound or 0.
func mpsRow(lower, upper float64) (kind string, side, width float64) {
	noLower, noUpper := math.IsInf(lower, -1), math.IsInf(upper, 1)
	switch {
	case noLower && noUpper:
		return "N", 0, 0
	case lower == upper:
		return "E", lower, 0
	case noUpper:
		return "G", lower, 0
	case noLower:
		return "L", upper, 0
	}
	width = upper - lower
	for _, d := range [...]float64{width, math.Nextafter(width, 0), math.Nextafter(width, math.Inf(1))} {
		if lower+d == upper {
			return "G", lower, d
		}
		if upper-d == lower {
			return "L", upper, d
		}
	}
	return "G", lower, width
}

// mpsSense is the factor that makes the objective one to be minimised.
func (p *Problem) mpsSense() float64 {
	if p.Maximize {
		return -1
	}
	return 1
}

func (p *Problem) whole(j int) bool { return p.Integer != nil && p.Integer[j] }

func mpsRowName(i int) string { return "R" + strconv.Itoa(i+1) }

func mpsColName(j int) string { return "C" + strconv.Itoa(j+1) }

// mpsLine writes one number. The fields begin where the older fixed format has
// them, which costs nothing and helps readers that guess between the two.
func mpsLine(out *bufio.Writer, kind, first, second string, v float64) {
	fmt.Fprintf(out, " %-2s %-8s  %-8s  %s\n", kind, first, second, strconv.FormatFloat(v, 'g', -1, 64))
}

// mpsComment makes a name fit for a comment line: no control characters, valid
// UTF-8, not too long.
func mpsComment(name string) string {
	name = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == utf8.RuneError {
			return ' '
		}
		return r
	}, name)
	if runes := []rune(name); len(runes) > maxMPSComment {
		name = string(runes[:maxMPSComment-1]) + "…"
	}
	return name
}

// mpsTitle makes one word of the problem's name.
func mpsTitle(name string) string {
	word := []byte("lp")
	if name != "" {
		word = word[:0]
	}
	for _, r := range name {
		if len(word) == maxMPSTitle {
			break
		}
		if r < utf8.RuneSelf && (unicode.IsLetter(r) || unicode.IsDigit(r) || r == '-' || r == '.') {
			word = append(word, byte(r))
		} else {
			word = append(word, '_')
		}
	}
	return string(word)
}
