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

// dot is the sum of products, in four sums that do not wait for each other.
func dot(a, b []float64) float64 {
	b = b[:len(a)]
	var s0, s1, s2, s3 float64
	for len(a) >= 4 && len(b) >= 4 {
		s0 += a[0] * b[0]
		s1 += a[1] * b[1]
		s2 += a[2] * b[2]
		s3 += a[3] * b[3]
		a, b = a[4:], b[4:]
	}
	for i, v := range a {
		s0 += v * b[i]
	}
	return (s0 + s1) + (s2 + s3)
}

// solve replaces b by the solution.
func (m *lu) solve(b []float64) {
	n := m.n
	for k, p := range m.pivot {
		b[k], b[p] = b[p], b[k]
	}
	for i := 1; i < n; i++ {
		b[i] -= dot(m.a[i*n:i*n+i], b)
	}
	for i := n - 1; i >= 0; i-- {
		row := m.a[i*n : i*n+n]
		b[i] = (b[i] - dot(row[i+1:], b[i+1:])) / row[i]
	}
}
