package gate

import (
	"bytes"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"strings"
	"testing"
	"time"

	"golang.org/x/crypto/argon2"
	"pgregory.net/rapid"
)

// What the reference implementation's command line gives for "password" with the salt
// "somesalt", as the tests of golang.org/x/crypto quote it. The vector of RFC 9106,
// section 5.3, has a secret and associated data, which a PHC string has no place
// for; those tests check it too.
var reference = []struct {
	cost
	tag string
}{
	{cost{64, 1, 1}, "655ad15eac652dc59f7170a7332bf49b8469be1fdb9c28bb"},
	{cost{64, 2, 1}, "068d62b26455936aa6ebe60060b0a65870dbfa3ddf8d41f7"},
	{cost{64, 2, 2}, "350ac37222f436ccb5c0972f1ebd3bf6b958bf2071841362"},
	{cost{256, 3, 2}, "4668d30ac4187e6878eedeacf0fd83c5a0a30db2cc16ef0b"},
	{cost{4096, 4, 4}, "145db9733a9f4ee43edf33c509be96b934d505a4efb33c5a"},
	{cost{1024, 4, 8}, "8dafa8e004f8ea96bf7c0f93eecf67a6047476143d15577f"},
	{cost{64, 2, 3}, "4a15b31aec7c2590b87d1f520be7d96f56658172deaa3079"},
	{cost{1024, 3, 6}, "1640b932f4b60e272f5d2207b9a9c626ffa1bd88d2349016"},
}

func TestHashesOfTheReference(t *testing.T) {
	for _, v := range reference {
		tag, err := hex.DecodeString(v.tag)
		if err != nil {
			t.Fatal(err)
		}
		text := fmt.Sprintf("$argon2id$v=19$m=%d,t=%d,p=%d$c29tZXNhbHQ$%s", v.kib, v.passes, v.threads, base64.RawStdEncoding.EncodeToString(tag))
		h, err := parsePHC(text)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		if h.matches("password") != 1 {
			t.Errorf("%s does not match its passcode", text)
		}
		for _, wrong := range []string{"", "Password", "password ", "passwore"} {
			if h.matches(wrong) != 0 {
				t.Errorf("%s matches %q", text, wrong)
			}
		}
		if h.String() != text {
			t.Errorf("%s is written as %s", text, h)
		}
	}
}

// RFC 9106, section 4, second recommended option, and the floor of 19 MiB in two
// passes that is common practice.
func TestNewHashesAreStrong(t *testing.T) {
	if strong != (cost{kib: 1 << 16, passes: 3, threads: 4}) {
		t.Errorf("new hashes cost %+v", strong)
	}
	h := hashOf("x", weak)
	if len(h.salt) != 16 || len(h.tag) != 32 {
		t.Errorf("salt of %d bits, tag of %d", 8*len(h.salt), 8*len(h.tag))
	}
	if bytes.Equal(h.salt, hashOf("x", weak).salt) {
		t.Error("two hashes have one salt")
	}
	if testing.Short() {
		return
	}
	began := time.Now()
	g := hashOf("x", strong)
	t.Logf("one strong hash takes %v", time.Since(began))
	if !strings.HasPrefix(g.String(), "$argon2id$v=19$m=65536,t=3,p=4$") {
		t.Error(g)
	}
}

func TestPHCRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := uint8(rapid.IntRange(1, maxThread).Draw(t, "threads"))
		h := phc{
			cost: cost{kib: rapid.Uint32Range(8*uint32(p), maxKiB).Draw(t, "kib"), passes: rapid.Uint32Range(1, maxPasses).Draw(t, "passes"), threads: p},
			salt: rapid.SliceOfN(rapid.Byte(), minSalt, maxField).Draw(t, "salt"),
			tag:  rapid.SliceOfN(rapid.Byte(), minTag, maxField).Draw(t, "tag"),
		}
		got, err := parsePHC(h.String())
		if err != nil || got.cost != h.cost || !bytes.Equal(got.salt, h.salt) || !bytes.Equal(got.tag, h.tag) {
			t.Fatalf("%s comes back as %s, %v", h, got, err)
		}
	})
}

func TestPHCRefuses(t *testing.T) {
	const tag = "$ZVrRXqxlLcWfcXCnMyv0m4Rpvh/bnCi7"
	for _, s := range []string{
		"", "$", "$$$$$", "password",
		"$argon2i$v=19$m=64,t=1,p=1$c29tZXNhbHQ" + tag, // another function
		"$argon2id$v=16$m=64,t=1,p=1$c29tZXNhbHQ" + tag,
		"$argon2id$m=64,t=1,p=1$c29tZXNhbHQ" + tag,
		"$argon2id$v=19$t=1,m=64,p=1$c29tZXNhbHQ" + tag,
		"$argon2id$v=19$m=64,t=1$c29tZXNhbHQ" + tag,
		"$argon2id$v=19$m=64,t=1,p=1,x=1$c29tZXNhbHQ" + tag,
		"$argon2id$v=19$m=064,t=1,p=1$c29tZXNhbHQ" + tag,
		"$argon2id$v=19$m=+64,t=1,p=1$c29tZXNhbHQ" + tag,
		"$argon2id$v=19$m=,t=1,p=1$c29tZXNhbHQ" + tag,
		"$argon2id$v=19$m=64,t=0,p=1$c29tZXNhbHQ" + tag,
		"$argon2id$v=19$m=64,t=1,p=0$c29tZXNhbHQ" + tag,
		"$argon2id$v=19$m=64,t=1,p=9$c29tZXNhbHQ" + tag,        // less than 8 KiB a lane
		"$argon2id$v=19$m=4194304,t=1,p=1$c29tZXNhbHQ" + tag,   // all memory
		"$argon2id$v=19$m=64,t=99999999,p=1$c29tZXNhbHQ" + tag, // for ever
		"$argon2id$v=19$m=64,t=1,p=1$c29tZXNhbHQ=" + tag,       // padded
		"$argon2id$v=19$m=64,t=1,p=1$c29tZXNhbHR" + tag,        // bits past the end
		"$argon2id$v=19$m=64,t=1,p=1$c29t" + tag,               // short salt
		"$argon2id$v=19$m=64,t=1,p=1$c29tZXNhbHQ$c29t",         // short tag
		"$argon2id$v=19$m=64,t=1,p=1$c29tZXNhbHQ" + tag + "$",  // more
		"$argon2id$v=19$m=64,t=1,p=1$c29tZX\nNhbHQ" + tag,      // base64 would skip it
		" $argon2id$v=19$m=64,t=1,p=1$c29tZXNhbHQ" + tag,       // not from its beginning
		"$argon2id$v=19$m=64,t=1,p=1$c29tZXNhbHQ" + tag + "\n", // nor to its end
		"$argon2id$v=19$m=64,t=1,p=1$" + strings.Repeat("A", 200) + tag,
	} {
		if h, err := parsePHC(s); err == nil {
			t.Errorf("%q is read as %s", s, h)
		}
	}
}

func FuzzPHC(f *testing.F) {
	f.Add(hashOf("x", weak).String())
	f.Add("$argon2id$v=19$m=64,t=1,p=1$c29tZXNhbHQ$ZVrRXqxlLcWfcXCnMyv0m4Rpvh/bnCi7")
	f.Add("$argon2id$v=19$m=,t=,p=$$")
	f.Fuzz(func(t *testing.T, s string) {
		h, err := parsePHC(s)
		if err != nil {
			return
		}
		if h.String() != s {
			t.Fatalf("%q is written as %q", s, h)
		}
		if h.kib <= 64 && h.passes <= 2 { // what was read can be computed
			if tag := argon2.IDKey([]byte("x"), h.salt, h.passes, h.kib, h.threads, uint32(len(h.tag))); (h.matches("x") == 1) != bytes.Equal(tag, h.tag) {
				t.Fatalf("%q: matches and argon2 disagree", s)
			}
		}
	})
}
