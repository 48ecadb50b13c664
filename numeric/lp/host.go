package lp

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
)

// Each reading of the clock moves it by one tick.
const (
	tickNanos   = 100_000
	tickSeconds = tickNanos * 1e-9
	// jumpTicks is how far the clock stands ahead once a run is to stop:
	// beyond every limit Settings can name.
	jumpTicks = 10 * DefaultClock / tickSeconds
	pageBytes = 65536
	heapBytes = 2 << 30
)

// WASI and system call error numbers.
const (
	errnoBadFile = 8
	errnoInvalid = 28
	errnoNoSys   = 52
	errnoPipe    = 70
)

// hostState is what the host functions know of one instance.
type hostState struct {
	ticks   uint64
	stopped *atomic.Bool
	aborted error
}

// reset sets the clock to 0 for a new run and returns the function that makes
// it jump beyond every limit. That may be called from any goroutine, and when
// it comes late it does not touch the run after.
func (h *hostState) reset() (stop func()) {
	flag := new(atomic.Bool)
	h.ticks, h.stopped, h.aborted = 0, flag, nil
	return func() { flag.Store(true) }
}

// nanos reads the counted clock.
func (h *hostState) nanos() uint64 {
	h.ticks++
	if h.stopped.Load() {
		return (h.ticks + jumpTicks) * tickNanos
	}
	return h.ticks * tickNanos
}

// cause returns why a call failed, without the module's stack of numbers.
func (h *hostState) cause(err error) error {
	if h.aborted != nil {
		return h.aborted
	}
	first, _, _ := strings.Cut(err.Error(), "\n")
	return errors.New(first)
}

type hostKey struct{}

func withHost(ctx context.Context, h *hostState) context.Context {
	return context.WithValue(ctx, hostKey{}, h)
}

func hostOf(ctx context.Context) *hostState { return ctx.Value(hostKey{}).(*hostState) }

// addHost defines the functions the module imports, under the short names of
// release 1.15.3. It gets a clock, memory and nothing else: no file, no
// environment, no output.
func addHost(ctx context.Context, r wazero.Runtime) error {
	const i32, i64, f64 = api.ValueTypeI32, api.ValueTypeI64, api.ValueTypeF64
	types := func(t ...api.ValueType) []api.ValueType { return t }
	b := r.NewHostModuleBuilder("a")
	add := func(name string, params, results []api.ValueType, f api.GoModuleFunc) {
		b.NewFunctionBuilder().WithGoModuleFunction(f, params, results).Export(name)
	}
	give := func(code int32) api.GoModuleFunc {
		return func(_ context.Context, _ api.Module, stack []uint64) { stack[0] = api.EncodeI32(code) }
	}
	abort := func(what string) api.GoModuleFunc {
		return func(ctx context.Context, _ api.Module, stack []uint64) {
			err := errors.New(what)
			if len(stack) == 1 {
				err = fmt.Errorf("%s with code %d", what, api.DecodeI32(stack[0]))
			}
			hostOf(ctx).aborted = err
			panic(err) // caught by the runtime, which ends the call with an error
		}
	}
	millis := func(ctx context.Context, _ api.Module, stack []uint64) {
		stack[0] = api.EncodeF64(float64(hostOf(ctx).nanos()) * 1e-6)
	}

	add("a", types(i32, i32, i32), nil, abort("it threw an exception")) // __cxa_throw
	add("b", types(i32), nil, abort("it left"))                         // exit
	add("c", nil, types(f64), millis)                                   // emscripten_get_now
	add("d", types(i32), types(i32), give(errnoBadFile))                // fd_close
	add("e", types(i32, i32, i32), types(i32), give(-errnoNoSys))       // fcntl64
	add("f", types(i32, i32, i32, i32), types(i32), swallow)            // fd_write
	add("g", types(i32, i32, i32, i32), types(i32), give(errnoBadFile)) // fd_read
	add("h", types(i32, i32, i32), types(i32), give(-errnoNoSys))       // ioctl
	add("i", types(i32, i32, i32, i32), types(i32), give(-errnoNoSys))  // openat
	add("j", nil, types(f64), millis)                                   // emscripten_date_now
	add("k", nil, nil, abort("it aborted"))                             // abort
	add("l", types(i32, f64), types(i32), give(0))                      // setitimer: no timers
	add("m", types(i32, i32, i32, i32), nil, timeZone)                  // tzset
	add("n", types(i32, i32), types(i32), give(0))                      // environ_get: empty
	add("o", types(i32, i32), types(i32), noEnvironment)                // environ_sizes_get
	add("p", types(i32, i64, i32), types(i32), clockTime)               // clock_time_get
	add("q", types(i32), types(i32), resizeHeap)                        // emscripten_resize_heap
	add("r", types(i32), nil, abort("it left the process"))             // proc_exit
	add("s", nil, nil, func(context.Context, api.Module, []uint64) {})  // runtime_keepalive_clear
	add("t", types(i32, i64, i32, i32), types(i32), give(errnoPipe))    // fd_seek
	_, err := b.Instantiate(ctx)
	return err
}

// swallow takes what is written and drops it.
func swallow(_ context.Context, mod api.Module, stack []uint64) {
	list, count, written := uint32(stack[1]), uint32(stack[2]), uint32(stack[3])
	total := uint32(0)
	for i := range count {
		size, ok := mod.Memory().ReadUint32Le(list + 8*i + 4)
		if !ok {
			stack[0] = errnoInvalid
			return
		}
		total += size
	}
	stack[0] = 0
	if !mod.Memory().WriteUint32Le(written, total) {
		stack[0] = errnoInvalid
	}
}

// timeZone says UTC without summer time.
func timeZone(_ context.Context, mod api.Module, stack []uint64) {
	mem := mod.Memory()
	mem.WriteUint32Le(uint32(stack[0]), 0)
	mem.WriteUint32Le(uint32(stack[1]), 0)
	mem.WriteString(uint32(stack[2]), "UTC\x00")
	mem.WriteString(uint32(stack[3]), "UTC\x00")
}

func noEnvironment(_ context.Context, mod api.Module, stack []uint64) {
	mem := mod.Memory()
	ok := mem.WriteUint32Le(uint32(stack[0]), 0) && mem.WriteUint32Le(uint32(stack[1]), 0)
	stack[0] = 0
	if !ok {
		stack[0] = errnoInvalid
	}
}

func clockTime(ctx context.Context, mod api.Module, stack []uint64) {
	ok := mod.Memory().WriteUint64Le(uint32(stack[2]), hostOf(ctx).nanos())
	stack[0] = 0
	if !ok {
		stack[0] = errnoInvalid
	}
}

// resizeHeap grows the memory to the size asked for and a fifth beyond, or as
// much as can be had, and returns 1, or 0 when there is no room.
func resizeHeap(_ context.Context, mod api.Module, stack []uint64) {
	mem := mod.Memory()
	have, want := uint64(mem.Size()), uint64(uint32(stack[0]))
	stack[0] = 0
	if want > heapBytes {
		return
	}
	for _, size := range []uint64{max(want, min(have+have/5, heapBytes)), want} {
		pages := (size + pageBytes - 1) / pageBytes
		if now := have / pageBytes; pages <= now {
			stack[0] = 1
			return
		} else if _, ok := mem.Grow(uint32(pages - now)); ok {
			stack[0] = 1
			return
		}
	}
}
