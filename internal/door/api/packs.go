package api

import (
	"bufio"
	"context"
	"errors"
	"io"
	"net/http"
	"os"

	"github.com/danielgtaylor/huma/v2"

	"fettle"
	"fettle/internal/shop"
)

func (a *API) addPacks() {
	add(a, route{
		id: "pack-job", tag: "jobs", call: "GET /api/jobs/{id}/pack", least: owner, summary: "A job as a file for a partner shop",
		says: "With the model, the plan and its recipe; customer and money only on request.", fails: []int{http.StatusNotFound, http.StatusConflict},
		answers: map[string]*huma.Response{"200": {Description: "The pack.", Content: bytesOf(bytesType)}},
	}, func(ctx context.Context, in *struct {
		ByID
		Customer bool `query:"customer" doc:"with who it is for"`
		Money    bool `query:"money" doc:"with what it costs"`
	}) (*huma.StreamResponse, error) {
		rec, err := a.o.Shop.Get(ctx, fettle.KeptJob, in.ID)
		if err != nil {
			return nil, err
		}
		return a.stream(ctx, "pack-job", rec.Name+".pack.zip", func(w io.Writer) error {
			return a.o.Shop.Pack(ctx, in.ID, in.Customer, in.Money, w)
		})
	})

	add(a, route{
		id: "unpack", tag: "jobs", call: "POST /api/packs", least: owner, status: http.StatusCreated, summary: "Take in a partner shop's pack",
		says:  "It becomes a job here, its recipe is laid over this shelf, and it is judged beside the envelope.",
		fails: []int{http.StatusConflict}, body: rawBody("The pack.", bytesType, "application/zip"),
	}, func(ctx context.Context, in *struct{ Bare }) (*struct {
		Location string `header:"Location" doc:"the job"`
		Body     shop.Unpacked
	}, error) {
		body, err := a.take(&in.Bare, mostPack, bytesType, "application/zip")
		if err != nil {
			return nil, err
		}
		f, err := os.CreateTemp(a.o.Scratch, "pack-*")
		if err != nil {
			return nil, fettle.Errorf(fettle.Full, "there is no room for the pack in the workspace: %w; free some and try again", err)
		}
		defer os.Remove(f.Name())
		defer f.Close()
		n, err := io.Copy(f, body)
		if err != nil {
			return nil, body.or(fettle.Errorf(fettle.Full, "the pack could not be put down: %w; free some room and try again", err))
		}
		u, err := a.o.Shop.Unpack(ctx, a.by(ctx), f, n)
		if err != nil {
			return nil, err
		}
		return &struct {
			Location string `header:"Location" doc:"the job"`
			Body     shop.Unpacked
		}{pathOf(fettle.KeptJob) + "/" + u.Job, u}, nil
	})

	add(a, route{
		id: "backup", tag: "shop", call: "GET /api/backup", least: owner, summary: "Everything that the shop keeps, as one file",
		says: "As it is now, while work goes on. A backup that breaks off is none: its end is missing.", fails: []int{http.StatusInsufficientStorage},
		answers: map[string]*huma.Response{"200": {Description: "The backup.", Content: bytesOf(bytesType)}},
	}, func(ctx context.Context, _ *struct{}) (*huma.StreamResponse, error) {
		return a.stream(ctx, "backup", "shop.backup", func(w io.Writer) error {
			_, err := a.o.Safe.WriteBackup(ctx, w, nil)
			return err
		})
	})

	add(a, route{id: "check", tag: "shop", call: "POST /api/check", least: owner, status: http.StatusOK, summary: "Look whether what is stored is whole"},
		func(ctx context.Context, _ *struct{}) (*struct{ Body fettle.CheckReport }, error) {
			r, err := a.o.Safe.Check(ctx, nil)
			return &struct{ Body fettle.CheckReport }{r}, err
		})
}

// stream answers with a file as it is made. What fails before the first bytes is a
// problem; after them the connection is broken off, so that nobody takes half
// a file for a whole one.
func (a *API) stream(ctx context.Context, id, name string, write func(io.Writer) error) (*huma.StreamResponse, error) {
	r, w := io.Pipe()
	go func() { w.CloseWithError(write(w)) }()
	from := bufio.NewReaderSize(r, 64<<10)
	if _, err := from.Peek(1); err != nil && err != io.EOF {
		return nil, err
	}
	return written(func(rw http.ResponseWriter, _ *http.Request) {
		// The maker goes when nobody reads on.
		defer r.CloseWithError(context.Canceled)
		h := rw.Header()
		h.Set("Content-Type", bytesType)
		h.Set("Content-Disposition", disposition(false, name))
		h.Set("Content-Security-Policy", closed)
		h.Set("Cache-Control", "no-store")
		_, err := io.Copy(rw, from)
		if err == nil {
			return
		}
		if ctx.Err() == nil && !errors.Is(err, context.Canceled) {
			a.log.ErrorContext(ctx, "a file broke off while it was made", "operation", id, "error", err)
		}
		panic(http.ErrAbortHandler)
	}), nil
}
