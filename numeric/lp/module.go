package lp

import (
	"context"
	_ "embed"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sync"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
)

//go:embed vendored/highs.wasm
var wasmBytes []byte

// The module's exports have short names; these are the ones used here, as the
// assignments in the package's own JavaScript give them for release 1.15.3.
var exports = map[string]string{
	"construct":                  "v",
	"Highs_create":               "F",
	"Highs_destroy":              "G",
	"Highs_run":                  "N",
	"Highs_passLp":               "U",
	"Highs_passMip":              "V",
	"Highs_setBoolOptionValue":   "ia",
	"Highs_setIntOptionValue":    "ja",
	"Highs_setDoubleOptionValue": "ka",
	"Highs_setStringOptionValue": "la",
	"Highs_getIntInfoValue":      "Aa",
	"Highs_getDoubleInfoValue":   "Ba",
	"Highs_getInt64InfoValue":    "Ca",
	"Highs_getSolution":          "Ea",
	"Highs_getBasis":             "Fa",
	"Highs_getModelStatus":       "Ga",
	"Highs_setBasis":             "Sa",
	"Highs_setSolution":          "Va",
	"free":                       "tc",
	"malloc":                     "uc",
}

// Model states and other constants of the solver's C interface.
const (
	modelOptimal               = 7
	modelInfeasible            = 8
	modelUnboundedOrInfeasible = 9
	modelUnbounded             = 10
	modelTimeLimit             = 13

	columnWise       = 1
	senseMinimize    = 1
	senseMaximize    = -1
	solutionFeasible = 2
	primalSimplex    = 4
)

// The compiled module and its runtime are shared by all solvers of the process
// and live as long as it does.
var compiled = sync.OnceValues(func() (c struct {
	runtime wazero.Runtime
	module  wazero.CompiledModule
}, err error) {
	ctx := context.Background()
	config := wazero.NewRuntimeConfig()
	if cache := openCache(); cache != nil {
		config = config.WithCompilationCache(cache)
	}
	c.runtime = wazero.NewRuntimeWithConfig(ctx, config)
	if err = addHost(ctx, c.runtime); err != nil {
		return c, fmt.Errorf("host functions: %w", err)
	}
	if c.module, err = c.runtime.CompileModule(ctx, wasmBytes); err != nil {
		return c, fmt.Errorf("compile the embedded module: %w", err)
	}
	return c, nil
})

// openCache returns the compilation cache in the user's cache directory, or nil
// where there is none to write to; the module is then compiled in each process.
func openCache() wazero.CompilationCache {
	dir, err := os.UserCacheDir()
	if err != nil {
		return nil
	}
	dir = filepath.Join(dir, "tidebed")
	if os.MkdirAll(dir, 0o755) != nil {
		return nil
	}
	probe, err := os.CreateTemp(dir, "probe-*")
	if err != nil {
		return nil
	}
	probe.Close()
	os.Remove(probe.Name())
	cache, err := wazero.NewCompilationCacheWithDir(dir)
	if err != nil {
		return nil
	}
	return cache
}

// instantiate gives s a fresh instance of the module.
func (s *Solver) instantiate(ctx context.Context) error {
	c, err := compiled()
	if err != nil {
		return fmt.Errorf("%w: %w", ErrSolver, err)
	}
	// The run itself is stopped by the clock, never half way by the context.
	s.host = &hostState{}
	s.host.reset()
	ctx = withHost(context.WithoutCancel(ctx), s.host)
	config := wazero.NewModuleConfig().WithName("").WithStartFunctions()
	mod, err := c.runtime.InstantiateModule(ctx, c.module, config)
	if err != nil {
		return fmt.Errorf("%w: instantiate: %w", ErrSolver, err)
	}
	s.mod, s.call = mod, make(map[string]api.Function, len(exports))
	for name, short := range exports {
		if s.call[name] = mod.ExportedFunction(short); s.call[name] == nil {
			s.drop()
			return fmt.Errorf("%w: the module has no function %s (%s)", ErrSolver, name, short)
		}
	}
	if _, err := s.call["construct"].Call(ctx); err != nil {
		s.drop()
		return fmt.Errorf("%w: start the module: %w", ErrSolver, s.host.cause(err))
	}
	return nil
}

// drop closes the instance; the next run makes a new one.
func (s *Solver) drop() error {
	if s.mod == nil {
		return nil
	}
	mod := s.mod
	s.mod, s.call = nil, nil
	return mod.Close(context.Background())
}

// raw is what the solver says, unchecked.
type raw struct {
	status            int
	solution          bool
	x                 []float64
	rowDual, colDual  []float64
	basis             *Basis
	bound             float64
	iterations, nodes int
	clock             float64
}

// run hands p to the module and reads its answer. After any failure the
// instance is dropped, since its memory may be in any state.
func (s *Solver) run(ctx context.Context, p *Problem, set Settings, presolve bool) (*raw, error) {
	if s.mod == nil {
		if err := s.instantiate(ctx); err != nil {
			return nil, err
		}
	}
	forget := context.AfterFunc(ctx, s.host.reset())
	defer forget()
	c := &calls{s: s, ctx: withHost(context.WithoutCancel(ctx), s.host)}
	out := c.solve(p, set, presolve)
	if c.err != nil {
		s.drop()
		return nil, c.err
	}
	return out, nil
}

// calls makes the calls of one run; the first error ends them all.
type calls struct {
	s     *Solver
	ctx   context.Context
	highs uint64
	held  []uint64
	err   error
}

func (c *calls) solve(p *Problem, set Settings, presolve bool) *raw {
	c.highs = c.do("Highs_create")
	if c.highs == 0 && c.err == nil {
		c.err = errors.New("no memory for the solver")
	}
	c.option("Bool", "output_flag", 0)
	c.option("Int", "threads", 1)
	c.option("Int", "random_seed", 1)
	c.option("Double", "small_matrix_value", api.EncodeF64(minCoefficient))
	c.option("Double", "time_limit", api.EncodeF64(set.Clock))
	c.option("Double", "mip_rel_gap", api.EncodeF64(set.MIPGap))
	if !presolve {
		c.option("String", "presolve", c.text("off"))
	}
	c.pass(p)
	if set.Basis != nil {
		if !set.SameCosts {
			c.option("Int", "simplex_strategy", primalSimplex)
		}
		c.status("Highs_setBasis", c.highs, c.ints(set.Basis.cols), c.ints(set.Basis.rows))
	}
	if set.Start != nil {
		c.status("Highs_setSolution", c.highs, c.floats(set.Start), 0, 0, 0)
	}
	c.status("Highs_run", c.highs)

	out := &raw{status: int(api.DecodeI32(c.do("Highs_getModelStatus", c.highs)))}
	cols, rows := p.Cols(), p.Rows()
	x, colDual := c.alloc(8*cols), c.alloc(8*cols)
	rowValue, rowDual := c.alloc(8*rows), c.alloc(8*rows)
	c.status("Highs_getSolution", c.highs, x, colDual, rowValue, rowDual)
	out.solution = c.intInfo("primal_solution_status") == solutionFeasible
	out.x = c.read(x, cols)
	out.colDual, out.rowDual = c.read(colDual, cols), c.read(rowDual, rows)
	if !p.Mixed() && out.status == modelOptimal && c.intInfo("basis_validity") == 1 {
		colStatus, rowStatus := c.alloc(4*cols), c.alloc(4*rows)
		c.status("Highs_getBasis", c.highs, colStatus, rowStatus)
		out.basis = &Basis{cols: c.readInts(colStatus, cols), rows: c.readInts(rowStatus, rows)}
	}
	out.iterations = max(int(c.intInfo("simplex_iteration_count")), 0)
	out.bound = math.NaN()
	if p.Mixed() {
		out.bound = c.doubleInfo("mip_dual_bound")
		out.nodes = max(int(c.int64Info("mip_node_count")), 0)
	}
	out.clock = float64(c.s.host.ticks) * tickSeconds
	c.do("Highs_destroy", c.highs)
	for _, ptr := range c.held {
		c.do("free", ptr)
	}
	return out
}

func (c *calls) pass(p *Problem) {
	sense := int32(senseMinimize)
	if p.Maximize {
		sense = senseMaximize
	}
	cols := p.Cols()
	args := []uint64{
		c.highs, uint64(cols), uint64(p.Rows()), uint64(len(p.Index)),
		columnWise, api.EncodeI32(sense), api.EncodeF64(p.Offset),
		c.floats(p.Cost), c.floats(p.ColLower), c.floats(p.ColUpper),
		c.floats(p.RowLower), c.floats(p.RowUpper),
		c.ints(p.Start[:cols]), c.ints(p.Index), c.floats(p.Value),
	}
	if !p.Mixed() {
		c.status("Highs_passLp", args...)
		return
	}
	whole := make([]int, cols)
	for j, is := range p.Integer {
		if is {
			whole[j] = 1
		}
	}
	c.status("Highs_passMip", append(args, c.ints(whole))...)
}

// do calls an exported function and returns its result, 0 after an error.
func (c *calls) do(name string, args ...uint64) uint64 {
	if c.err != nil {
		return 0
	}
	got, err := c.s.call[name].Call(c.ctx, args...)
	if err != nil {
		c.err = fmt.Errorf("%s: %w", name, c.s.host.cause(err))
		return 0
	}
	if len(got) == 0 {
		return 0
	}
	return got[0]
}

// status calls a function that returns -1 error, 0 good, 1 warning. A warning
// is no failure: reaching a limit is one.
func (c *calls) status(name string, args ...uint64) {
	if got := api.DecodeI32(c.do(name, args...)); got < 0 && c.err == nil {
		c.err = fmt.Errorf("%s: refused", name)
	}
}

func (c *calls) option(kind, name string, value uint64) {
	c.status("Highs_set"+kind+"OptionValue", c.highs, c.text(name), value)
}

func (c *calls) info(kind, name string) []byte {
	ptr := c.alloc(8)
	c.status("Highs_get"+kind+"InfoValue", c.highs, c.text(name), ptr)
	b := c.bytes(ptr, 8)
	if b == nil {
		return make([]byte, 8)
	}
	return b
}

func (c *calls) intInfo(name string) int32 {
	return int32(binary.LittleEndian.Uint32(c.info("Int", name)))
}

func (c *calls) int64Info(name string) int64 {
	return int64(binary.LittleEndian.Uint64(c.info("Int64", name)))
}

func (c *calls) doubleInfo(name string) float64 {
	return math.Float64frombits(binary.LittleEndian.Uint64(c.info("Double", name)))
}

// alloc reserves memory in the module, freed at the end of the run.
func (c *calls) alloc(size int) uint64 {
	ptr := c.do("malloc", uint64(max(size, 8)))
	if ptr == 0 && c.err == nil {
		c.err = fmt.Errorf("no memory for %d bytes", size)
	}
	if c.err == nil {
		c.held = append(c.held, ptr)
	}
	return ptr
}

func (c *calls) write(b []byte) uint64 {
	ptr := c.alloc(len(b))
	if c.err == nil && !c.s.mod.Memory().Write(uint32(ptr), b) {
		c.err = fmt.Errorf("write %d bytes at %#x: outside the module's memory", len(b), ptr)
	}
	return ptr
}

func (c *calls) bytes(ptr uint64, size int) []byte {
	if c.err != nil {
		return nil
	}
	b, ok := c.s.mod.Memory().Read(uint32(ptr), uint32(size))
	if !ok {
		c.err = fmt.Errorf("read %d bytes at %#x: outside the module's memory", size, ptr)
		return nil
	}
	return b
}

func (c *calls) text(s string) uint64 { return c.write(append([]byte(s), 0)) }

func (c *calls) floats(v []float64) uint64 {
	b := make([]byte, 0, 8*len(v))
	for _, f := range v {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(f))
	}
	return c.write(b)
}

func (c *calls) ints(v []int) uint64 {
	b := make([]byte, 0, 4*len(v))
	for _, i := range v {
		b = binary.LittleEndian.AppendUint32(b, uint32(int32(i)))
	}
	return c.write(b)
}

func (c *calls) read(ptr uint64, n int) []float64 {
	b := c.bytes(ptr, 8*n)
	if b == nil {
		return nil
	}
	v := make([]float64, n)
	for i := range v {
		v[i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
	}
	return v
}

func (c *calls) readInts(ptr uint64, n int) []int {
	b := c.bytes(ptr, 4*n)
	if b == nil {
		return nil
	}
	v := make([]int, n)
	for i := range v {
		v[i] = int(int32(binary.LittleEndian.Uint32(b[4*i:])))
	}
	return v
}
