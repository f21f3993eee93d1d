package api

import (
	"context"
	"errors"
	"io"
	"mime"
	"net"
	"net/http"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"fettle"
	"fettle/internal/door/gate"
	"fettle/internal/shop"
)

const (
	bytesType = "application/octet-stream"
	mostPack  = shop.MostModel
)

// sent is a body that is read as it comes, up to a limit.
type sent struct {
	r    io.Reader
	left int64
	most int64
	err  error // what ended it early
}

// take begins to read a body of one of these types.
func (a *API) take(b *Bare, most int64, types ...string) (*sent, error) {
	if has := b.r.Header.Get("Content-Type"); has != "" {
		if t, _, err := mime.ParseMediaType(has); err != nil || !slices.Contains(types, t) {
			return nil, wrong(http.StatusUnsupportedMediaType, "header.Content-Type", "a body of type %q cannot be taken here; send the file as it is, as %s", has, strings.Join(types, " or "))
		}
	}
	if b.r.ContentLength > most {
		return nil, tooLarge(most)
	}
	return &sent{r: a.steady(b), left: most, most: most}, nil
}

// steady is a body that is given up where it comes too slowly.
func (a *API) steady(b *Bare) io.Reader { return gate.Steady(b.w, b.r.Body, a.pace.grace, a.pace.rate) }

func tooLarge(most int64) error {
	return wrong(http.StatusRequestEntityTooLarge, "body", "this is larger than the %d MiB that are taken; send a smaller file", most>>20)
}

// Read reads on. Past the limit it fails, so that nothing is taken for whole that is not.
func (s *sent) Read(p []byte) (int, error) {
	if s.err != nil {
		return 0, s.err
	}
	if int64(len(p)) > s.left+1 { // one byte more shows that there is more
		p = p[:s.left+1]
	}
	n, err := s.r.Read(p)
	if int64(n) > s.left {
		s.err = tooLarge(s.most)
		return int(s.left), s.err
	}
	s.left -= int64(n)
	if err != nil && err != io.EOF {
		s.err = brokenOff(err)
		err = s.err
	}
	return n, err
}

// brokenOff says why a body ended before its end.
func brokenOff(err error) error {
	var timeout net.Error
	if errors.As(err, &timeout) && timeout.Timeout() {
		return wrong(http.StatusRequestTimeout, "body", "the file came too slowly and was given up; send it again where the connection is better")
	}
	return wrong(http.StatusBadRequest, "body", "the file broke off before its end; send it again")
}

// or is why the body could not be read, where that is so, else err: what the shop
// makes of a broken file is not the cause.
func (s *sent) or(err error) error {
	if err != nil && s.err != nil {
		return s.err
	}
	return err
}

// rawBody describes a body of bytes.
func rawBody(says string, types ...string) *huma.RequestBody {
	return &huma.RequestBody{Description: says, Required: true, Content: bytesOf(types...)}
}

func (a *API) addUploads() {
	add(a, route{
		id: "add-file", tag: "files", call: "POST /api/parts/{id}/files", least: owner, status: http.StatusCreated, fills: "links.part",
		summary: "Add a version of a part's model",
		says:    "The body is the file as it is: STEP, STL, 3MF, OBJ, PLY or OFF, up to 512 MiB. It is stored as it comes; what is in it, its survey tells. The same file under the same name again is the version that is there.",
		fails:   []int{http.StatusNotFound, http.StatusConflict}, body: rawBody("The model file.", bytesType),
	}, func(ctx context.Context, in *struct {
		Bare
		ByID
		ByKey
		Name string `query:"name" required:"true" minLength:"1" maxLength:"1000" doc:"the file's name; its ending says what it is"`
	}) (*keptOut[fettle.ModelFile], error) {
		body, err := a.take(&in.Bare, shop.MostModel, bytesType)
		if err != nil {
			return nil, err
		}
		r, err := a.o.Shop.AddFile(ctx, a.by(ctx), in.Key, in.ID, in.Name, body)
		return out[fettle.ModelFile](r, body.or(inBody(err, nil)), true)
	})

	add(a, route{
		id: "add-photo", tag: "photos", call: "POST /api/photos", least: hand, status: http.StatusCreated,
		summary: "Add a photo",
		says:    "The body is a JPEG or PNG, by what is in it, up to 32 MiB.",
		fails:   []int{http.StatusConflict}, body: rawBody("The picture.", "image/jpeg", "image/png", bytesType),
	}, func(ctx context.Context, in *struct {
		Bare
		ByKey
		Job   string `query:"job" maxLength:"64" doc:"of this job"`
		Run   string `query:"run" maxLength:"64" doc:"of this run"`
		Offer string `query:"offer" maxLength:"64" doc:"of this offer"`
		Name  string `query:"name" maxLength:"1000" doc:"the file's name"`
		Says  string `query:"says" maxLength:"2000" doc:"what it shows"`
	}) (*keptOut[fettle.Photo], error) {
		body, err := a.take(&in.Bare, shop.MostPhoto, "image/jpeg", "image/png", bytesType)
		if err != nil {
			return nil, err
		}
		links := map[string]string{}
		for role, id := range map[string]string{"job": in.Job, "run": in.Run, "offer": in.Offer} {
			if id != "" {
				links[role] = id
			}
		}
		r, err := a.o.Shop.AddPhoto(ctx, a.by(ctx), in.Key, links, in.Name, in.Says, body)
		return out[fettle.Photo](r, body.or(inQuery(err)), true)
	})
}

// inQuery is inBody for links that stand in the query.
func inQuery(err error) error {
	err = inBody(err, nil)
	var f *faulty
	if errors.As(err, &f) {
		if role, is := strings.CutPrefix(f.field, "body.links."); is {
			return &faulty{f.error, "query." + role}
		}
	}
	return err
}
