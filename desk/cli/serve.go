package cli

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"time"

	"fieldfare/desk/server"
)

type serveCmd struct {
	Dir    string `arg:"" help:"Shoot folder." type:"path"`
	Listen string `help:"Address on this machine." default:"127.0.0.1:8417"`
}

func (c *serveCmd) Run(s *Session) error {
	host, _, err := net.SplitHostPort(c.Listen)
	if err != nil {
		return fmt.Errorf("%q is not an address: write host and port, as in 127.0.0.1:8417", c.Listen)
	}
	if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return fmt.Errorf("%q is not on this machine: listen on 127.0.0.1 or localhost", c.Listen)
	}
	site, err := server.New(s.Context, c.Dir, Version)
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", c.Listen)
	if err != nil {
		return fmt.Errorf("cannot listen on %s: %w; choose another with --listen", c.Listen, err)
	}
	fmt.Fprintf(s.Out, "serving %s at http://%s/\n%s\n", c.Dir, listener.Addr(), SafetySentence)
	web := &http.Server{Handler: site.Handler(), ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute}
	go site.Reload(s.Context)
	go site.Watch(s.Context)
	go func() {
		<-s.Context.Done()
		ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		defer cancel()
		web.Shutdown(ctx)
	}()
	if err := web.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

type openapiCmd struct{}

func (openapiCmd) Run(s *Session) error {
	text, err := server.Document()
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.Out, "%s\n", text)
	return err
}
