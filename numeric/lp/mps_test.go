package lp_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tidebed/numeric/lp"
	"tidebed/numeric/lp/lptest"
)

func mpsText(t interface {
	Helper()
	Fatal(...any)
}, p *lp.Problem) string {
	t.Helper()
	var text strings.Builder
	if err := p.WriteMPS(&text); err != nil {
		t.Fatal(err)
	}
	return text.String()
}

// One of each kind of row and column, written by hand.
func TestWriteMPSText(t *testing.T) {
	b := lp.Builder{Name: "bed 3, May", Maximize: true, Offset: 5}
	b.AddCol("lettuce\nred", 0, inf, 3)
	b.AddIntCol("", 0, 2, -0.1)
	b.AddIntCol("trays", 0, inf, 0)
	b.AddCol("", -inf, -1, 1e-7)
	b.AddCol("", -inf, inf, 0)
	b.AddCol("", 2, 2, 0)
	b.AddIntCol("", -4, 7, 0)
	b.AddRow("at most", -inf, 4)
	b.AddRow("", 1.5, inf)
	b.AddRow("Größe", -2, -2)
	b.AddRow("", -1, 1)
	b.AddRow("", -inf, inf)
	b.AddRow("", 0, inf)
	b.Set(0, 0, 1)
	b.Set(3, 0, 1.0/3)
	b.Set(1, 1, 1e15)
	b.Set(2, 3, -2)
	b.Set(4, 3, 1)
	b.Set(5, 6, 1)
	const want = `* Linear programme in free MPS format.
* Problem: bed 3, May
* To be maximised; written with costs and constant negated, to be minimised.
* The optimum of this file is minus the optimum of the problem.
* Names stand above their row or column.
NAME          bed_3__May
ROWS
 N  COST
* at most
 L  R1
 G  R2
* Größe
 E  R3
 G  R4
 N  R5
 G  R6
COLUMNS
* lettuce red
    C1        COST      -3
    C1        R1        1
    C1        R4        0.3333333333333333
    MARKER    'MARKER'                 'INTORG'
    C2        COST      0.1
    C2        R2        1e+15
* trays
    C3        COST      0
    MARKER    'MARKER'                 'INTEND'
    C4        COST      -1e-07
    C4        R3        -2
    C4        R5        1
    C5        COST      0
    C6        COST      0
    MARKER    'MARKER'                 'INTORG'
    C7        R6        1
    MARKER    'MARKER'                 'INTEND'
* Constant of the objective.
    CONST     COST      -5
RHS
    RHS       R1        4
    RHS       R2        1.5
    RHS       R3        -2
    RHS       R4        -1
RANGES
    RNG       R4        2
BOUNDS
 UP BND       C2        2
 PL BND       C3
 MI BND       C4
 UP BND       C4        -1
 FR BND       C5
 FX BND       C6        2
 LO BND       C7        -4
 UP BND       C7        7
 FX BND       CONST     1
ENDATA
`
	if got := mpsText(t, problem(t, &b)); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func TestWriteMPSEmpty(t *testing.T) {
	const want = `* Linear programme in free MPS format.
* To be minimised.
* Names stand above their row or column.
NAME          lp
ROWS
 N  COST
COLUMNS
RHS
ENDATA
`
	if got := mpsText(t, problem(t, &lp.Builder{})); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// fullDisk takes so many bytes and then fails.
type fullDisk struct{ left int }

var errFull = errors.New("no space left")

func (d *fullDisk) Write(b []byte) (int, error) {
	n := min(len(b), d.left)
	d.left -= n
	if n < len(b) {
		return n, errFull
	}
	return n, nil
}

func TestWriteMPSErrors(t *testing.T) {
	var text strings.Builder
	bad := &lp.Problem{Name: "crossed", Cost: []float64{1}, ColLower: []float64{2}, ColUpper: []float64{1}, Start: []int{0, 0}}
	if err := bad.WriteMPS(&text); !errors.Is(err, lp.ErrProblem) || text.Len() != 0 {
		t.Errorf("crossed bounds: %v, %d bytes written", err, text.Len())
	}
	p := knapsack(200, 5, 1)
	size := len(mpsText(t, p))
	for _, left := range []int{0, 100, 5000, size - 1} {
		err := p.WriteMPS(&fullDisk{left})
		if !errors.Is(err, errFull) || !strings.HasPrefix(err.Error(), "knapsack: ") {
			t.Errorf("room for %d of %d bytes: %v", left, size, err)
		}
	}
	if err := p.WriteMPS(&fullDisk{size}); err != nil {
		t.Errorf("room for all: %v", err)
	}
}

// Names stay in comments, whatever is in them: the lines that count are the same
// as without names, none is long, and none holds a control character.
func TestWriteMPSNames(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{
			"ENDATA", "\nENDATA\n", "RHS", "\r\n R1", "\xff\x00", strings.Repeat("long ", 99), "\u0085 next", "* star",
		}))
		build := func(n func() string) string {
			b := lp.Builder{Name: "same"}
			b.AddCol(n(), 0, 1, 1)
			b.AddIntCol(n(), 0, 9, 2)
			b.AddRow(n(), 1, 3)
			b.Set(0, 0, 1)
			b.Set(0, 1, 1)
			return mpsText(t, must(&b))
		}
		named := build(func() string { return name.Draw(t, "name") })
		if got, want := withoutComments(named), withoutComments(build(func() string { return "" })); got != want {
			t.Fatalf("got\n%s\nwant\n%s", got, want)
		}
		b := lp.Builder{Name: name.Draw(t, "title")}
		for line := range strings.Lines(named + mpsText(t, must(&b))) {
			body := strings.TrimSuffix(line, "\n")
			if n := len([]rune(body)); n > 200 {
				t.Fatalf("line of %d characters: %q", n, line)
			}
			if strings.ContainsFunc(body, func(r rune) bool { return r < ' ' || r == 0x7f || r == 0xfffd }) {
				t.Fatalf("control character in %q", line)
			}
			if strings.HasPrefix(body, "NAME") && len(strings.Fields(body)) != 2 {
				t.Fatalf("title of several words: %q", line)
			}
		}
	})
}

func withoutComments(text string) string {
	var out strings.Builder
	for line := range strings.Lines(text) {
		if !strings.HasPrefix(line, "*") {
			out.WriteString(line)
		}
	}
	return out.String()
}

// There and back: every array is the same, to the bit but for the sign of zero.
// Only the second bound of a row with a range may be off by 2^-52 of the range.
func TestWriteMPSRoundTrip(t *testing.T) {
	for _, name := range lptest.Netlibs() {
		p, err := lptest.Netlib(name)
		if err != nil {
			t.Fatal(err)
		}
		checkRoundTrip(t, p, 0)
	}
	stigler, err := lptest.Stigler()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []*lp.Problem{stigler, knapsack(30, 4, 5), marketSplit(20, 3, 1), setCover(80, 40, 6), blend(200, 30, 2)} {
		checkRoundTrip(t, p, 0)
	}
	rapid.Check(t, func(t *rapid.T) { checkRoundTrip(t, drawProblem(t), 0x1p-52) })
}

// Ranges of the kind that people write come back to the bit.
func TestWriteMPSRanges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tenths := rapid.IntRange(0, 1_000_000)
		lower := float64(tenths.Draw(t, "lower")) / 10
		upper := lower + float64(tenths.Draw(t, "width"))/10
		b := lp.Builder{}
		b.AddRow("", lower, upper)
		checkRoundTrip(t, must(&b), 0)
	})
	b := lp.Builder{}
	for _, r := range [][2]float64{{0, 5e-324}, {1, 1 + 0x1p-52}, {-1e15, 0.1}, {0.1, 1e15}, {-1e19, 1e19}, {1e-300, 1}} {
		b.AddRow("", r[0], r[1])
	}
	checkRoundTrip(t, must(&b), 0)

	// No float64 leads from -0.1 to 0.3 or back: the nearest is taken.
	b = lp.Builder{}
	b.AddRow("", -0.1, 0.3)
	checkRoundTrip(t, must(&b), 0x1p-52)
}

func checkRoundTrip(t interface {
	Helper()
	Fatal(...any)
	Errorf(string, ...any)
}, p *lp.Problem, slack float64) {
	t.Helper()
	text := mpsText(t, p)
	got, err := readMPS(text)
	if err != nil {
		t.Fatal(err)
	}
	if again := mpsText(t, p); again != text {
		t.Errorf("%s: two writings differ", p.Name)
	}
	cost, offset := p.Cost, p.Offset
	if p.Maximize {
		cost, offset = slices.Clone(cost), -offset
		for j := range cost {
			cost[j] = -cost[j]
		}
	}
	whole := p.Integer
	if whole == nil {
		whole = make([]bool, p.Cols())
	}
	var start, index []int
	var value []float64
	for j := range p.Cols() { // without explicit zeros
		start = append(start, len(index))
		for k := p.Start[j]; k < p.Start[j+1]; k++ {
			if p.Value[k] != 0 {
				index, value = append(index, p.Index[k]), append(value, p.Value[k])
			}
		}
	}
	start = append(start, len(index))
	for _, a := range []struct {
		what string
		same bool
	}{
		{"Cost", slices.Equal(got.Cost, cost)},
		{"Offset", got.Offset == offset},
		{"ColLower", slices.Equal(got.ColLower, p.ColLower)},
		{"ColUpper", slices.Equal(got.ColUpper, p.ColUpper)},
		{"Integer", slices.Equal(got.Integer, whole)},
		{"Start", slices.Equal(got.Start, start)},
		{"Index", slices.Equal(got.Index, index)},
		{"Value", slices.Equal(got.Value, value)},
		{"rows", got.Rows() == p.Rows()},
	} {
		if !a.same {
			t.Fatal(fmt.Sprintf("%s: %s differs\nproblem %+v\nread %+v\n%s", p.Name, a.what, p, got, text))
		}
	}
	for i, lower := range p.RowLower {
		upper, allowed := p.RowUpper[i], 0.0
		if !math.IsInf(lower, 0) && !math.IsInf(upper, 0) {
			allowed = slack * (upper - lower)
		}
		lowOff, upOff := distance(got.RowLower[i], lower), distance(got.RowUpper[i], upper)
		if !(lowOff+upOff <= allowed) || lowOff != 0 && upOff != 0 || (lower == upper) != (got.RowLower[i] == got.RowUpper[i]) {
			t.Errorf("%s: row %d has bounds %g and %g, read %g and %g", p.Name, i, lower, upper, got.RowLower[i], got.RowUpper[i])
		}
	}
}

func distance(a, b float64) float64 {
	if a == b { // infinities too
		return 0
	}
	return math.Abs(a - b)
}

// drawProblem draws any valid problem, solvable or not, with numbers of every
// size that is allowed. Some entries are explicit zeros.
func drawProblem(t *rapid.T) *lp.Problem {
	number := rapid.OneOf(
		rapid.Float64Range(-9e19, 9e19), rapid.Float64Range(-10, 10), rapid.Float64Range(-1e-9, 1e-9),
		rapid.Map(rapid.IntRange(-9, 9), func(i int) float64 { return float64(i) }),
	)
	pair := func(what string) (lower, upper float64) {
		lower, upper = number.Draw(t, what), number.Draw(t, what)
		lower, upper = min(lower, upper), max(lower, upper)
		switch rapid.IntRange(0, 5).Draw(t, "kind") {
		case 0:
			return math.Inf(-1), upper
		case 1:
			return lower, inf
		case 2:
			return math.Inf(-1), inf
		case 3:
			return lower, lower
		case 4:
			return 0, math.Abs(upper)
		}
		return lower, upper
	}
	cols, rows := rapid.IntRange(0, 8).Draw(t, "cols"), rapid.IntRange(0, 8).Draw(t, "rows")
	p := &lp.Problem{
		Name:     rapid.String().Draw(t, "name"),
		Maximize: rapid.Bool().Draw(t, "max"), Offset: number.Draw(t, "offset"), Start: []int{0},
	}
	if rapid.Bool().Draw(t, "mixed") {
		p.Integer = make([]bool, cols)
	}
	for range rows {
		lower, upper := pair("row")
		p.RowLower, p.RowUpper = append(p.RowLower, lower), append(p.RowUpper, upper)
	}
	for j := range cols {
		lower, upper := pair("column")
		p.ColLower, p.ColUpper = append(p.ColLower, lower), append(p.ColUpper, upper)
		p.Cost = append(p.Cost, number.Draw(t, "cost"))
		if p.Integer != nil {
			p.Integer[j] = rapid.Bool().Draw(t, "whole")
		}
		for i := range rows {
			if rapid.Bool().Draw(t, "entry") {
				v := rapid.OneOf(rapid.Float64Range(1e-12, 1e15), rapid.Float64Range(-10, -1e-12), rapid.Just(0.0)).Draw(t, "value")
				p.Index, p.Value = append(p.Index, i), append(p.Value, v)
			}
		}
		p.Start = append(p.Start, len(p.Index))
	}
	if err := p.Valid(); err != nil {
		t.Fatal(err)
	}
	return p
}

// readMPS reads free MPS text. It is strict where readers differ: a whole
// column must have its upper bound stated, a negative upper bound its lower one,
// COST must have no right side, lines must be short, rows and columns R1, R2 and
// C1, C2 in order.
func readMPS(text string) (*lp.Problem, error) {
	r := mpsReader{rows: map[string]int{}, cols: map[string]int{}, stated: map[int]string{}}
	n := 0
	for line := range strings.Lines(text) {
		n++
		if err := r.line(line); err != nil {
			return nil, fmt.Errorf("line %d, %q: %w", n, line, err)
		}
	}
	if r.section != "ENDATA" {
		return nil, fmt.Errorf("ends in section %q", r.section)
	}
	p := &r.p
	if j, ok := r.cols["CONST"]; ok { // the last column, fixed at 1 and in no row
		if p.ColLower[j] != 1 || p.ColUpper[j] != 1 || p.Start[j] != len(p.Index) || p.Integer[j] {
			return nil, errors.New("column CONST is no constant")
		}
		p.Offset = p.Cost[j]
		p.Cost, p.Integer, p.Start = p.Cost[:j], p.Integer[:j], p.Start[:j]
		p.ColLower, p.ColUpper = p.ColLower[:j], p.ColUpper[:j]
	}
	p.Start = append(p.Start, len(p.Index))
	for j, whole := range p.Integer {
		if s := r.stated[j]; whole && !strings.ContainsAny(s, "UPFR") {
			return nil, fmt.Errorf("whole column %d: upper bound not stated, only %q", j, s)
		}
	}
	for i, kind := range r.kinds {
		if (kind == "E" || kind == "N") && r.ranged[i] {
			return nil, fmt.Errorf("range on row %d of kind %s", i, kind)
		}
	}
	return p, nil
}

type mpsReader struct {
	p          lp.Problem
	section    string
	whole      bool
	rows, cols map[string]int
	kinds      []string
	ranged     map[int]bool
	stated     map[int]string // kinds of bounds, in order, per column
}

var mpsSections = []string{"NAME", "ROWS", "COLUMNS", "RHS", "RANGES", "BOUNDS", "ENDATA"}

func (r *mpsReader) line(line string) error {
	if !strings.HasSuffix(line, "\n") || len(line) > 600 {
		return errors.New("line too long or not ended")
	}
	if line[0] == '*' {
		return nil
	}
	f := strings.Fields(line)
	if line[0] != ' ' {
		if slices.Index(mpsSections, f[0]) <= slices.Index(mpsSections, r.section) {
			return fmt.Errorf("section after %q", r.section)
		}
		r.section = f[0]
		return nil
	}
	p := &r.p
	switch r.section {
	case "ROWS":
		if len(f) != 2 {
			return errors.New("want kind and name")
		}
		return r.row(f[0], f[1])
	case "COLUMNS":
		if len(f) != 3 {
			return errors.New("want three fields")
		}
		if f[1] == "'MARKER'" {
			if (f[2] == "'INTORG'") == r.whole || f[2] != "'INTORG'" && f[2] != "'INTEND'" {
				return errors.New("marker out of turn")
			}
			r.whole = !r.whole
			return nil
		}
		v, err := strconv.ParseFloat(f[2], 64)
		if err != nil {
			return err
		}
		if _, ok := r.cols[f[0]]; !ok {
			if _, last := r.cols["CONST"]; last || f[0] != fmt.Sprintf("C%d", len(p.Cost)+1) && f[0] != "CONST" {
				return errors.New("column out of order")
			}
			r.cols[f[0]] = len(p.Cost)
			p.Start = append(p.Start, len(p.Index))
			p.Cost, p.Integer = append(p.Cost, 0), append(p.Integer, r.whole)
			p.ColLower, p.ColUpper = append(p.ColLower, 0), append(p.ColUpper, inf)
		}
		if r.cols[f[0]] != len(p.Cost)-1 {
			return errors.New("column in two places")
		}
		if f[1] == "COST" {
			p.Cost[len(p.Cost)-1] += v
			return nil
		}
		i, ok := r.rows[f[1]]
		if !ok || v == 0 {
			return errors.New("unknown row or zero entry")
		}
		p.Index, p.Value = append(p.Index, i), append(p.Value, v)
		return nil
	case "RHS", "RANGES":
		if len(f) != 3 {
			return errors.New("want three fields")
		}
		v, err := strconv.ParseFloat(f[2], 64)
		if err != nil {
			return err
		}
		i, ok := r.rows[f[1]]
		if !ok {
			return errors.New("unknown row")
		}
		return r.side(i, v)
	case "BOUNDS":
		return r.bound(f)
	}
	return fmt.Errorf("data in section %q", r.section)
}

func (r *mpsReader) row(kind, name string) error {
	p := &r.p
	if name == "COST" {
		if kind != "N" || len(r.kinds) > 0 {
			return errors.New("the objective must be the first row, of kind N")
		}
		return nil
	}
	if name != fmt.Sprintf("R%d", len(r.kinds)+1) {
		return errors.New("row out of order")
	}
	r.rows[name] = len(r.kinds)
	r.kinds = append(r.kinds, kind)
	lower, upper := 0.0, 0.0
	switch kind {
	case "N":
		lower, upper = math.Inf(-1), inf
	case "L":
		lower = math.Inf(-1)
	case "G":
		upper = inf
	case "E":
	default:
		return errors.New("unknown kind")
	}
	p.RowLower, p.RowUpper = append(p.RowLower, lower), append(p.RowUpper, upper)
	return nil
}

func (r *mpsReader) side(i int, v float64) error {
	p, kind := &r.p, r.kinds[i]
	if r.section == "RANGES" {
		if r.ranged == nil {
			r.ranged = map[int]bool{}
		}
		r.ranged[i] = true
		if !(v > 0) {
			return errors.New("a range must be positive")
		}
		switch kind {
		case "G":
			p.RowUpper[i] = p.RowLower[i] + v
		case "L":
			p.RowLower[i] = p.RowUpper[i] - v
		}
		return nil
	}
	switch kind {
	case "N":
		return errors.New("right side of a row without bounds")
	case "G", "E":
		p.RowLower[i] = v
	}
	if kind == "L" || kind == "E" {
		p.RowUpper[i] = v
	}
	return nil
}

func (r *mpsReader) bound(f []string) error {
	p := &r.p
	if len(f) < 3 {
		return errors.New("want at least three fields")
	}
	j, ok := r.cols[f[2]]
	if !ok {
		return errors.New("unknown column")
	}
	v, err := 0.0, error(nil)
	switch f[0] {
	case "FR", "MI", "PL":
		if len(f) != 3 {
			return errors.New("want three fields")
		}
	default:
		if len(f) != 4 {
			return errors.New("want four fields")
		}
		if v, err = strconv.ParseFloat(f[3], 64); err != nil {
			return err
		}
	}
	before := r.stated[j]
	r.stated[j] += f[0]
	switch f[0] {
	case "FR":
		p.ColLower[j], p.ColUpper[j] = math.Inf(-1), inf
	case "FX":
		p.ColLower[j], p.ColUpper[j] = v, v
	case "MI":
		p.ColLower[j] = math.Inf(-1)
	case "LO":
		p.ColLower[j] = v
	case "PL":
		p.ColUpper[j] = inf
	case "UP":
		if v <= 0 && before == "" {
			return errors.New("upper bound not above 0 without a lower bound")
		}
		p.ColUpper[j] = v
	default:
		return errors.New("unknown kind of bound")
	}
	switch before {
	case "":
	case "MI", "LO":
		if f[0] != "UP" && f[0] != "PL" {
			return errors.New("bound stated twice")
		}
	default:
		return errors.New("bound stated twice")
	}
	return nil
}

// Second opinion: other solvers, where one is installed, read the written file
// and find the same optimum. Tolerance: 1e-6 relative, or 1e-8 near 0 (cbc prints
// eight decimals).
func TestWriteMPSSecondOpinion(t *testing.T) {
	tried := 0
	for _, other := range []struct {
		name string
		run  func(t *testing.T, program, file string) float64
	}{{"glpsol", runGlpsol}, {"cbc", runCbc}} {
		program, err := exec.LookPath(other.name)
		if err != nil {
			continue
		}
		tried++
		t.Run(other.name, func(t *testing.T) {
			s := newSolver(t)
			for k, p := range secondOpinions(t) {
				res := solve(t, s, p, lp.Settings{MIPGap: 1e-9}, lp.Optimal)
				file := filepath.Join(t.TempDir(), fmt.Sprintf("p%d.mps", k))
				if err := os.WriteFile(file, []byte(mpsText(t, p)), 0o600); err != nil {
					t.Fatal(err)
				}
				got := other.run(t, program, file)
				if p.Maximize {
					got = -got
				}
				if !(math.Abs(got-res.Objective) <= 1e-6*math.Abs(res.Objective)+1e-8) {
					t.Errorf("problem %d, %s: %s finds %.12g, this package %.12g", k, p.Name, other.name, got, res.Objective)
				}
			}
		})
	}
	if tried == 0 {
		t.Skip("neither glpsol nor cbc is installed (Debian: glpk-utils, coinor-cbc): no second opinion on the written files")
	}
}

// secondOpinions are published problems and small random ones, all with an
// optimum.
func secondOpinions(t *testing.T) []*lp.Problem {
	t.Helper()
	var ps []*lp.Problem
	for _, name := range lptest.Netlibs() {
		p, err := lptest.Netlib(name)
		if err != nil {
			t.Fatal(err)
		}
		ps = append(ps, p)
	}
	p, err := lptest.Stigler()
	if err != nil {
		t.Fatal(err)
	}
	ps = append(ps, p, knapsack(15, 3, 1), knapsack(20, 2, 2), setCover(30, 15, 3), setCover(40, 20, 4), blend(200, 10, 5), blend(200, 30, 6))
	for seed := range uint64(16) {
		ps = append(ps, bounded(6, 5, seed%2 == 1, seed))
	}
	// The defaults that readers differ over: what is not read right moves the
	// optimum. By hand: -1·(-2) from the first column (no lower bound), -2·4
	// from the second (4.5 rounded down), 3·(-7) from the third, 5 fixed, 0.25
	// constant.
	b := lp.Builder{Name: "defaults, and names: Töpfe\n½ \xff", Offset: 0.25}
	b.AddCol("RHS", -inf, -2, -1)
	b.AddIntCol(strings.Repeat("völlig ", 99), 0, inf, -2)
	b.AddIntCol("\nENDATA\n", -7, inf, 3)
	b.AddCol("", 5, 5, 1)
	b.AddCol("", 0, 3, 0) // in no row, no cost
	i := b.AddRow("", -100, 4.5)
	b.Set(i, 1, 1)
	i = b.AddRow("", -inf, inf)
	b.Set(i, 0, 1)
	b.Set(i, 1, 1)
	p = must(&b)
	if res := solve(t, newSolver(t), p, lp.Settings{}, lp.Optimal); relErr(res.Objective, 2-8-21+5+0.25) > 1e-9 {
		t.Errorf("%s: optimum %g", p.Name, res.Objective)
	}
	return append(ps, p)
}

// bounded makes a problem around a known whole point, with rows and columns of
// every kind. Each column is held by its own bounds or by a row with a range, so
// that there is an optimum.
func bounded(cols, rows int, mixed bool, seed uint64) *lp.Problem {
	r := rand.New(rand.NewPCG(seed, 5))
	b := lp.Builder{Name: fmt.Sprintf("bounded, seed %d", seed), Maximize: seed%4 >= 2, Offset: float64(r.IntN(19) - 9)}
	point := make([]float64, cols)
	for j := range cols {
		point[j] = float64(r.IntN(15) - 7)
		below, above := point[j]-float64(r.IntN(5)), point[j]+float64(r.IntN(5))
		lower, upper := below, above
		if r.IntN(3) == 0 {
			lower = math.Inf(-1)
		}
		if r.IntN(3) == 0 {
			upper = inf
		}
		cost := float64(r.IntN(19)-9) / 3
		if mixed && r.IntN(3) > 0 {
			b.AddIntCol(fmt.Sprintf("piece %d", j), lower, upper, cost)
		} else {
			b.AddCol(fmt.Sprintf("amount %d", j), lower, upper, cost)
		}
		if math.IsInf(lower, 0) || math.IsInf(upper, 0) {
			i := b.AddRow("", 3*below-1.25, 3*above+1.75)
			b.Set(i, j, 3)
		}
	}
	for k := range rows {
		i, sum := b.AddRow(fmt.Sprintf("row %d", k), 0, 0), 0.0
		for j := range cols {
			a := float64(r.IntN(13)-6) / 4
			b.Set(i, j, a)
			sum += a * point[j]
		}
		lower, upper := sum-float64(r.IntN(8))/8, sum+float64(r.IntN(8))/8
		switch k % 5 {
		case 0:
			b.SetRowBounds(i, math.Inf(-1), upper)
		case 1:
			b.SetRowBounds(i, lower, inf)
		case 2:
			b.SetRowBounds(i, sum, sum)
		case 3:
			b.SetRowBounds(i, lower, upper)
		default:
			b.SetRowBounds(i, math.Inf(-1), inf)
		}
	}
	return must(&b)
}

func runOther(t *testing.T, program string, args ...string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	out, err := exec.CommandContext(ctx, program, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", program, err, out)
	}
	return string(out)
}

// runGlpsol returns the optimum from the solution line of its plain text, as a rule
//
//	s bas ROWS COLUMNS f f OBJECTIVE   or   s mip ROWS COLUMNS o OBJECTIVE
func runGlpsol(t *testing.T, program, file string) float64 {
	t.Helper()
	log := runOther(t, program, "--freemps", file, "-w", file+".sol")
	text, err := os.ReadFile(file + ".sol")
	if err != nil {
		t.Fatalf("%v\n%s", err, log)
	}
	for line := range strings.Lines(string(text)) {
		f := strings.Fields(line)
		if len(f) < 6 || f[0] != "s" {
			continue
		}
		if state := strings.Join(f[4:len(f)-1], " "); f[1] == "bas" && state != "f f" || f[1] == "mip" && state != "o" {
			t.Fatalf("%s: not optimal: %s\n%s", file, line, log)
		}
		return parse(t, f[len(f)-1])
	}
	t.Fatalf("no solution line in\n%s\n%s", text, log)
	return 0
}

// runCbc returns the optimum from the first line of its solution file,
// "Optimal - objective value OBJECTIVE".
func runCbc(t *testing.T, program, file string) float64 {
	t.Helper()
	log := runOther(t, program, file, "-ratioGap", "0", "-allowableGap", "0", "-solve", "-solution", file+".sol")
	text, err := os.ReadFile(file + ".sol")
	if err != nil {
		t.Fatalf("%v\n%s", err, log)
	}
	first, _, _ := strings.Cut(string(text), "\n")
	value, ok := strings.CutPrefix(first, "Optimal - objective value ")
	if !ok {
		t.Fatalf("%s: not optimal: %s\n%s", file, first, log)
	}
	return parse(t, strings.TrimSpace(value))
}

func parse(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
