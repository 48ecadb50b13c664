package lp

import (
	"context"
	"errors"
	"fmt"
	"sync"
)

// Pool lends a fixed number of solvers to goroutines. Solvers are made when
// first needed. It is safe for concurrent use.
type Pool struct {
	places chan struct{}

	mu   sync.Mutex
	idle []*Solver
	shut bool
}

// NewPool returns a pool of at most n solvers; n below 1 counts as 1.
func NewPool(n int) *Pool {
	return &Pool{places: make(chan struct{}, max(n, 1))}
}

// Get waits for a free solver, makes one if none is idle, and returns it. It
// returns ctx's error if ctx ends first. Hand the solver back with Put.
func (p *Pool) Get(ctx context.Context) (*Solver, error) {
	select {
	case p.places <- struct{}{}:
	case <-ctx.Done():
		return nil, fmt.Errorf("wait for a solver: %w", ctx.Err())
	}
	p.mu.Lock()
	if p.shut {
		p.mu.Unlock()
		<-p.places
		return nil, fmt.Errorf("%w: the pool is closed", ErrSolver)
	}
	if n := len(p.idle); n > 0 {
		s := p.idle[n-1]
		p.idle = p.idle[:n-1]
		p.mu.Unlock()
		return s, nil
	}
	p.mu.Unlock()
	s, err := New(ctx)
	if err != nil {
		<-p.places
		return nil, err
	}
	return s, nil
}

// Put hands back a solver that came from Get, once.
func (p *Pool) Put(s *Solver) {
	p.mu.Lock()
	switch {
	case p.shut:
		s.drop()
	case !s.shut:
		p.idle = append(p.idle, s)
	}
	p.mu.Unlock()
	<-p.places
}

// Do runs f with a solver of the pool and returns f's error.
func (p *Pool) Do(ctx context.Context, f func(*Solver) error) error {
	s, err := p.Get(ctx)
	if err != nil {
		return err
	}
	defer p.Put(s)
	return f(s)
}

// Close closes the idle solvers; those still lent out are closed when put back.
func (p *Pool) Close() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.shut = true
	var errs []error
	for _, s := range p.idle {
		errs = append(errs, s.Close())
	}
	p.idle = nil
	return errors.Join(errs...)
}
