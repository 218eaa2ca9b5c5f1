package engine

// For the tests and benchmarks from outside.
var (
	Big      = big
	Today    = today
	TripFrom = tripFrom
)
