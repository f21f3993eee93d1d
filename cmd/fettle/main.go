// Command fettle takes a cosmetic metal part from the customer's model to a
// finish that the customer signs off: what the cutter will leave, what to sand
// and tumble it with, what it costs and when it is done.
//
// Each command is a file: an options struct and a Run method that calls one
// use case in internal/work and shows its answer, as words or, with --json, as
// one document.
package main

import (
	"context"
	"os"
	"os/signal"
	_ "time/tzdata" // calendars know their zones on machines that have none
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	status := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}
