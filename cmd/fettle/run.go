package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"strings"

	"fettle"
	"fettle/internal/format/brep"
	"fettle/internal/work"

	"github.com/alecthomas/kong"
)

// face is the whole command line.
type face struct {
	JSON    bool   `help:"One JSON document on standard output; words and progress go to standard error."`
	Quiet   bool   `short:"q" help:"No progress and no words beyond the answer."`
	Display string `help:"Units to show: metric or inch." placeholder:"SYSTEM"`
	place
	Debug  bool   `help:"Log what the doors do to standard error." hidden:""`
	Kernel string `name:"brep-kernel" help:"Module to read STEP files with, in place of the one in this program." placeholder:"FILE"`

	Demo     demoCmd     `cmd:"" help:"Make the sample shop and its parts, and plan the first of them end to end."`
	Survey   surveyCmd   `cmd:"" help:"What is this part? Size, openings, corners, zones."`
	Cusp     cuspCmd     `cmd:"" help:"What a ball leaves: cusps, feed marks, facets; minutes against micrometres."`
	Reach    reachCmd    `cmd:"" help:"Where media get, what stays as cut, what jams, how edges go."`
	Plan     planCmd     `cmd:"" help:"From a model and a brief to a route, a price and the papers."`
	Proof    proofCmd    `cmd:"" help:"What will this NC program do and leave? Set-up, blank, time, surface."`
	Block    blockCmd    `cmd:"" help:"A formed sanding block for a zone, its stroke and its fit."`
	Jaw      jawCmd      `cmd:"" help:"A pocket in soft jaws: what to cut, where, and whether it will hold."`
	Plug     plugCmd     `cmd:"" help:"A soft plug for an opening that media would stay in."`
	Texture  textureCmd  `cmd:"" help:"Ra, Sa and the other numbers of a measured or simulated surface, its lay and marks."`
	Learn    learnCmd    `cmd:"" help:"What the shop's own log says: each number before and after, and what to read next."`
	Job      jobCmd      `cmd:"" help:"Jobs: new, list, show, plan, offer, answer."`
	Run      runCmd      `cmd:"" help:"Runs in the logbook: start, end, list."`
	Read     readCmd     `cmd:"" help:"Log a reading of a run: Ra, a grade, grams, a mark gone, pieces that jammed."`
	Serve    serveCmd    `cmd:"" help:"The shop's web door, on this machine or on the shop's network."`
	Work     workCmd     `cmd:"" help:"A worker beside fettle serve, on PostgreSQL."`
	Envelope envelopeCmd `cmd:"" help:"What the shop takes: sizes, weight, materials, finishes, lots."`
	Passcode passcodeCmd `cmd:"" help:"Set the passcode of the owner or of a hand."`
	Backup   backupCmd   `cmd:"" help:"Everything that the shop keeps, in one file, verified."`
	Restore  restoreCmd  `cmd:"" help:"Take a backup; what was there is kept."`
	Check    checkCmd    `cmd:"" help:"Is all that the shop keeps as it was stored?"`
	Pack     packCmd     `cmd:"" help:"A job as one file for a partner shop."`
	Unpack   unpackCmd   `cmd:"" help:"Take a partner's pack onto this shop's shelf."`
	Shelf    shelfCmd    `cmd:"" help:"What is on the shelf: alloys, finishes, cutters, grits, media, barrels, jaws."`
	Ver      verCmd      `cmd:"" name:"version" help:"Which build this is."`
}

// exits is what every command's help ends with.
const exits = `Exit status: 0 done, 1 the answer is no, 2 bad use, 3 bad file, 4 our fault.`

// streams are where a command writes: the answer to out, all else to err.
type streams struct {
	out, err io.Writer
	json     bool
	quiet    bool
	display  fettle.System
	kernel   *brep.Kernel // reads STEP files
	place    place
	log      *slog.Logger
}

// modelFlags are what a model file may not say itself.
type modelFlags struct {
	Units string `help:"Unit of the model's numbers where the file does not say: mm, inch, m, cm, micron, ft." placeholder:"UNIT"`
	Body  string `help:"Body to take where the model file holds several: its name or number." placeholder:"BODY"`
}

// model is a model file with what was said about it.
func (f modelFlags) model(s *streams, file string, up [3]float64) work.Model {
	return work.Model{File: file, Units: f.Units, Body: f.Body, Up: up, Kernel: s.kernel}
}

// run is the program without its process: what the tests call.
func run(ctx context.Context, args []string, out, errw io.Writer) (status int) {
	defer func() {
		if r := recover(); r != nil {
			fmt.Fprintf(errw, "fettle: something went wrong that is our fault (%v); please report it with the command you gave\n", r)
			status = 4
		}
	}()
	var f face
	exited := -1
	parser, err := kong.New(&f,
		kong.Name("fettle"),
		kong.Description("From the customer's model to a finish the customer signs off.\n\n"+exits),
		kong.Writers(out, errw),
		kong.Exit(func(code int) { exited = code }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true}),
	)
	if err != nil {
		fmt.Fprintln(errw, "fettle:", err)
		return 4
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	kctx, err := parser.Parse(args)
	if exited >= 0 { // --help wrote its page
		return exited
	}
	if err != nil {
		fmt.Fprintf(errw, "fettle: %s; see fettle --help\n", strings.TrimSuffix(err.Error(), "."))
		return 2
	}
	var display fettle.System // unset unless asked, so that a brief may choose
	if f.Display != "" {
		display, err = fettle.ParseSystem(f.Display)
	}
	if err == nil {
		kctx.BindTo(ctx, (*context.Context)(nil))
		kernel := brep.Default()
		if f.Kernel != "" {
			kernel = brep.New(brep.Options{File: f.Kernel})
			defer kernel.Close(context.WithoutCancel(ctx))
		}
		log := slog.New(slog.DiscardHandler)
		if f.Debug {
			log = slog.New(slog.NewTextHandler(errw, &slog.HandlerOptions{Level: slog.LevelDebug}))
		}
		err = kctx.Run(&streams{out, errw, f.JSON, f.Quiet, display, kernel, f.place, log})
	}
	if err == nil {
		return 0
	}
	return complain(errw, err)
}

// complain says in one sentence what went wrong.
func complain(w io.Writer, err error) int {
	if errors.Is(err, context.Canceled) {
		fmt.Fprintln(w, "fettle: stopped; nothing half-written was left")
		return 2
	}
	status := fettle.ExitStatus(err)
	if status == 4 {
		fmt.Fprintf(w, "fettle: something went wrong that is our fault: %v\n", err)
		return status
	}
	var e *fettle.Error
	errors.As(err, &e)
	fmt.Fprintf(w, "fettle: %s\n", e.Message)
	return status
}

// answer writes a document as JSON, or words.
func (s *streams) answer(doc any, words func() string) error {
	if !s.json {
		_, err := io.WriteString(s.out, words())
		return err
	}
	enc := json.NewEncoder(s.out)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(doc)
}

// progress writes what long work is doing to standard error, unless asked to
// be quiet.
func (s *streams) progress() work.Progress {
	if s.quiet {
		return nil
	}
	return func(doing string, done, total int) {
		fmt.Fprintf(s.err, "%d/%d %s\n", done+1, total, doing)
	}
}
