package intake

import (
	"math"
	"strconv"
)

// pow10 are the powers of ten that a float64 holds exactly.
var pow10 = [23]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// ParseFloat reads a whole word as a number, correctly rounded. With up to 15
// digits or so and a small power of ten, one exact integer times or over one
// exact power is rounded once and so is right (W. D. Clinger, "How to read
// floating point numbers accurately", 1990); all else goes to strconv. Words
// for infinity and not-a-number come back as such; an exponent may be marked
// with d as in Fortran. ok is false for anything else.
func ParseFloat(s []byte) (v float64, ok bool) {
	i, n := 0, len(s)
	neg := false
	if n > 0 && (s[0] == '-' || s[0] == '+') {
		neg = s[0] == '-'
		i++
	}
	var mant uint64
	digits, exp := 0, 0 // digits that count, and the power of ten
	any := false
	for ; i < n && s[i]-'0' < 10; i++ {
		any = true
		if digits < 19 {
			mant = mant*10 + uint64(s[i]-'0')
			if mant != 0 {
				digits++
			}
		} else {
			digits++
			exp++
		}
	}
	if i < n && s[i] == '.' {
		for i++; i < n && s[i]-'0' < 10; i++ {
			any = true
			if digits < 19 {
				mant = mant*10 + uint64(s[i]-'0')
				exp--
				if mant != 0 {
					digits++
				}
			} else {
				digits++
			}
		}
	}
	if !any {
		return notNumber(s)
	}
	if i < n && (s[i]|0x20 == 'e' || s[i]|0x20 == 'd') {
		i++
		eneg := false
		if i < n && (s[i] == '-' || s[i] == '+') {
			eneg = s[i] == '-'
			i++
		}
		e, from := 0, i
		for ; i < n && s[i]-'0' < 10; i++ {
			if e < 100_000 {
				e = e*10 + int(s[i]-'0')
			}
		}
		if i == from {
			return notNumber(s)
		}
		if eneg {
			e = -e
		}
		exp += e
	}
	if i < n {
		return notNumber(s)
	}
	if digits > 19 || mant >= 1<<53 || exp < -22 || exp > 22 {
		return slowFloat(s, mant)
	}
	v = float64(mant)
	if exp < 0 {
		v /= pow10[-exp]
	} else {
		v *= pow10[exp]
	}
	if neg {
		v = -v
	}
	return v, true
}

// slowFloat reads a number that is well formed but not easy.
func slowFloat(s []byte, mant uint64) (float64, bool) {
	if mant == 0 {
		return 0, true
	}
	t := make([]byte, 0, 64)
	for _, c := range s {
		if c|0x20 == 'd' {
			c = 'e'
		}
		t = append(t, c)
	}
	// Out of range is infinite or zero, both of which say what the file says.
	v, _ := strconv.ParseFloat(string(t), 64)
	return v, true
}

// notNumber knows the ways of writing infinity and not-a-number.
func notNumber(s []byte) (float64, bool) {
	if len(s) == 0 || len(s) > 16 {
		return 0, false
	}
	t := make([]byte, 0, 16)
	for _, c := range s {
		if c != '+' && c != '-' {
			t = append(t, lower(c))
		}
	}
	switch w := string(t); {
	case w == "inf" || w == "infinity" || w == "1.#inf":
		return math.Inf(1), true
	case w == "nan" || w == "nan(ind)" || w == "nan(snan)" || w == "1.#qnan" || w == "1.#ind" || w == "1.#snan":
		return math.NaN(), true
	}
	return 0, false
}

// ParseInt reads a whole word as an integer of at most 18 digits.
func ParseInt(s []byte) (v int64, ok bool) {
	neg := false
	if len(s) > 0 && (s[0] == '-' || s[0] == '+') {
		neg, s = s[0] == '-', s[1:]
	}
	if len(s) == 0 || len(s) > 18 {
		return 0, false
	}
	for _, c := range s {
		if c-'0' > 9 {
			return 0, false
		}
		v = v*10 + int64(c-'0')
	}
	if neg {
		v = -v
	}
	return v, true
}

// Finite reports whether a coordinate can be one of a part: a number, and not
// beyond all measure.
func Finite(v float64) bool { return v >= -maxCoordinate && v <= maxCoordinate }
