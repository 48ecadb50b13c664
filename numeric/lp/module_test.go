package lp

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// After a trap or an abort inside the module the solver makes a new instance by
// itself.
func TestNewInstanceAfterFailure(t *testing.T) {
	s, err := New(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	var b Builder
	x := b.AddCol("x", 0, 4, 1)
	b.Set(b.AddRow("r", 3, 9), x, 2)
	p, err := b.Problem()
	if err != nil {
		t.Fatal(err)
	}
	for name, fail := range map[string]func(c *calls){
		"trap":      func(c *calls) { c.do("Highs_run", 0xffff_fff0) },
		"no memory": func(c *calls) { c.alloc(0xf000_0000) },
		"refused":   func(c *calls) { c.highs = c.do("Highs_create"); c.option("Int", "threads", 1<<31) },
		"outside":   func(c *calls) { c.bytes(0xffff_fff0, 8) },
	} {
		c := &calls{s: s, ctx: withHost(context.Background(), s.host)}
		fail(c)
		if c.err == nil || strings.Contains(c.err.Error(), "\n") {
			t.Errorf("%s: error %v", name, c.err)
		}
		before := s.mod
		s.drop()
		res, err := s.Solve(context.Background(), p, Settings{})
		if err != nil || res.Objective != 1.5 {
			t.Errorf("%s: afterwards %+v, %v", name, res, err)
		}
		if s.mod == before {
			t.Errorf("%s: the old instance is still there", name)
		}
	}
}

// A result that does not pass the check is an error.
func TestWrongResultIsRefused(t *testing.T) {
	var b Builder
	n := b.AddIntCol("n", 0, 4, 1)
	b.Set(b.AddRow("r", 3, 9), n, 2)
	p, err := b.Problem()
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range [][]float64{{1}, {1.7}, {5}, nil} {
		if _, err := finish(p, Settings{}, &Result{Status: Optimal, X: x}); err == nil {
			t.Errorf("%v passes as optimal", x)
		}
	}
	res, err := finish(p, Settings{}, &Result{Status: Optimal, X: []float64{2.0000004}})
	if err != nil || res.X[0] != 2 {
		t.Errorf("nearly whole: %+v, %v", res, err)
	}
	if _, err := finish(p, Settings{}, &Result{Status: Optimal, X: []float64{1}}); !errors.Is(err, ErrCheck) {
		t.Errorf("want ErrCheck, got %v", err)
	}
}

func TestStoppedClockJumps(t *testing.T) {
	h := &hostState{}
	stop := h.reset()
	a, b := h.nanos(), h.nanos()
	if b-a != tickNanos {
		t.Errorf("two readings lie %d ns apart, want %d", b-a, tickNanos)
	}
	stop()
	if c := h.nanos(); float64(c-b)*1e-9 <= DefaultClock {
		t.Errorf("the jump is %g s, no longer than the longest limit", float64(c-b)*1e-9)
	}
	h.reset()
	stop() // late: it belongs to the run before
	if d := h.nanos(); d != a {
		t.Errorf("after a reset the clock reads %d, at first %d", d, a)
	}
}

func TestCacheDirectory(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("XDG_CACHE_HOME", dir)
	if cache := openCache(); cache == nil {
		t.Error("no cache in a directory that can be written")
	} else if err := cache.Close(context.Background()); err != nil {
		t.Error(err)
	}
	file := filepath.Join(dir, "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	t.Setenv("XDG_CACHE_HOME", file)
	if openCache() != nil {
		t.Error("a cache below a file")
	}
	t.Setenv("XDG_CACHE_HOME", "")
	t.Setenv("HOME", "")
	if openCache() != nil {
		t.Error("a cache without a home")
	}
}
