package part21

import (
	"bytes"
	"slices"

	"fettle/internal/format/intake"
)

// dataSection reads one data section. Its name and schema, which it
// may have where there are several, do not matter here.
func (r *reader) dataSection(at int) error {
	r.sections++
	r.skip()
	if r.peek() == '(' {
		_, end, bad := r.body(r.pos, &plain)
		switch {
		case bad != "":
			return r.fault(at, "the beginning of a DATA section %s", bad)
		case end < 0:
			return r.cut(at, "the beginning of a DATA section")
		}
		r.pos = end + 1
	} else if !r.semicolon() {
		return r.fault(at, "a DATA section does not begin with DATA;")
	}
	// outer are the instances whose scope is open (edition 1 only).
	var outer []uint64
	for {
		r.skip()
		from := r.pos
		if r.peek() == '#' {
			id, err := r.number()
			if err != nil {
				return err
			}
			if r.peek() == '&' {
				r.pos = keyword(r.data, r.pos+1)
				if outer = append(outer, id); len(outer) > intake.MaxDepth {
					return r.fault(from, "more than %d scopes inside each other", intake.MaxDepth)
				}
				continue
			}
			if err := r.record(from, id); err != nil {
				return err
			}
			continue
		}
		word := r.word()
		switch {
		case r.pos >= len(r.data) && string(word) != "ENDSEC":
			if r.open > 0 {
				return r.cut(from, "")
			}
			return r.fault(from, "the file ends before its DATA section does")
		case bytes.Equal(word, endsec):
			r.semicolon()
			return nil
		case string(word) == "END-"+magic:
			r.pos = from // some programs leave ENDSEC out
			return nil
		case string(word) == "ENDSCOPE" && len(outer) > 0:
			id := outer[len(outer)-1]
			outer = outer[:len(outer)-1]
			if r.skip(); r.peek() == '/' { // the list of what the scope exports
				j := bytes.IndexByte(r.data[r.pos+1:], '/')
				if j < 0 {
					return r.cut(from, "instance #%d", id)
				}
				r.pos += j + 2
			}
			if err := r.record(from, id); err != nil {
				return err
			}
		default:
			return r.fault(from, "there is text in the DATA section that is no instance")
		}
	}
}

// number reads the number of an instance and the equals sign after it. Zeros in
// front do not count (clause 6.3.4).
func (r *reader) number() (id uint64, err error) {
	from, d := r.pos, r.data
	i, digits := from+1, 0
	for i < len(d) && d[i]-'0' < 10 {
		if id = id*10 + uint64(d[i]-'0'); id > 0 {
			digits++
		}
		if digits > maxDigits {
			return 0, r.fault(from, "the number of an instance is longer than %d digits", maxDigits)
		}
		i++
	}
	r.pos = i
	if r.skip(); r.pos >= len(d) {
		return 0, r.cut(from, "instance #%d", id)
	}
	if d[r.pos] != '=' || i == from+1 {
		return 0, r.fault(from, "a number sign does not begin an instance")
	}
	r.pos++
	r.skip()
	return id, nil
}

// record reads the record of an instance that begins at from.
func (r *reader) record(from int, id uint64) error {
	r.skip()
	at := r.pos
	in := instance{id: id, at: uint32(at)}
	var end int
	var bad string
	if r.peek() == '(' {
		in.complex = true
		in.kind, end, bad = r.body(at, &mixed)
	} else {
		i := keyword(r.data, at)
		if i == at && i < len(r.data) {
			return r.fault(from, "instance #%d has no type", id)
		}
		in.kind = kindOf(r.data[at:i])
		_, end, bad = r.body(i, &plain)
	}
	switch {
	case bad != "":
		return r.fault(from, "instance #%d %s", id, bad)
	case end < 0:
		return r.cut(from, "instance #%d", id)
	}
	r.pos = end + 1
	if len(r.inst) == cap(r.inst) {
		r.grow()
	}
	r.inst = append(r.inst, in)
	return nil
}

// grow makes room for as many instances as there will be if the rest of the file
// is like what was read, but not for more than four times those.
func (r *reader) grow() {
	n := len(r.inst)
	will := float64(n) * float64(len(r.data)) / float64(r.pos)
	r.inst = slices.Grow(r.inst, min(int(will*1.02)-n+64, 3*n+64))
}
