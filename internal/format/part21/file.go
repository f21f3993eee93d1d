package part21

import (
	"bytes"
	"cmp"
	"iter"
	"slices"
	"strings"
)

// file is one that has been walked over: its instances can be found by number.
type file struct {
	*reader
	// dense is the index into inst, plus one, by number; nil where numbers are few
	// and far between.
	dense []uint32
	// sorted are the indices into inst by number, where dense is nil.
	sorted []uint32
	// kinds are the instances of each kind from items of representations on, in
	// the order of the text.
	kinds map[kind][]uint32
}

// newFile makes the instances findable and refuses a number that is there
// twice: nobody could say which of the two is meant.
func newFile(r *reader) (*file, error) {
	f := &file{reader: r, kinds: map[kind][]uint32{}}
	top := uint64(0)
	for i, in := range r.inst {
		top = max(top, in.id)
		if in.kind >= geometricSet {
			f.kinds[in.kind] = append(f.kinds[in.kind], uint32(i))
		}
	}
	if n := uint64(len(r.inst)); top < 4*n+1024 {
		f.dense = make([]uint32, top+1)
		for i, in := range r.inst {
			if first := f.dense[in.id]; first > 0 {
				return nil, f.twice(int(first-1), i)
			}
			f.dense[in.id] = uint32(i + 1)
		}
		return f, nil
	}
	f.sorted = make([]uint32, len(r.inst))
	for i := range f.sorted {
		f.sorted[i] = uint32(i)
	}
	slices.SortFunc(f.sorted, func(a, b uint32) int {
		return cmp.Or(cmp.Compare(r.inst[a].id, r.inst[b].id), cmp.Compare(a, b))
	})
	for k := 1; k < len(f.sorted); k++ {
		if a, b := f.sorted[k-1], f.sorted[k]; r.inst[a].id == r.inst[b].id {
			return nil, f.twice(int(a), int(b))
		}
	}
	return f, nil
}

func (f *file) twice(a, b int) error {
	return f.fault(int(f.inst[b].at), "instance #%d is there twice, first in line %d", f.inst[b].id, line(f.data, int(f.inst[a].at)))
}

// find is the index of the instance with a number, -1 where there is none.
func (f *file) find(id uint64) int {
	if f.sorted == nil {
		if id < uint64(len(f.dense)) {
			return int(f.dense[id]) - 1
		}
		return -1
	}
	k, ok := slices.BinarySearchFunc(f.sorted, id, func(i uint32, id uint64) int { return cmp.Compare(f.inst[i].id, id) })
	if !ok {
		return -1
	}
	return int(f.sorted[k])
}

// refs are the indices of the instances that instance i refers to, in the order
// of the text, and -1 with its number for one that is not in the file.
func (f *file) refs(i int) iter.Seq2[int, uint64] {
	return func(yield func(int, uint64) bool) {
		d := f.data
		for p := int(f.inst[i].at); p < len(d); {
			switch linked[d[p]] {
			case 0:
				for p++; p < len(d) && linked[d[p]] == 0; p++ {
				}
			case quote:
				p += bytes.IndexByte(d[p+1:], '\'') + 2
			case slash:
				j, _ := blank(d, p)
				p = max(j, p+1)
			case ends:
				return
			case hash:
				id, digits := uint64(0), 0
				for p++; p < len(d) && d[p]-'0' < 10; p++ {
					if digits < maxDigits {
						id = id*10 + uint64(d[p]-'0')
					}
					if id > 0 {
						digits++
					}
				}
				to := -1
				if digits <= maxDigits {
					to = f.find(id)
				}
				if !yield(to, id) {
					return
				}
			}
		}
	}
}

// ref is the first of the instances that i refers to which is of a kind, -1
// where there is none.
func (f *file) ref(i int, k kind) int {
	for to := range f.refs(i) {
		if to >= 0 && f.inst[to].kind == k {
			return to
		}
	}
	return -1
}

// record is the text of an instance, from its keyword or bracket on; the end is
// somewhere after it.
func (f *file) record(i int) []byte { return f.data[f.inst[i].at:] }

// brackets is what stands between the brackets that begin at or after at.
func brackets(d []byte, at int) []byte {
	if at, _ = blank(d, at); at >= len(d) || d[at] != '(' {
		return nil
	}
	return d[at+1 : max(at+1, after(d, at)-1)]
}

// params are the parameters of a simple instance, or those of a complex one
// under the first of the names that it has.
func (f *file) params(i int, names ...string) iter.Seq[value] {
	d := f.record(i)
	if !f.inst[i].complex {
		return each(brackets(d, keyword(d, 0)))
	}
	for _, n := range names {
		for name, raw := range partials(brackets(d, 0)) {
			if strings.EqualFold(string(name), n) {
				return each(raw)
			}
		}
	}
	return each(nil)
}

// partials are the records of a complex instance, by name, given what stands
// between its brackets.
func partials(d []byte) iter.Seq2[[]byte, []byte] {
	return func(yield func([]byte, []byte) bool) {
		for i := 0; ; {
			if i, _ = blank(d, i); i >= len(d) {
				return
			}
			from := i
			if i = keyword(d, i); i == from {
				i = after(d, i)
				continue
			}
			name := d[from:i]
			if i, _ = blank(d, i); i < len(d) && d[i] == '(' {
				if !yield(name, brackets(d, i)) {
					return
				}
				i = after(d, i)
			}
		}
	}
}
