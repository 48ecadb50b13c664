package web

import (
	"context"
	"fmt"
	"sync"
	"time"
)

// asked is a long question that is put once, however many readers wait for it.
// An answer is kept; an error is told to those who waited and then forgotten, so
// that the next visit asks again.
type asked[T any] struct {
	mu      sync.Mutex
	running *pending[T]
}

type pending[T any] struct {
	begun time.Time
	done  chan struct{}
	value T
	err   error
}

// wait puts the question if nobody has, and waits at most patience for the
// answer. When ready is false it is still being worked out, for soFar already.
// The work goes on when the reader who began it leaves.
func (a *asked[T]) wait(ctx context.Context, patience time.Duration, ask func(context.Context) (T, error)) (value T, soFar time.Duration, ready bool, err error) {
	a.mu.Lock()
	p := a.running
	if p == nil {
		p = &pending[T]{begun: time.Now(), done: make(chan struct{})}
		a.running = p
		go p.work(context.WithoutCancel(ctx), ask)
	}
	a.mu.Unlock()

	timer := time.NewTimer(patience)
	defer timer.Stop()
	select {
	case <-p.done:
	case <-ctx.Done():
		return value, time.Since(p.begun), false, nil
	case <-timer.C:
		return value, time.Since(p.begun), false, nil
	}
	if p.err != nil {
		a.mu.Lock()
		if a.running == p {
			a.running = nil
		}
		a.mu.Unlock()
	}
	return p.value, time.Since(p.begun), true, p.err
}

func (p *pending[T]) work(ctx context.Context, ask func(context.Context) (T, error)) {
	defer close(p.done)
	defer func() {
		if cause := recover(); cause != nil {
			p.err = fmt.Errorf("work for a page broke off: %v", cause)
		}
	}()
	p.value, p.err = ask(ctx)
}
