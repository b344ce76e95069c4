// Command fieldfare plans an aerial filming day from one shoot folder.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"fieldfare/desk/cli"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	os.Exit(cli.Run(ctx, os.Args[1:], os.Stdout, os.Stderr))
}
