package main

import (
	"errors"
	"fmt"
)

// A cursor reads the binary format of WebAssembly Core 2.0, chapter 5. The first
// fault stays; what is read after it is zero, so that a reader asks once at the
// end of what belongs together.
type cursor struct {
	b   []byte
	at  int
	err error
}

var errShort = errors.New("it ends too soon")

func (c *cursor) fail(format string, a ...any) {
	if c.err == nil {
		c.err = fmt.Errorf(format, a...)
	}
}

func (c *cursor) more() bool { return c.err == nil && c.at < len(c.b) }

func (c *cursor) byte() byte {
	if c.err != nil || c.at >= len(c.b) {
		c.fail("%w", errShort)
		return 0
	}
	c.at++
	return c.b[c.at-1]
}

// bytes takes n bytes without copying them.
func (c *cursor) bytes(n uint32) []byte {
	if c.err != nil || uint64(n) > uint64(len(c.b)-c.at) {
		c.fail("%w", errShort)
		return nil
	}
	s := c.b[c.at : c.at+int(n) : c.at+int(n)]
	c.at += int(n)
	return s
}

// u32 reads an unsigned LEB128 number of at most 32 bits.
func (c *cursor) u32() uint32 {
	var v uint64
	for shift := 0; shift < 35; shift += 7 {
		b := c.byte()
		v |= uint64(b&0x7f) << shift
		if b < 0x80 {
			if v>>32 != 0 {
				c.fail("byte %d: a number is above 32 bits", c.at)
			}
			return uint32(v)
		}
	}
	c.fail("byte %d: a number has too many bytes", c.at)
	return 0
}

// count reads how many things follow; each takes at least one byte.
func (c *cursor) count() int {
	n := c.u32()
	if uint64(n) > uint64(len(c.b)-c.at) {
		c.fail("byte %d: it claims %d things in %d bytes", c.at, n, len(c.b)-c.at)
		return 0
	}
	return int(n)
}

// signed reads a signed LEB128 number of at most bits bits.
func (c *cursor) signed(bits int) int64 {
	var v int64
	for shift := 0; shift < bits; shift += 7 {
		b := c.byte()
		v |= int64(b&0x7f) << shift
		if b < 0x80 {
			if shift+7 < 64 && b&0x40 != 0 {
				v |= -1 << (shift + 7)
			}
			if bits < 64 && (v >= 1<<(bits-1) || v < -1<<(bits-1)) {
				c.fail("byte %d: a number is above %d bits", c.at, bits)
			}
			return v
		}
	}
	c.fail("byte %d: a number has too many bytes", c.at)
	return 0
}

func (c *cursor) name() string { return string(c.bytes(c.u32())) }

func appendU32(b []byte, v uint32) []byte {
	for v >= 0x80 {
		b = append(b, byte(v)|0x80)
		v >>= 7
	}
	return append(b, byte(v))
}

func appendS32(b []byte, v int32) []byte {
	for v < -64 || v > 63 {
		b = append(b, byte(v)&0x7f|0x80)
		v >>= 7
	}
	return append(b, byte(v)&0x7f)
}

func appendName(b []byte, s string) []byte {
	return append(appendU32(b, uint32(len(s))), s...)
}
