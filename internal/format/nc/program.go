// Package nc reads programs of machining centres in the word address format of
// ISO 6983-1: what moves they make, with which tool, offset, speed and feed,
// line by line.
//
// [Read] follows a program as a control would, subprograms and drilling cycles
// included, and gives its moves as straight lines and arcs with lengths in mm.
// What it does not understand it names, with the line and what follows from
// leaving it out; nothing is skipped in silence. Hostile input stops here.
//
// Where controls differ, one way is taken and a note says so: numbers without
// a decimal point are whole millimetres or inches; P of a dwell is in
// milliseconds without a point and in seconds with one; the last of two words
// of one group counts; blanks inside numbers are passed over; parameters are
// set as they are read; what an unset parameter holds is not known. M5, M9 and
// stops act when the move of their block is done, everything else before it.
// A change of work offset, length or tool, a move in machine coordinates and a
// call that cannot be followed leave coordinates unknown until words set them
// again. Subprograms (M98, M97) and macros (G65) are followed when they stand
// in the same file.
package nc

// Program is what a program does.
type Program struct {
	Number string // "O1001", the word after the percent sign; empty where there is none
	Title  string // the first comment
	Inch   bool   // the unit that was in force at the first move
	Mixed  bool   // both units are in force at some move
	Lines  int    // of text
	// Moves are in the order they are made, cycles and subprograms written out.
	Moves []Move
	Arcs  []Arc   // that moves point to
	Modes []Mode  // that moves point to
	Notes []Note  // worst first, then by line
	Order []Event // tool changes, spindle, coolant, stops and the end, in order
}

// Kind is how a move is made.
type Kind uint8

// The kinds of moves.
const (
	Rapid Kind = iota // G0: not along a straight line on every machine
	Cut               // G1
	Bend              // G2 and G3, helices included
	Dwell             // G4: no distance; To is From
)

// Move is one move of the tool's tip (with its length offset taken, as G43
// does), in mm in the work offset that its mode names. A coordinate that no word
// has set yet is NaN.
type Move struct {
	From, To [3]float64
	Seconds  float64 // of a dwell
	Line     int32   // of the text, from 1
	Mode     int32   // index into Modes
	Arc      int32   // index into Arcs; -1 for a straight move
	Kind     Kind
	Cycle    bool // made by a drilling cycle
	Known    bool // all of From and To are known
	Home     bool // to the machine's reference point (G28, G30): where that is, the program does not say
}

// Arc is the round of a move in its plane.
type Arc struct {
	Centre [3]float64 // mm, at the height of the start
	Radius float64    // mm, at the start
	// Turn is the angle from start to end in radians, positive counter-clockwise
	// as seen from the plane's positive third axis (ISO 841).
	Turn  float64
	Plane Plane
	// MissMM is by how much the end misses the circle through the start.
	MissMM float64
}

// Plane is the plane of arcs and cycles.
type Plane uint8

// The planes.
const (
	XY Plane = iota // G17
	ZX              // G18
	YZ              // G19
)

// Mode is what stays in force over many moves.
type Mode struct {
	Tool    int     // T, 0 before the first
	Length  int     // H of G43, 0 for none
	Offset  string  // "G54", "G54.1 P3"; "G53" for machine coordinates; "" before any was called
	Inch    bool    // unit of the words
	Feed    float64 // mm/min; for feed per turn, worked out with the spindle speed; 0: none given yet
	PerTurn bool    // G95
	Speed   float64 // spindle, turns a minute; 0 stopped
	Turning int8    // +1 M3, -1 M4, 0 stopped
	Exact   bool    // G61 or G9: stops at the end of each move
	Coolant bool
}

// Weight says how bad a note is.
type Weight uint8

// The weights, worst first.
const (
	Broken  Weight = iota // what follows cannot be trusted
	Unknown               // not understood: something happens that is not in Moves
	Plain                 // good to know
)

// Note is something that a person should know, told once for each distinct
// word.
type Note struct {
	Line   int // of the first time
	Weight Weight
	Text   string // the word or block as it stands in the program
	Says   string // what it means for what follows, a sentence
	Count  int    // how many times it was met, repeats of subprograms and loops included
}

// Event is something that happens between moves.
type Event struct {
	Line int
	// Before is the index of the move that follows.
	Before int
	What   What
	Value  float64 // tool number, turns a minute, or the offset's register
}

// What is the kind of an event.
type What uint8

// The events.
const (
	ToolChange   What = iota // M6
	SpindleOn                // M3, M4, M13, M14
	SpindleOff               // M5
	Stop                     // M0
	OptionalStop             // M1
	End                      // M2, M30
)
