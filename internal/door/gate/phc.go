package gate

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"golang.org/x/crypto/argon2"
)

// idKey is what passcodes are hashed by; a test counts it.
var idKey = argon2.IDKey

// cost is what a hash takes to compute.
type cost struct {
	kib     uint32 // memory
	passes  uint32
	threads uint8
}

// strong is the second recommended option of RFC 9106, section 4: 64 MiB in three
// passes, for machines with less memory than a server's.
var strong = cost{kib: 64 << 10, passes: 3, threads: 4}

// Salt and tag of a new hash have the lengths that the same section recommends.
const (
	saltBytes = 16
	tagBytes  = 32
)

// phc is an argon2id hash as it is kept, in the PHC string format:
//
//	$argon2id$v=19$m=65536,t=3,p=4$salt$tag
//
// Salt and tag are base64 without padding. The cost stands in the string, so that
// a later version can ask for more and still check what it finds.
type phc struct {
	cost
	salt, tag []byte
}

// hashOf hashes a passcode with fresh salt.
func hashOf(passcode string, c cost) phc {
	h := phc{cost: c, salt: make([]byte, saltBytes)}
	rand.Read(h.salt)
	h.tag = argon2.IDKey([]byte(passcode), h.salt, c.passes, c.kib, c.threads, tagBytes)
	return h
}

// noHash is what stands where no passcode is set: as costly as a hash, and of no
// passcode that anybody knows.
func noHash(c cost) phc {
	h := phc{cost: c, salt: make([]byte, saltBytes), tag: make([]byte, tagBytes)}
	rand.Read(h.salt)
	rand.Read(h.tag)
	return h
}

// matches is 1 for the right passcode and 0 for another, in a time that does not
// tell how nearly it was right.
func (h phc) matches(passcode string) int {
	tag := idKey([]byte(passcode), h.salt, h.passes, h.kib, h.threads, uint32(len(h.tag)))
	return subtle.ConstantTimeCompare(tag, h.tag)
}

func (h phc) String() string {
	b := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, h.kib, h.passes, h.threads,
		b.EncodeToString(h.salt), b.EncodeToString(h.tag))
}

// What a kept hash may ask for: a damaged one must not take all memory or never
// end.
const (
	maxKiB    = 1 << 20
	maxPasses = 64
	maxThread = 64
	minSalt   = 8
	minTag    = 16
	maxField  = 64 // bytes of salt and tag
)

var errPHC = errors.New("gate: not an argon2id hash")

// parsePHC reads a hash as [phc.String] writes it, and nothing that is written
// otherwise.
func parsePHC(s string) (phc, error) {
	f := strings.Split(s, "$")
	if len(f) != 6 || f[0] != "" || f[1] != "argon2id" || f[2] != "v="+strconv.Itoa(argon2.Version) {
		return phc{}, errPHC
	}
	p := strings.Split(f[3], ",")
	if len(p) != 3 {
		return phc{}, errPHC
	}
	var n [3]uint32
	for i, of := range []struct {
		name string
		most uint64
	}{{"m=", maxKiB}, {"t=", maxPasses}, {"p=", maxThread}} {
		digits, ok := strings.CutPrefix(p[i], of.name)
		v, err := strconv.ParseUint(digits, 10, 32)
		if !ok || err != nil || v < 1 || v > of.most || digits[0] == '0' || digits[0] == '+' {
			return phc{}, errPHC
		}
		n[i] = uint32(v)
	}
	h := phc{cost: cost{kib: n[0], passes: n[1], threads: uint8(n[2])}}
	if h.kib < 8*uint32(h.threads) { // RFC 9106, section 3.1
		return phc{}, errPHC
	}
	var err error
	if h.salt, err = field(f[4], minSalt); err != nil {
		return phc{}, err
	}
	if h.tag, err = field(f[5], minTag); err != nil {
		return phc{}, err
	}
	return h, nil
}

func field(s string, least int) ([]byte, error) {
	if len(s) > base64.RawStdEncoding.EncodedLen(maxField) || strings.ContainsAny(s, "\r\n") {
		return nil, errPHC
	}
	b, err := base64.RawStdEncoding.Strict().DecodeString(s)
	if err != nil || len(b) < least {
		return nil, errPHC
	}
	return b, nil
}
