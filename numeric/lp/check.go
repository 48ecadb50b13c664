package lp

import (
	"fmt"
	"math"
)

// Tolerance is the tolerance with which Solve checks every solution it returns.
const Tolerance = 1e-6

// Check returns nil when x is a solution of p within tol, whatever its
// objective. It knows nothing of the solver: it multiplies the matrix out again.
//
//	column  may leave its bound b by tol·(1 + |b|)
//	row     may leave its bound b by tol·(1 + |b| + the largest |a x| in the row)
//	whole   a column may be off the next whole number by tol·(1 + |x|)
//
// Otherwise the error wraps ErrCheck and names the row or column that is worst
// in units of what it is allowed. A vector of the wrong length or with NaN or
// infinite values is refused; a problem that is not Valid gives ErrProblem.
// tol must be positive; 1e-6 is usual.
func Check(p *Problem, x []float64, tol float64) error {
	if err := p.Valid(); err != nil {
		return err
	}
	if !(tol > 0) || math.IsInf(tol, 0) {
		return fmt.Errorf("%w: %stolerance is %g; it must be positive", ErrProblem, p.prefix(), tol)
	}
	return check(p, x, tol)
}

// check is Check for a problem known to be valid.
func check(p *Problem, x []float64, tol float64) error {
	if len(x) != p.Cols() {
		return fmt.Errorf("%w: %s%d values for %d columns", ErrCheck, p.prefix(), len(x), p.Cols())
	}
	worst, text := 1.0, ""
	note := func(excess, allowed float64, name, what string, value, limit float64) {
		if r := excess / allowed; r > worst {
			worst, text = r, fmt.Sprintf("%s: value %.10g %s %.10g by %.3g (allowed %.3g)", name, value, what, limit, excess, allowed)
		}
	}
	for j, v := range x {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%w: %s%s: value is %g", ErrCheck, p.prefix(), p.ColName(j), v)
		}
		if lo := p.ColLower[j]; v < lo {
			note(lo-v, tol*(1+math.Abs(lo)), p.ColName(j), "is below its bound", v, lo)
		}
		if up := p.ColUpper[j]; v > up {
			note(v-up, tol*(1+math.Abs(up)), p.ColName(j), "is above its bound", v, up)
		}
		if p.Integer != nil && p.Integer[j] {
			whole := math.Round(v)
			note(math.Abs(v-whole), tol*(1+math.Abs(v)), p.ColName(j), "is off the whole number", v, whole)
		}
	}
	value, largest := p.rowValues(x)
	for i, v := range value {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%w: %s%s: sum is %g", ErrCheck, p.prefix(), p.RowName(i), v)
		}
		if lo := p.RowLower[i]; v < lo {
			note(lo-v, tol*(1+math.Abs(lo)+largest[i]), p.RowName(i), "is below its bound", v, lo)
		}
		if up := p.RowUpper[i]; v > up {
			note(v-up, tol*(1+math.Abs(up)+largest[i]), p.RowName(i), "is above its bound", v, up)
		}
	}
	if text != "" {
		return fmt.Errorf("%w: %s%s", ErrCheck, p.prefix(), text)
	}
	return nil
}
