// Package texture measures the texture of a surface as the standards for
// geometrical product specification do: the parameters of a profile
// (ISO 21920-2, and the older averages over sampling lengths of ISO 4287) and of
// a map of heights (ISO 25178-2), after the form is taken off ([Level]) and the
// wavelengths of interest are parted from the rest by the Gaussian filters of
// ISO 16610-21 and ISO 16610-61.
//
// Lengths along the surface and heights of a map are in mm, as everywhere in
// this house; heights of a profile and every parameter of height are in µm, as
// the standards write them. NaN is a point without a height: no function here
// makes one up, and each says what it does without. Results are the same, bit
// for bit, for any number of cores.
package texture

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"runtime"
	"strconv"
	"sync"
	"sync/atomic"
)

// Value is a parameter with its unit: "µm", "mm", "%", "deg", or "1" for a
// number without one.
type Value struct {
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
}

// Named is a value with the name that its standard gives it.
type Named struct {
	Name string
	Value
}

// Parameters is a list of values in the order of the standard. A parameter
// that a surface does not have, such as the spacing of a profile that never
// crosses its mean line, is not in the list.
type Parameters []Named

// Get is the value of that name, and whether the list has it.
func (p Parameters) Get(name string) (Value, bool) {
	for _, n := range p {
		if n.Name == name {
			return n.Value, true
		}
	}
	return Value{}, false
}

// MarshalJSON writes one object, name by name, in the order of the list.
func (p Parameters) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, n := range p {
		if i > 0 {
			b.WriteByte(',')
		}
		v, err := json.Marshal(n.Value)
		if err != nil {
			return nil, fmt.Errorf("texture: %s: %w", n.Name, err)
		}
		b.WriteString(strconv.Quote(n.Name))
		b.WriteByte(':')
		b.Write(v)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// add appends a value unless it is not a number.
func (p *Parameters) add(name string, v float64, unit string) {
	if !math.IsNaN(v) && !math.IsInf(v, 0) {
		*p = append(*p, Named{name, Value{v, unit}})
	}
}

const (
	micro   = "µm"
	milli   = "mm"
	percent = "%"
	degrees = "deg"
	pure    = "1"
)

// bands calls do for [0, n) cut into pieces of size, on all cores. The cut does
// not depend on the number of cores, so that sums kept per piece do not either.
func bands(ctx context.Context, n, size int, do func(piece, lo, hi int)) error {
	pieces := (n + size - 1) / size
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), pieces) {
		wg.Go(func() {
			for ctx.Err() == nil {
				p := int(next.Add(1)) - 1
				if p >= pieces {
					return
				}
				do(p, p*size, min(n, (p+1)*size))
			}
		})
	}
	wg.Wait()
	return ctx.Err()
}
