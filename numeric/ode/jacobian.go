package ode

import (
	"errors"
	"fmt"
	"math"
)

// jacobians fills jac and ft at the present point, which F has already seen.
func (v *Solver) jacobians(h, tNew float64) error {
	n, m := v.p.N, v.p.N+v.p.NQ
	v.stats.JacEvals++
	clear(v.jac)
	y := v.y[:n:n]
	if v.p.Jac != nil {
		if err := v.p.Jac(v.t, y, v.jac[:n*n:n*n]); err != nil {
			return fmt.Errorf("ode: t = %.9g: Jacobian: %w", v.t, err)
		}
	}
	if v.p.QuadJac != nil {
		if err := v.p.QuadJac(v.t, y, v.jac[n*n:]); err != nil {
			return fmt.Errorf("ode: t = %.9g: Jacobian of the quadratures: %w", v.t, err)
		}
	}
	rows, quadRows := v.p.Jac == nil, v.p.NQ > 0 && v.p.QuadJac == nil
	if rows || quadRows {
		from, to := 0, m
		if !rows {
			from = n
		}
		if !quadRows {
			to = n
		}
		if err := v.differences(from, to); err != nil {
			return err
		}
	}
	if !allFinite(v.jac) {
		for i, entry := range v.jac {
			if !finite(entry) {
				return fmt.Errorf("ode: t = %.9g: Jacobian, row %d, column %s: %g: %w", v.t, i/n, v.p.name(i%n), entry, ErrNotFinite)
			}
		}
	}
	if v.p.Autonomous {
		return nil
	}
	clear(v.ft)
	if v.p.TimeJac != nil {
		if err := v.p.TimeJac(v.t, y, v.ft[:n:n], v.ft[n:]); err != nil {
			return fmt.Errorf("ode: t = %.9g: time derivative: %w", v.t, err)
		}
		for _, value := range v.ft {
			if !finite(value) {
				return fmt.Errorf("ode: t = %.9g: time derivative: %g: %w", v.t, value, ErrNotFinite)
			}
		}
		return nil
	}
	return v.timeDifference(h, tNew)
}

// differences fills the rows from to to of jac by one-sided differences. Each
// state is moved by 1.5e-8 of itself, or of the size at which its absolute
// tolerance takes over from the relative one. Where F refuses, it is moved the
// other way.
func (v *Solver) differences(from, to int) error {
	n := v.p.N
	copy(v.stage, v.y)
	for j := range n {
		move := math.Sqrt(epsilon) * max(math.Abs(v.y[j]), v.s.AbsTol[j]/v.s.RelTol)
		v.stage[j] = v.y[j] + move
		err := v.eval(v.t, v.stage, v.fNew)
		if errors.Is(err, ErrShorter) {
			v.stage[j] = v.y[j] - move
			err = v.eval(v.t, v.stage, v.fNew)
		}
		if err != nil {
			return fmt.Errorf("ode: t = %.9g: difference in %s: %w", v.t, v.p.name(j), err)
		}
		moved := v.stage[j] - v.y[j]
		v.stage[j] = v.y[j]
		for i := from; i < to; i++ {
			v.jac[i*n+j] = (v.fNew[i] - v.f[i]) / moved
		}
	}
	return nil
}

// timeDifference fills ft by a difference that stays within the step. Where F
// refuses so close to a state it took, the derivative is left at 0.
func (v *Solver) timeDifference(h, tNew float64) error {
	t := min(tNew, v.t+max(1e-7*h, 64*epsilon*math.Abs(v.t)))
	moved := t - v.t
	if moved <= 0 {
		return nil
	}
	copy(v.stage, v.y)
	if err := v.eval(t, v.stage, v.fNew); err != nil {
		if errors.Is(err, ErrShorter) {
			return nil
		}
		return fmt.Errorf("ode: t = %.9g: difference in time: %w", v.t, err)
	}
	for i := range v.ft {
		v.ft[i] = (v.fNew[i] - v.f[i]) / moved
	}
	return nil
}
