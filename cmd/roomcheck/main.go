// Command roomcheck does Lastroom's job without a screen.
package main

import (
	"bufio"
	"context"
	"os"
	"os/signal"

	"lastroom/internal/console"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	out := bufio.NewWriter(os.Stdout)
	code := console.Run(ctx, os.Args[1:], out, os.Stderr)
	if err := out.Flush(); err != nil && code == console.ExitOK {
		code = console.ExitFailed
	}
	stop()
	os.Exit(code)
}
