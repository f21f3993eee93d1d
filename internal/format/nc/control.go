package nc

import (
	"context"
	"math"
)

// control is the state of a machine's control that follows a program.
type control struct {
	ctx    context.Context
	data   []byte
	opt    Options
	p      *Program
	pos    int   // of the next block
	line   int32 // of the next block
	b      block // the present one
	steps  int
	budget int  // of steps
	last   spot // the block before the present one
	err    error
	done   bool
	begun  bool // a block or the program number was met
	good   int  // words that are a program's
	odd    int  // things that are not
	known  map[noteKey]int
	modes  map[Mode]int32

	// at is where the tool is in the work offset, machine where it is in machine
	// coordinates; each in mm, NaN where not known.
	at, machine [3]float64
	shift       [3]float64 // local and preset together
	local       [3]float64 // of G52
	preset      [3]float64 // of G92
	unit        float64    // mm per unit of the words
	unitSet     bool
	incremental bool
	distanceSet bool
	absCentre   bool // G90.1
	polar       bool // G16
	toInitial   bool // false after G99
	plane       Plane
	motion      int32 // 0 to 3; -1 before the first
	cycle       cycle
	exact       bool

	mode      Mode // but for Feed and Speed, which feed and speed make
	current   int32
	dirty     bool // mode has changed since current was found
	feedBy    int32
	feed      float64 // mm/min, mm a turn, or one over minutes
	speed     float64
	length    int  // the last H
	lengthOn  bool // G43
	inCycle   bool // the moves being made are a drilling cycle's
	nextTool  int
	toolAt    spot // where T stood first
	firstInch bool
	sawInch   bool
	sawMM     bool

	frames  []frame
	called  map[uint32]bool // offsets of the subprograms that were
	loops   []loop
	locals  *[34]float64
	params  map[int64]float64
	names   map[string]float64
	marks   *index
	expects int     // depth of the expression being read
	fresh   []int64 // parameters set in the present block
}

// block is one block of words.
type block struct {
	start int   // offset of its text
	line  int32 // of its text
	has   uint32
	bare  uint32 // letters whose number, not zero, has no decimal point
	used  uint32 // letters that did something
	axes  uint32 // scratch of exec: axis words that are still to move
	val   [26]float64
	from  [26]uint32 // offsets of the words
	g     [maxWords]int32
	m     [maxWords]int32
	gn    int
	mn    int
	jump  jump
	to    int64 // label or loop number of a jump
	over  bool  // the program ends before this block: a tape mark, or the next program
	// strange says that a G or M word of the block is not followed; what its other
	// words mean is then not known either.
	strange bool
	murky   bool      // likewise, but nothing moves by it
	words   [3]uint32 // how often the letters I, J and K stand in it, for macro calls
}

// spot is where a block stands.
type spot struct {
	start int
	line  int32
}

// maxWords is how many G or M words one block may hold.
const maxWords = 20

// Letters as bits, A the lowest.
const (
	bA = 1 << 0
	bB = 1 << 1
	bC = 1 << 2
	bD = 1 << 3
	bF = 1 << 5
	bH = 1 << 7
	bI = 1 << 8
	bJ = 1 << 9
	bK = 1 << 10
	bL = 1 << 11
	bP = 1 << 15
	bQ = 1 << 16
	bR = 1 << 17
	bS = 1 << 18
	bT = 1 << 19
	bU = 1 << 20
	bV = 1 << 21
	bW = 1 << 22
	bX = 1 << 23
	bY = 1 << 24
	bZ = 1 << 25

	bAxes   = bX | bY | bZ
	bCentre = bI | bJ | bK
)

// axisBit is the letter of each axis.
var axisBit = [3]uint32{bX, bY, bZ}

// centreBit is the letter of each axis of an arc's centre.
var centreBit = [3]uint32{bI, bJ, bK}

// planeAxes are the two axes of each plane in the order that makes the third
// one right-handed (ISO 841), and that third one.
var planeAxes = [3][3]int{XY: {0, 1, 2}, ZX: {2, 0, 1}, YZ: {1, 2, 0}}

// read returns the number of a letter, if it stands in the block, and counts
// it as used.
func (b *block) read(bit uint32, letter byte) (float64, bool) {
	if b.has&bit == 0 {
		return 0, false
	}
	b.used |= bit
	return b.val[letter-'A'], true
}

// whole turns the number of a word into an integer; false where it is none.
func whole(v float64) (int64, bool) {
	if !(math.Abs(v) < 1e15) {
		return 0, false
	}
	r := math.Round(v)
	return int64(r), math.Abs(v-r) < 1e-6
}

// blank marks the bytes that a control passes over: blanks, tape leader, rub
// out, the start and stop marks of serial lines and the end mark of old text
// files.
var blank = [256]bool{0: true, '\t': true, '\v': true, '\f': true, ' ': true,
	0x11: true, 0x12: true, 0x13: true, 0x14: true, 0x1a: true, 0x7f: true}

// closes marks the bytes after which a number has surely ended.
var closes = func() (t [256]bool) {
	for ch := 'A'; ch <= 'Z'; ch++ {
		t[ch], t[ch|0x20] = true, true
	}
	for _, ch := range "\r\n(;/#" {
		t[ch] = true
	}
	return t
}()
