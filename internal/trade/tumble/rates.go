package tumble

import "math"

// Rates are the constants of one process as plain numbers: one of the worlds
// that a [Process] allows. Its methods are the laws, and the only place where they
// stand; they allocate nothing.
type Rates struct {
	// T and Roughen are time constants in hours: of levelling, and of the pattern
	// coming up on a face that is finer than the limit. A Roughen of 0 takes T, the
	// published form.
	T, Roughen float64
	RL         float64 // limit of Ra, µm
	Ms         float64 // steady removal, µm an hour
	Mt         float64 // what comes off early and once, µm; below 0 counts as 0
}

// constant is the time constant in hours that a face of Ra start runs on.
func (r Rates) constant(start float64) float64 {
	if start < r.RL && r.Roughen > 0 {
		return r.Roughen
	}
	return r.T
}

// Ra is the roughness in µm after hours from a face of Ra start:
// RL + (R0 − RL)·e^(−t/T).
func (r Rates) Ra(start, hours float64) float64 {
	if !(hours > 0) {
		return start
	}
	return r.RL + (start-r.RL)*math.Exp(-hours/r.constant(start))
}

// HoursTo is the time from one Ra to another, both µm, in either direction; 0
// for a face that is finer than its target and stays so; +Inf for a target at or
// past the limit, which is never reached.
func (r Rates) HoursTo(start, target float64) float64 {
	switch {
	case start == target || target > math.Max(start, r.RL):
		return 0
	case target < start && target <= r.RL, target == r.RL, target < start && start < r.RL:
		return math.Inf(1)
	}
	return r.constant(start) * math.Log((start-r.RL)/(target-r.RL))
}

// Removed is what hours take off an open flat face, µm:
// Ms·t + Mt·(1 − e^(−t/T)).
func (r Rates) Removed(hours float64) float64 {
	if !(hours > 0) {
		return 0
	}
	um := r.Ms * hours
	if r.Mt > 0 {
		um -= r.Mt * math.Expm1(-hours/r.T)
	}
	return um
}

// HoursToRemove is the time to take um off an open flat face: 0 for nothing,
// +Inf for more than it ever takes.
func (r Rates) HoursToRemove(um float64) float64 {
	switch {
	case !(um > 0):
		return 0
	case !(r.Mt > 0) || !(r.T > 0):
		if r.Mt > 0 {
			um = math.Max(um-r.Mt, 0) // the early part comes at once
		}
		if !(r.Ms > 0) && um > 0 {
			return math.Inf(1)
		}
		if um == 0 {
			return 0
		}
		return um / r.Ms
	case !(r.Ms > 0):
		if um >= r.Mt {
			return math.Inf(1)
		}
		return -r.T * math.Log1p(-um/r.Mt)
	}
	// a·x + Mt·(1 − e^(−x)) = um in time constants rises and bends down, so steps of
	// Newton's from below never pass the answer and close in on it squarely. It is
	// below 2x/(2 + x) or 1 in place of 1 − e^(−x), and both can be solved.
	a := r.Ms * r.T
	b := 2*(a+r.Mt) - um
	x := 4 * um / (b + math.Sqrt(b*b+8*a*um))
	if b < 0 {
		x = (math.Sqrt(b*b+8*a*um) - b) / (2 * a)
	}
	x = math.Max(x, (um-r.Mt)/a)
	for range 64 {
		e := math.Expm1(-x)
		step := (um - a*x + r.Mt*e) / (a + r.Mt*(1+e))
		x += step
		if step <= 1e-7*math.Min(x, 1) { // the error is of the order of its square
			break
		}
	}
	return x * r.T
}
