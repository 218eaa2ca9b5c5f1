package fuse

import "math"

// A square is a dense symmetric matrix in row order. Systems here have some
// ten to fifty rows, so plain loops over one slice beat a library's calls.
type square struct {
	n int
	a []float64
}

func newSquare(n int) square { return square{n, make([]float64, n*n)} }

func (s square) row(i int) []float64 { return s.a[i*s.n : (i+1)*s.n] }

// factor overwrites the lower triangle with Cholesky's factor and says whether
// the matrix was positive definite.
func (s square) factor() bool {
	for i := 0; i < s.n; i++ {
		ri := s.row(i)
		for j := 0; j <= i; j++ {
			rj := s.row(j)
			sum := ri[j]
			for k := 0; k < j; k++ {
				sum -= ri[k] * rj[k]
			}
			if i > j {
				ri[j] = sum / rj[j]
				continue
			}
			if !(sum > 0) || math.IsInf(sum, 1) {
				return false
			}
			ri[i] = math.Sqrt(sum)
		}
	}
	return true
}

// forward solves L x = b in place, L being the factor.
func (s square) forward(b []float64) {
	for i := 0; i < s.n; i++ {
		r := s.row(i)
		sum := b[i]
		for k := 0; k < i; k++ {
			sum -= r[k] * b[k]
		}
		b[i] = sum / r[i]
	}
}

// backward solves L' x = b in place.
func (s square) backward(b []float64) {
	for i := s.n - 1; i >= 0; i-- {
		sum := b[i] / s.row(i)[i]
		b[i] = sum
		for k := 0; k < i; k++ {
			b[k] -= s.row(i)[k] * sum
		}
	}
}

// inverse returns the full inverse from the factor.
func (s square) inverse() square {
	inv := newSquare(s.n)
	column := make([]float64, s.n)
	for j := 0; j < s.n; j++ {
		clear(column)
		column[j] = 1
		s.forward(column)
		s.backward(column)
		for i, v := range column {
			inv.a[i*s.n+j] = v
		}
	}
	return inv
}

// quadratic is x' S y.
func (s square) quadratic(x, y []float64) float64 {
	sum := 0.0
	for i, xi := range x {
		if xi == 0 {
			continue
		}
		r := s.row(i)
		inner := 0.0
		for j, yj := range y {
			inner += r[j] * yj
		}
		sum += xi * inner
	}
	return sum
}
