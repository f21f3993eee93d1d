package surface

import (
	"bufio"
	"bytes"
	"crypto/md5"
	"encoding/binary"
	"encoding/hex"
	"hash"
	"io"
	"math"
	"path"
	"strings"

	"fettle/internal/format/intake"
)

// heights reads the points.
func (r *x3p) heights() (*Surface, error) {
	n := r.w * r.h
	list := r.listed > 0
	if list && r.listed < n {
		return nil, r.fault("it says that it holds %d points and holds %d", n, r.listed)
	}
	var points pointSource
	if list {
		points = &textPoints{r: r, left: r.datum}
	} else {
		b, err := r.openPoints(int64(n))
		if err != nil {
			return nil, err
		}
		defer b.Close()
		points = b
	}
	f := newFiller(r.w, r.h, r.x.increment*1000, r.y.increment*1000)
	f.m.X0, f.m.Y0 = offset(r.x.offset*1000), offset(r.y.offset*1000)
	if r.z.data == "F" {
		f.m.Base, f.based = offset(r.z.offset*1000), true // single precision holds no more than we do
	}
	valid, err := r.valid(n)
	if err != nil {
		return nil, err
	}
	var px, py *places
	if r.x.kind == "A" {
		px = newPlaces(r.w)
	}
	if r.y.kind == "A" && r.h > 1 {
		py = newPlaces(r.h)
	}
	for i := range n {
		x, y, z, err := points.next()
		if err != nil {
			return nil, err
		}
		if px != nil {
			px.see(i%r.w, r.x.offset+x*r.x.increment)
		}
		if py != nil {
			py.see(i/r.w, r.y.offset+y*r.y.increment)
		}
		if valid == nil || valid[i>>3]>>(i&7)&1 == 1 {
			f.put(i, (r.z.offset+z*r.z.increment)*1000)
		}
	}
	if err := points.finish(); err != nil {
		return nil, err
	}
	for _, a := range []struct {
		p      *places
		name   string
		x0, dx *float64
	}{{px, "x", &f.m.X0, &f.m.DX}, {py, "y", &f.m.Y0, &f.m.DY}} {
		if a.p == nil {
			continue
		}
		from, step, ok := a.p.even()
		if !ok {
			return nil, &intake.Fault{Format: x3pName, What: "its points do not lie evenly along " + a.name, Try: "export it on a grid with an even spacing"}
		}
		*a.x0, *a.dx = from*1000, step*1000
	}
	return f.done(r.out)
}

// pointSource gives the stored values of one point after the other; those of
// incremental axes are 0, a missing height is not-a-number.
type pointSource interface {
	next() (x, y, z float64, err error)
	finish() error
}

// textPoints reads the DataList of main.xml: values of the absolute axes
// between semicolons, nothing for a missing point.
type textPoints struct {
	r    *x3p
	left []byte
	i    int // points read
}

func (t *textPoints) next() (x, y, z float64, err error) {
	text, left, _ := bytes.Cut(t.left, []byte{'\n'})
	t.left = left
	t.i++
	x, y, z = math.NaN(), math.NaN(), math.NaN()
	if len(text) == 0 {
		return
	}
	fields := bytes.Split(text, []byte{';'})
	var to []*float64
	for _, a := range []struct {
		axis axis
		v    *float64
	}{{t.r.x, &x}, {t.r.y, &y}, {t.r.z, &z}} {
		if a.axis.kind == "A" {
			to = append(to, a.v)
		}
	}
	if len(fields) != len(to) {
		return x, y, z, t.r.fault("point %d has %d values in place of %d", t.i, len(fields), len(to))
	}
	for k, f := range fields {
		f = bytes.TrimSpace(f)
		if len(f) == 0 {
			continue
		}
		v, ok := intake.ParseFloat(f)
		if !ok {
			return x, y, z, t.r.fault("point %d has %q in place of a number", t.i, intake.Printable(f))
		}
		*to[k] = v
	}
	return
}

func (t *textPoints) finish() error { return nil }

// binaryPoints reads the binary file of points as it unpacks: the values of
// the absolute axes one after the other, least significant byte first.
type binaryPoints struct {
	r     *x3p
	key   string
	in    *bufio.Reader
	zip   io.ReadCloser
	sum   hash.Hash
	bytes int // of one point
	buf   [24]byte
}

// beside is the key of a part that main.xml links to.
func (r *x3p) beside(link string) string {
	key := intake.ArchiveKey(link)
	if dir := path.Dir(r.main); dir != "." && !r.archive.Has(key) {
		key = intake.ArchiveKey(dir + "/" + link)
	}
	return key
}

func (r *x3p) openPoints(n int64) (*binaryPoints, error) {
	link := r.text["Record3/DataLink/PointDataLink"]
	if link == "" {
		return nil, r.fault("it holds no points and links to none")
	}
	b := &binaryPoints{r: r, key: r.beside(link), sum: md5.New()}
	for _, a := range []axis{r.x, r.y, r.z} {
		if a.kind != "A" {
			continue
		}
		if a.bytes() == 0 {
			return nil, r.fault("an absolute axis stores its values as %q, which is none of I, L, F and D", intake.Printable([]byte(a.data)))
		}
		b.bytes += a.bytes()
	}
	z, err := r.archive.Stream(b.key, n*int64(b.bytes))
	if err != nil {
		return nil, err
	}
	b.zip = z
	b.in = bufio.NewReaderSize(io.TeeReader(z, b.sum), 1<<16)
	return b, nil
}

func (b *binaryPoints) Close() { b.zip.Close() }

func (b *binaryPoints) next() (x, y, z float64, err error) {
	buf := b.buf[:b.bytes]
	if _, err := io.ReadFull(b.in, buf); err != nil {
		return 0, 0, 0, b.r.archive.Damaged(b.key)
	}
	for _, a := range []struct {
		axis *axis
		v    *float64
	}{{&b.r.x, &x}, {&b.r.y, &y}, {&b.r.z, &z}} {
		if a.axis.kind != "A" {
			continue
		}
		switch a.axis.data {
		case "I":
			*a.v = float64(int16(binary.LittleEndian.Uint16(buf)))
		case "L":
			*a.v = float64(int32(binary.LittleEndian.Uint32(buf)))
		case "F":
			*a.v = float64(math.Float32frombits(binary.LittleEndian.Uint32(buf)))
		case "D":
			*a.v = math.Float64frombits(binary.LittleEndian.Uint64(buf))
		}
		buf = buf[a.axis.bytes():]
	}
	return
}

// finish reads what is left, so that the zip file's own sum over all bytes is
// checked, and compares the checksum of main.xml.
func (b *binaryPoints) finish() error {
	left, err := io.Copy(io.Discard, io.LimitReader(b.in, intake.MaxBytes))
	if err != nil {
		return b.r.archive.Damaged(b.key)
	}
	if left > 0 && b.r.layers == 0 {
		b.r.out.note("%d bytes behind the last point were left out", left)
	}
	b.r.check("Record3/DataLink/MD5ChecksumPointData", b.sum.Sum(nil), "the points")
	return nil
}

// valid reads the mask of points that were measured: a bit each in the order of
// the points, the lowest of a byte first; nil where there is none.
func (r *x3p) valid(n int) ([]byte, error) {
	link := r.text["Record3/DataLink/ValidPointsLink"]
	if link == "" || r.listed > 0 {
		return nil, nil
	}
	key, need := r.beside(link), (n+7)/8
	z, err := r.archive.Stream(key, int64(need))
	if err != nil {
		return nil, err
	}
	defer z.Close()
	sum := md5.New()
	mask := make([]byte, need)
	in := io.TeeReader(z, sum)
	if _, err := io.ReadFull(in, mask); err != nil {
		return nil, r.archive.Damaged(key)
	}
	if _, err := io.Copy(io.Discard, io.LimitReader(in, intake.MaxBytes)); err != nil {
		return nil, r.archive.Damaged(key)
	}
	r.check("Record3/DataLink/MD5ChecksumValidPoints", sum.Sum(nil), "the mask of measured points")
	return mask, nil
}

// check compares a checksum. One that differs is told and not refused: the zip
// file's own sums have already shown that no byte was lost on the way, so the
// file was edited after it was summed, or its writer sums other bytes.
func (r *x3p) check(at string, sum []byte, what string) {
	if want := r.text[at]; want != "" && !strings.EqualFold(want, hex.EncodeToString(sum)) {
		r.out.note("the checksum of %s does not match; the file was changed after it was written, or written carelessly", what)
	}
}

// checkMain compares the checksum of main.xml with the file that Record4 names.
func (r *x3p) checkMain(doc []byte) {
	link := r.text["Record4/ChecksumFile"]
	if link == "" || !r.archive.Has(r.beside(link)) {
		return
	}
	text, err := r.archive.Unpack(r.beside(link))
	if err != nil {
		return // it can say nothing
	}
	want, _, _ := strings.Cut(strings.TrimSpace(string(text[:min(len(text), 200)])), " ")
	sum := md5.Sum(doc)
	if !strings.EqualFold(want, hex.EncodeToString(sum[:])) {
		r.out.note("the checksum of main.xml does not match; the file was changed after it was written, or written carelessly")
	}
}

// places are the coordinates of the columns or the rows of a grid that stores
// them with every point.
type places struct {
	at      []float64
	unequal float64 // the farthest that two points of the same column lie apart
}

func newPlaces(n int) *places {
	p := &places{at: make([]float64, n)}
	for i := range p.at {
		p.at[i] = math.NaN()
	}
	return p
}

func (p *places) see(i int, v float64) {
	switch {
	case v != v:
	case p.at[i] != p.at[i]:
		p.at[i] = v
	default:
		p.unequal = max(p.unequal, math.Abs(v-p.at[i]))
	}
}

// even gives the first place and the step where the places lie evenly, to 1 %
// of the step.
func (p *places) even() (from, step float64, ok bool) {
	a, b := -1, -1
	for i, v := range p.at {
		if v == v {
			if a < 0 {
				a = i
			}
			b = i
		}
	}
	if a < 0 || a == b {
		return 0, 0, false
	}
	step = (p.at[b] - p.at[a]) / float64(b-a)
	from = p.at[a] - float64(a)*step
	if !(step > 0) || p.unequal > 0.01*step {
		return from, step, false
	}
	for i, v := range p.at {
		if v == v && math.Abs(v-from-float64(i)*step) > 0.01*step {
			return from, step, false
		}
	}
	return from, step, true
}
