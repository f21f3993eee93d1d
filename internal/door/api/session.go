package api

import (
	"context"
	"net/http"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"fettle"
	"fettle/internal/door/gate"
)

// Me is who asks.
type Me struct {
	Role string `json:"role" enum:"nobody,hand,owner"`
	// NeedsPasscode and HasPasscode decide what a page shows first.
	NeedsPasscode bool `json:"needs_passcode" doc:"nobody is logged in: ask for the passcode"`
	HasPasscode   bool `json:"has_passcode" doc:"the owner has one; without it the shop is open on its own machine only"`
}

// Passcode is what one logs in with.
type Passcode struct {
	Passcode string `json:"passcode" minLength:"1" maxLength:"1024" writeOnly:"true"`
}

// NewPasscode gives a role its passcode.
type NewPasscode struct {
	Role     string `json:"role" enum:"hand,owner"`
	Passcode string `json:"passcode" maxLength:"1024" writeOnly:"true" doc:"at least 8 characters; empty takes it away"`
}

// Inviting asks for an invite.
type Inviting struct {
	Role string `json:"role,omitempty" enum:"hand,owner" doc:"left out: hand"`
}

// Invite lets one browser in, once.
type Invite struct {
	URL string `json:"url" doc:"to open on the phone; it holds for ten minutes and works once"`
	// QR is inline, because an address that held the invite would end up in logs.
	QR string `json:"qr_svg" doc:"the same as a QR code: an SVG picture"`
}

// Accepting brings an invite.
type Accepting struct {
	Token string `json:"token" minLength:"1" maxLength:"200" writeOnly:"true" doc:"what stands behind #invite= in the address"`
}

// meOut answers with who one is from now on.
type meOut struct {
	Cookie []http.Cookie `header:"Set-Cookie"`
	Body   Me
}

func (a *API) addSession() {
	g := a.o.Gate
	add(a, route{id: "who-am-i", tag: "session", call: "GET /api/session", least: nobody, summary: "Who am I"},
		func(ctx context.Context, _ *struct{}) (*struct{ Body Me }, error) {
			me, err := a.me(ctx, a.who(ctx))
			return &struct{ Body Me }{me}, err
		})

	add(a, route{id: "log-in", tag: "session", call: "POST /api/session", least: nobody, status: http.StatusOK, summary: "Log in", fails: loginFails},
		func(ctx context.Context, in *struct {
			Bare
			Body Passcode
		}) (*meOut, error) {
			token, r, err := g.LogIn(ctx, in.r.RemoteAddr, in.Body.Passcode, in.r.UserAgent())
			return a.cameIn(ctx, token, r, err)
		})

	add(a, route{id: "accept-invite", tag: "session", call: "POST /api/session/accept", least: nobody, status: http.StatusOK, summary: "Come in by an invite", fails: loginFails},
		func(ctx context.Context, in *struct {
			Bare
			Body Accepting
		}) (*meOut, error) {
			token, r, err := g.Accept(ctx, in.r.RemoteAddr, in.Body.Token, in.r.UserAgent())
			return a.cameIn(ctx, token, r, err)
		})

	add(a, route{id: "log-out", tag: "session", call: "DELETE /api/session", least: nobody, status: http.StatusOK, summary: "Log out"},
		func(ctx context.Context, in *struct{ Bare }) (*meOut, error) {
			if err := g.LogOut(ctx, g.TokenOf(in.r)); err != nil {
				return nil, err
			}
			me, err := a.me(ctx, nobody)
			return &meOut{[]http.Cookie{*g.ClearCookie()}, me}, err
		})

	add(a, route{
		id: "set-passcode", tag: "session", call: "POST /api/session/passcode", least: owner, status: http.StatusOK, summary: "Set or take away a passcode",
		says:  "Everyone who came in as that role must log in again; who sets the owner's is logged in with it at once.",
		fails: []int{http.StatusConflict, http.StatusTooManyRequests},
	}, func(ctx context.Context, in *struct {
		Bare
		Body NewPasscode
	}) (*meOut, error) {
		r := gate.Role(in.Body.Role)
		if in.Body.Passcode == "" {
			if err := g.RemovePasscode(ctx, r); err != nil {
				return nil, err
			}
			return a.stayed(ctx)
		}
		if err := g.SetPasscode(ctx, r, in.Body.Passcode); err != nil {
			return nil, inForm(err, map[string]string{"passcode": "passcode"})
		}
		if r != gate.Owner {
			return a.stayed(ctx)
		}
		token, r, err := g.LogIn(ctx, in.r.RemoteAddr, in.Body.Passcode, in.r.UserAgent())
		return a.cameIn(ctx, token, r, err)
	})

	add(a, route{id: "invite", tag: "session", call: "POST /api/session/invite", least: owner, status: http.StatusOK, summary: "Let another browser in", fails: []int{http.StatusConflict}},
		func(ctx context.Context, in *struct {
			Bare
			Body Inviting
		}) (*struct{ Body Invite }, error) {
			r := gate.Hand
			if in.Body.Role == string(gate.Owner) {
				r = gate.Owner
			}
			url := gate.InviteURL(a.base(in.r), g.Invite(ctx, r))
			code, err := gate.NewCode(url)
			if err != nil {
				return nil, err
			}
			return &struct{ Body Invite }{Invite{url, code.SVG()}}, nil
		})

	add(a, route{
		id: "qr-code", tag: "shop", call: "GET /api/qr.svg", least: hand, summary: "A text as a QR code",
		says:    "For the address of a job on its traveler. Not for an invite, which brings its own.",
		answers: map[string]*huma.Response{"200": {Description: "The picture.", Content: bytesOf("image/svg+xml")}},
	}, func(_ context.Context, in *struct {
		Text string `query:"text" required:"true" minLength:"1" maxLength:"2331"`
	}) (*huma.StreamResponse, error) {
		code, err := gate.NewCode(in.Text)
		if err != nil {
			return nil, err
		}
		return written(func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", "image/svg+xml")
			w.Header().Set("Content-Security-Policy", closed)
			w.Write([]byte(code.SVG()))
		}), nil
	})
}

var loginFails = []int{http.StatusUnauthorized, http.StatusForbidden, http.StatusTooManyRequests}

// cameIn answers who logged in with a cookie.
func (a *API) cameIn(ctx context.Context, token string, r gate.Role, err error) (*meOut, error) {
	if err != nil {
		return nil, err
	}
	me, err := a.me(ctx, role(r))
	return &meOut{[]http.Cookie{*a.o.Gate.Cookie(token)}, me}, err
}

// stayed answers who is still who they were.
func (a *API) stayed(ctx context.Context) (*meOut, error) {
	me, err := a.me(ctx, a.who(ctx))
	return &meOut{Body: me}, err
}

func (a *API) me(ctx context.Context, r role) (Me, error) {
	set, err := a.o.Gate.HasPasscode(ctx, gate.Owner)
	return Me{Role: string(r), NeedsPasscode: r == nobody, HasPasscode: set}, err
}

// base is the address at which the shop is reached.
func (a *API) base(r *http.Request) string {
	if a.o.Base != "" {
		return strings.TrimRight(a.o.Base, "/")
	}
	scheme := "http"
	if r.TLS != nil {
		scheme = "https"
	}
	return scheme + "://" + r.Host
}

// Health is whether the shop works.
type Health struct {
	Status string `json:"status" enum:"ok"`
}

func (a *API) addHealth() {
	add(a, route{id: "health", tag: "shop", call: "GET /api/health", least: nobody, summary: "Whether the shop works", fails: []int{http.StatusServiceUnavailable}},
		func(ctx context.Context, _ *struct{}) (*struct{ Body Health }, error) {
			if a.o.Healthy != nil {
				if err := a.o.Healthy(ctx); err != nil {
					a.log.ErrorContext(ctx, "the shop is not well", "error", err)
					return nil, problem(http.StatusServiceUnavailable, fettle.Internal, "the shop cannot work; its log says why")
				}
			}
			return &struct{ Body Health }{Health{"ok"}}, nil
		})
}
