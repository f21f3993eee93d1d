package fettle

import "time"

// Session is a browser that came in and has not left.
type Session struct {
	Token string // SHA-256, lower-case hex, of what the browser holds
	Role  string
	// Made is when it came in, Seen when it last asked for something, Ends when it
	// must come in again.
	Made, Seen, Ends time.Time
	Agent            string // what the browser calls itself
}
