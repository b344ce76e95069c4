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
	Dir         string `arg:"" help:"Shoot folder." type:"path"`
	Listen      string `help:"Address on this machine." default:"127.0.0.1:8417"`
	Share       bool   `help:"Open the page to the local network too; phones join by a one-time code from the page."`
	Certificate string `help:"Certificate to serve the shared page over TLS; phones then keep it for use out of reach." type:"existingfile" placeholder:"PEM"`
	Key         string `help:"Its private key." type:"existingfile" placeholder:"PEM"`
	Log         string `help:"The logbook: a file, made if absent, or postgres://... shared by several crews; logbook.db in the shoot folder where left out." env:"FIELDFARE_LOG" placeholder:"FILE|URL"`
}

func (c *serveCmd) Run(s *Session) error {
	host, port, err := net.SplitHostPort(c.Listen)
	if err != nil {
		return fmt.Errorf("%q is not an address: write host and port, as in 127.0.0.1:8417", c.Listen)
	}
	if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return fmt.Errorf("%q is not on this machine: listen on 127.0.0.1 or localhost, and add --share to let phones in", c.Listen)
	}
	site, err := server.New(s.Context, c.Dir, Version)
	if err != nil {
		return err
	}
	defer site.Close()
	if c.Log != "" {
		site.Log = c.Log
	}
	listener, err := net.Listen("tcp", c.Listen)
	if err != nil {
		return fmt.Errorf("cannot listen on %s: %w; choose another with --listen", c.Listen, err)
	}
	web := &http.Server{Handler: site.Handler(), ReadHeaderTimeout: 10 * time.Second, ReadTimeout: time.Minute, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 32 << 10}
	if (c.Certificate == "") != (c.Key == "") {
		return errors.New("--certificate and --key belong together: give both")
	}
	site.Secure = c.Certificate != ""
	failed := make(chan error, 2)
	if c.Share {
		if port == "0" {
			_, port, _ = net.SplitHostPort(listener.Addr().String())
		}
		outside, err := share(site, port)
		if err != nil {
			return err
		}
		fmt.Fprintf(s.Out, "phones will reach it at %s/ once they have a code from the page\n", site.Root())
		go func() {
			if site.Secure {
				failed <- web.ServeTLS(server.Limited(outside), c.Certificate, c.Key)
				return
			}
			failed <- web.Serve(server.Limited(outside))
		}()
	}
	fmt.Fprintf(s.Out, "serving %s at http://%s/\n%s\n", c.Dir, listener.Addr(), SafetySentence)
	go func() { _ = site.Reload(s.Context) }() // the page shows what is wrong
	go func() {
		if err := site.Watch(s.Context); err != nil {
			fmt.Fprintln(s.Err, "fieldfare: the folder is not watched:", err)
		}
	}()
	go func() { failed <- web.Serve(server.Limited(listener)) }()
	select {
	case <-s.Context.Done():
		ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		defer cancel()
		return web.Shutdown(ctx)
	case err := <-failed:
		if errors.Is(err, http.ErrServerClosed) {
			return nil
		}
		return err
	}
}

// share opens the page on this machine's address of the local network.
func share(site *server.Server, port string) (net.Listener, error) {
	ip, ok := server.LocalAddress()
	if !ok {
		return nil, errors.New("this machine has no address on a local network: join one, or leave --share out")
	}
	address := net.JoinHostPort(ip.String(), port)
	listener, err := net.Listen("tcp", address)
	if err != nil {
		return nil, fmt.Errorf("cannot listen on %s: %w; choose another port with --listen", address, err)
	}
	site.Shared, site.Address = true, address
	return listener, nil
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
