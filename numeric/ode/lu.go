package ode

import "math"

// lu is a dense matrix, row after row, and its factors in the same place.
type lu struct {
	n     int
	a     []float64
	pivot []int
}

func newLU(n int) lu { return lu{n: n, a: make([]float64, n*n), pivot: make([]int, n)} }

// factor replaces the matrix by its factors, exchanging rows for the largest
// pivot. It reports false for a matrix that is singular or not finite.
func (m *lu) factor() bool {
	n := m.n
	for k := range n {
		best, size := -1, 0.0
		for i := k; i < n; i++ {
			if v := math.Abs(m.a[i*n+k]); v > size {
				best, size = i, v
			}
		}
		if best < 0 || math.IsInf(size, 0) {
			return false
		}
		m.pivot[k] = best
		rowK := m.a[k*n : k*n+n]
		if best != k {
			other := m.a[best*n : best*n+n]
			for j := range rowK {
				rowK[j], other[j] = other[j], rowK[j]
			}
		}
		inverse := 1 / rowK[k]
		for i := k + 1; i < n; i++ {
			rowI := m.a[i*n : i*n+n]
			if rowI[k] == 0 {
				continue
			}
			f := rowI[k] * inverse
			rowI[k] = f
			to, from := rowI[k+1:], rowK[k+1:]
			for j, v := range from {
				to[j] -= f * v
			}
		}
	}
	return true
}

// solve replaces b by the solution.
func (m *lu) solve(b []float64) {
	n := m.n
	for k, p := range m.pivot {
		b[k], b[p] = b[p], b[k]
	}
	for i := 1; i < n; i++ {
		sum := b[i]
		for j, v := range m.a[i*n : i*n+i] {
			sum -= v * b[j]
		}
		b[i] = sum
	}
	for i := n - 1; i >= 0; i-- {
		row := m.a[i*n : i*n+n]
		sum := b[i]
		for j := i + 1; j < n; j++ {
			sum -= row[j] * b[j]
		}
		b[i] = sum / row[i]
	}
}
