// Package api is the shop over HTTP: records, files, answers, tasks, and who
// is there. [New] gives an [API], which is an [net/http.Handler] for everything under
// /api/; /api/openapi.json describes it.
//
// Each operation is a line that says its path, its words and the least role
// that may ask for it; an operation without a role is a panic at start, never an open
// door. Errors are problem documents (RFC 9457) made from the codes of
// [fettle.Error]; anything else is our fault, is logged, and its text is not shown.
package api

import (
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"reflect"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"fettle"
	"fettle/internal/door/gate"
	"fettle/internal/shop"
	"fettle/internal/work"
)

// Shop is what a shop can be asked. Every error that a person can act on is a
// *[fettle.Error].
type Shop interface {
	Make(ctx context.Context, by, key string, r fettle.Record) (fettle.Record, error)
	Alter(ctx context.Context, by string, r fettle.Record) (fettle.Record, error)
	Delete(ctx context.Context, by string, kind fettle.RecordKind, id string, rev int64) (fettle.Record, error)
	Undo(ctx context.Context, by string, kind fettle.RecordKind, id string, rev int64) (fettle.Record, error)
	Get(ctx context.Context, kind fettle.RecordKind, id string) (fettle.Record, error)
	List(ctx context.Context, q fettle.Query) (fettle.RecordPage, error)
	History(ctx context.Context, kind fettle.RecordKind, id string) ([]fettle.Record, error)

	Shelf(ctx context.Context) (*fettle.Shelf, error)
	TakeShelf(ctx context.Context, by string, s *fettle.Shelf, seen func(now *fettle.Shelf) error) (changed int, err error)
	Logbook(ctx context.Context) (fettle.Logbook, error)
	Learned(ctx context.Context, media string) (*fettle.Learned, error)
	Judge(ctx context.Context, job string) (fettle.Fit, error)
	Today(ctx context.Context) (*shop.Today, error)
	Wear(ctx context.Context) (*shop.ShelfWear, error)
	ProposeEnvelope(ctx context.Context) (fettle.Envelope, error)
	Compare(ctx context.Context) (*shop.Comparison, error)
	Course(ctx context.Context, ask shop.CourseAsk) (*shop.Course, error)
	JobStory(ctx context.Context, id string) (*fettle.JobStory, error)

	AddFile(ctx context.Context, by, key, part, name string, r io.Reader) (fettle.Record, error)
	AddPhoto(ctx context.Context, by, key string, links map[string]string, name, says string, r io.Reader) (fettle.Record, error)
	AddReading(ctx context.Context, by, key, run string, r fettle.Reading) (fettle.Record, error)
	StartRun(ctx context.Context, by, key, job string, run fettle.Run) (fettle.Record, error)
	EndRun(ctx context.Context, by, id string, hours float64, at time.Time) (fettle.Record, error)
	ResumeRun(ctx context.Context, by, id string, rev int64) (fettle.Record, error)
	Looked(ctx context.Context, by, id string, atH float64) (fettle.Record, error)
	Steps(ctx context.Context, job string) (*shop.Steps, error)
	OfferJob(ctx context.Context, by, key, job, plan, words, until string) (fettle.Record, error)
	AnswerOffer(ctx context.Context, by, offer string, rev int64, a fettle.Answer) (fettle.Record, error)
	Promise(ctx context.Context, job string, from time.Time) (*fettle.Promise, error)
	KeepPromise(ctx context.Context, by, job string, from time.Time, move bool) (fettle.Record, *fettle.Promise, error)
	Calendar(ctx context.Context, job string) ([]byte, error)
	Accept(ctx context.Context, by, job string, how shop.Sampled) (fettle.Record, *fettle.Acceptance, error)
	FirstArticle(ctx context.Context, by, job string, line int, measured float64) (fettle.Record, *fettle.Acceptance, error)
	CheckLotOnce(ctx context.Context, by, key, job string, looked, bad int) (fettle.Record, *fettle.LotCheck, error)
	Traveler(ctx context.Context, job string, how shop.Papers) ([]byte, error)
	FirstArticlePaper(ctx context.Context, job string, how shop.Papers) ([]byte, error)
	OfferFile(ctx context.Context, offer, role string) ([]byte, error)
	PlanOf(ctx context.Context, id string) (*fettle.Plan, fettle.Record, error)
	TryPass(ctx context.Context, plan string, a work.TryPass) (work.TriedPass, []byte, error)
	SketchPass(ctx context.Context, plan string, a work.TryPass) ([]byte, error)
	Sample(ctx context.Context, by string) (fettle.Record, error)
	OpenStored(ctx context.Context, sha256 string) (io.ReadSeekCloser, fettle.Blob, error)

	AskSurvey(ctx context.Context, by, file, units, body string) (fettle.Task, error)
	AskCoarse(ctx context.Context, by, mesh string, most int) (fettle.Task, error)
	AskReach(ctx context.Context, by, file, units, body string, media []string) (fettle.Task, error)
	AskPlan(ctx context.Context, by, job, mill, paper string) (fettle.Task, error)
	AskProof(ctx context.Context, by, file, name string, program io.Reader, setup json.RawMessage) (fettle.Task, error)
	AskLearn(ctx context.Context, by string) (fettle.Task, error)
	AskPocket(ctx context.Context, by, job string, wish fettle.PocketWish) (fettle.Task, error)
	KeepPocket(ctx context.Context, by string, answer shop.PocketAnswer, id string) (fettle.Record, error)

	Pack(ctx context.Context, job string, customer, money bool, w io.Writer) error
	Unpack(ctx context.Context, by string, r io.ReaderAt, size int64) (shop.Unpacked, error)
}

// Tasks is the queue of heavy work.
type Tasks interface {
	Task(ctx context.Context, id string) (fettle.Task, error)
	List(ctx context.Context, states []fettle.TaskState, after string, limit int) ([]fettle.Task, string, error)
	Stop(ctx context.Context, id string) (fettle.Task, error)
	Again(ctx context.Context, id string) (fettle.Task, error)
	Forget(ctx context.Context, id string) error
	// Watch tells of a task now and at every change, until it is over, the
	// context is, or told returns an error.
	Watch(ctx context.Context, id string, told func(fettle.Task) error) error
}

// Safe writes backups and looks whether what is stored is whole.
type Safe interface {
	WriteBackup(ctx context.Context, w io.Writer, say func(what string, done, total int)) (fettle.BackupReport, error)
	Check(ctx context.Context, say func(what string, done, total int)) (fettle.CheckReport, error)
}

// Options of an API.
type Options struct {
	Shop  Shop
	Tasks Tasks
	Safe  Safe
	Gate  *gate.Gate
	// Healthy returns why the shop cannot work; nil: it always can.
	Healthy func(ctx context.Context) error
	// Scratch is a folder for a pack while it is read; empty: the system's.
	Scratch string
	// Base is the address at which phones reach the shop, such as
	// "https://shop.lan:8443"; empty: the one that the request came to.
	Base string
	// Program is the version of fettle.
	Program string
	Log     *slog.Logger
	// Heartbeat is how often a quiet stream of events says that it is alive; 0: 15 s.
	Heartbeat time.Duration
}

// API is the shop over HTTP.
type API struct {
	o    Options
	log  *slog.Logger
	mux  *http.ServeMux
	huma huma.API
	pace pace
	// routes are all operations, in the order they were added.
	routes []*route
}

const heartbeat = 15 * time.Second

// pace is how slowly a file may come: grace to spare, and bytes a second.
type pace struct {
	grace time.Duration
	rate  int64
}

// usual gets a file through over a poor radio link too.
var usual = pace{30 * time.Second, 16 << 10}

// New builds the API. A mistake in its tables is a panic.
func New(o Options) *API {
	if o.Shop == nil || o.Tasks == nil || o.Safe == nil || o.Gate == nil {
		panic("api: Shop, Tasks, Safe and Gate are needed")
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Heartbeat <= 0 {
		o.Heartbeat = heartbeat
	}
	a := &API{o: o, log: o.Log, mux: http.NewServeMux(), pace: usual}
	c := huma.DefaultConfig("fettle", o.Program)
	// Descriptions are served by operations like any other, without links into every
	// answer and without pages that load scripts from elsewhere.
	c.OpenAPIPath, c.DocsPath, c.SchemasPath, c.CreateHooks = "", "", "", nil
	c.Transformers = []huma.Transformer{a.dress}
	c.RejectUnknownQueryParameters = true
	c.Components.Schemas.RegisterTypeAlias(reflect.TypeFor[huma.ErrorModel](), reflect.TypeFor[Problem]())
	c.Info.Description = about
	c.Components.SecuritySchemes = map[string]*huma.SecurityScheme{
		"session": {Type: "apiKey", In: "cookie", Name: o.Gate.Cookie("").Name, Description: "Got by POST /api/session."},
	}
	a.huma = huma.NewAPI(c, &adapter{humago.NewAdapter(a.mux, "")})
	a.huma.UseMiddleware(a.admit)

	a.addRecords()
	a.addUploads()
	a.addStored()
	a.addAnswers()
	a.addCoarse()
	a.addAsks()
	a.addTasks()
	a.addShelf()
	a.addRooms()
	a.addOffers()
	a.addBench()
	a.addAgreed()
	a.addTryPass()
	a.addPockets()
	a.addPacks()
	a.addSession()
	a.addHealth()
	a.addDescription()
	a.checkRoles()
	a.mux.HandleFunc("/api/", a.nothingHere)
	return a
}

// ServeHTTP answers one request. It stands behind [gate.Gate.Wrap], which says
// who asks, gives up slow senders, and catches panics.
func (a *API) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cache-Control", revalidate)
	a.mux.ServeHTTP(w, r)
}

const about = "The tool of a small shop for cosmetic metal parts, over HTTP. " +
	"Records carry their revision as ETag: a change names the revision that was seen in If-Match (428 without, 412 when it is not the last). " +
	"A POST may carry Idempotency-Key: asked again with the same key and the same content it answers as it did. " +
	"Errors are application/problem+json (RFC 9457); errors[].location is the field at fault. " +
	"Work that takes long is a task: 202 with its address in Location, and its events as a stream. " +
	"What is wanted of meshes and maps is in buffers of little-endian numbers: the eight bytes \"FETTLE1\\n\", the length of the head as a 32-bit number, four zero bytes, " +
	"the head in UTF-8 JSON {\"about\": …, \"arrays\": [{\"name\", \"type\": \"f32\"|\"u32\"|\"i32\", \"width\", \"count\", \"at_byte\"}]}, and the arrays, each at a multiple of eight bytes from the start; see docs/api.md. " +
	"Who may what: nobody (not logged in), hand (reads everything; makes and mends runs, readings and photos; asks for and stops tasks), owner (everything); each operation says its least role as x-least-role."
