package gauge

import "math"

// In WebAssembly math.Exp and math.Log are several calls each, most of their
// time being for numbers that do not come up here. These two are the same sums,
// of FreeBSD's msun as in package math, for numbers that do.

const (
	ln2High = 6.93147180369123816490e-01
	ln2Low  = 1.90821492927058770002e-10
)

// exp is math.Exp of a number between -700 and 700.
func exp(x float64) float64 {
	n := x * math.Log2E
	k := int(n + 0.5)
	if n < 0 {
		k = int(n - 0.5)
	}
	high, low := x-float64(k)*ln2High, float64(k)*ln2Low
	r := high - low
	t := r * r
	c := r - t*(1.66666666666666657415e-01+t*(-2.77777777770155933842e-03+t*(6.61375632143793436117e-05+
		t*(-1.65339022054652515390e-06+t*4.13813679705723846039e-08))))
	y := 1 - ((low - (r*c)/(2-c)) - high)
	return y * math.Float64frombits(uint64(k+1023)<<52)
}

// ln is math.Log of a positive number that is not denormal.
func ln(x float64) float64 {
	bits := math.Float64bits(x)
	k := float64(int(bits>>52) - 1022)
	f := math.Float64frombits(bits&(1<<52-1) | 1022<<52)
	if f < math.Sqrt2/2 {
		f *= 2
		k--
	}
	f--
	s := f / (2 + f)
	s2 := s * s
	s4 := s2 * s2
	t1 := s2 * (6.666666666666735130e-01 + s4*(2.857142874366239149e-01+s4*(1.818357216161805012e-01+s4*1.479819860511658591e-01)))
	t2 := s4 * (3.999999999940941908e-01 + s4*(2.222219843214978396e-01+s4*1.531383769920937332e-01))
	half := 0.5 * f * f
	return k*ln2High - ((half - (s*(half+t1+t2) + k*ln2Low)) - f)
}

// atMost and atLeast are min and max, which are calls in WebAssembly.
func atMost(v, most float64) float64 {
	if v > most {
		return most
	}
	return v
}

func atLeast(v, least float64) float64 {
	if v < least {
		return least
	}
	return v
}
