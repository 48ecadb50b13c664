package evidence

import (
	"bytes"
	"context"
	"strings"
	"testing"
)

// Every row of the file holds.
func TestEveryRow(t *testing.T) {
	r, err := Run(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range r.Failed() {
		t.Errorf("%s (%s): got %.8g, want %.8g ± %.3g %s: %s", row.ID, row.What, row.Got, row.Expected, row.Tolerance, row.Unit, row.Note)
	}
	if r.Counted == 0 || r.Passed != r.Counted || r.Equations == 0 || len(r.Goldens) == 0 {
		t.Errorf("%d rows count, %d pass, %d equations, %d goldens", r.Counted, r.Passed, r.Equations, len(r.Goldens))
	}
	for _, row := range r.Rows {
		if row.Counted && row.Kind != Published {
			t.Errorf("%s counts and is a %s", row.ID, row.Kind)
		}
	}
	t.Logf("%d of %d counted rows pass, %d equations; %d rows shown, %d goldens", r.Passed, r.Counted, r.Equations, len(r.Rows), len(r.Goldens))
}

const first = header + "\n"

// good is a row that holds: Mifflin et al. 1990, worked by hand.
const good = "resting,resting energy,man,resting-energy,,sex=male|age=40|weight=80 kg|height=180 cm,kcalDay,1730,0.5,kcal/d,published,P,a printed table,\n"

// A wrong expected value makes a row fail, whether the reckoner or a function
// answers it.
func TestWrongValueFails(t *testing.T) {
	const byFunction = "mar,mean adequacy ratio,two,,mar,ratios=0.5;2,,0.75,1e-9,,golden,C,worked by hand,\n"
	for _, row := range []struct {
		name, text     string
		failed, passed int
	}{
		{"right", first + good + byFunction, 0, 1},
		{"wrong entry", first + strings.Replace(good, "1730", "1731", 1) + byFunction, 1, 0},
		{"wrong function", first + good + strings.Replace(byFunction, "0.75", "0.76", 1), 1, 1},
		{"no answer", first + strings.Replace(good, "age=40", "age=200", 1) + byFunction, 1, 0},
		{"null", first + "grow,growth,cold,fish-growth,,species=tilapia_nile|weight=50 g|temp=10C|days=9,weightG,50,1,g,published,P,a printed table,\n", 1, 0},
	} {
		r, err := run(t.Context(), []byte(row.text))
		if err != nil {
			t.Errorf("%s: %v", row.name, err)
			continue
		}
		if len(r.Failed()) != row.failed || r.Passed != row.passed || r.Counted != 1 {
			t.Errorf("%s: %d rows failed, %d of %d passed; want %d and %d of 1", row.name, len(r.Failed()), r.Passed, r.Counted, row.failed, row.passed)
		}
	}
}

// No tolerance of the file is so wide that a gross error would pass: a tenth
// of the value, and for a look-up, whose spread is wide, the whole of it.
func TestTolerancesAreNarrow(t *testing.T) {
	checks, err := all()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range checks {
		size, widest := max(c.Expected, -c.Expected), 0.1
		if c.Kind == Lookup {
			widest = 1
		}
		if size == 0 || c.Tolerance >= widest*size {
			t.Errorf("%s: tolerance %g is too wide for %g", c.ID, c.Tolerance, c.Expected)
		}
	}
}

// No more rows of one equation count than MostPerEquation.
func TestTwentyCount(t *testing.T) {
	var text bytes.Buffer
	text.WriteString(first)
	for i := range MostPerEquation + 5 {
		text.WriteString(strings.Replace(good, "resting,", "resting-"+strings.Repeat("i", i+1)+",", 1))
	}
	text.WriteString(strings.NewReplacer("resting,resting energy", "other,another equation").Replace(good))
	r, err := run(t.Context(), text.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if r.Counted != MostPerEquation+1 || r.Passed != MostPerEquation+1 || r.Equations != 2 || len(r.Rows) != MostPerEquation+6 {
		t.Errorf("%d rows count, %d pass, %d equations, %d shown", r.Counted, r.Passed, r.Equations, len(r.Rows))
	}
	if last := r.Rows[MostPerEquation]; last.Counted || !last.OK || last.Note == "" {
		t.Errorf("row %d: counted %v, OK %v, note %q", MostPerEquation+1, last.Counted, last.OK, last.Note)
	}
}

// A value from memory, from a look-up or one a constant was fitted to is shown
// and does not count.
func TestShownNotCounted(t *testing.T) {
	memory := strings.Replace(good, ",P,", ",M,", 1)
	lookup := strings.NewReplacer("resting,", "look,", "published", "lookup").Replace(good)
	fitted := strings.NewReplacer("resting,", "fit,", ",P,", ",F,").Replace(good)
	r, err := run(t.Context(), []byte(first+memory+lookup+fitted))
	if err != nil {
		t.Fatal(err)
	}
	if r.Counted != 0 || r.Equations != 0 || len(r.Rows) != 3 || len(r.Failed()) != 0 {
		t.Errorf("%d rows count, %d shown, %d failed", r.Counted, len(r.Rows), len(r.Failed()))
	}
}

func TestFileIsChecked(t *testing.T) {
	for _, row := range []struct{ name, text, says string }{
		{"no source", strings.Replace(good, "a printed table", " ", 1), "no source"},
		{"computed value", strings.Replace(good, ",P,", ",C,", 1), "golden"},
		{"computed source", strings.Replace(good, "a printed table", "computed with the formula", 1), "golden"},
		{"printed golden", strings.Replace(good, "published", "golden", 1), "mark"},
		{"kind", strings.Replace(good, "published", "printed", 1), "kind"},
		{"twice", good + good, "twice"},
		{"expected", strings.Replace(good, "1730", "NaN", 1), "no number"},
		{"tolerance", strings.Replace(good, "0.5", "-0.5", 1), "negative"},
		{"inputs", strings.Replace(good, "sex=male", "male", 1), "key=value"},
		{"both", strings.Replace(good, "energy,,sex", "energy,mar,sex", 1), "one of them"},
		{"function", strings.NewReplacer("resting-energy,,", ",magic,", "kcalDay", "").Replace(good), "magic"},
		{"columns", "a,b\n", "check rows"},
	} {
		if _, err := parse([]byte(first + row.text)); err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s: error %v, want one with %q", row.name, err, row.says)
		}
	}
	if _, err := parse(nil); err == nil {
		t.Error("an empty file is taken")
	}
}

func TestRunStops(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Run(ctx); err == nil {
		t.Error("an ended context is not heeded")
	}
}
