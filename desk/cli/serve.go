package cli

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fieldfare/desk/house"
	"fieldfare/desk/server"
	"fieldfare/plan/shoot"
)

type serveCmd struct {
	Dir         string `arg:"" help:"Shoot folder." type:"path"`
	Listen      string `help:"Address on this machine." default:"127.0.0.1:8417"`
	Share       bool   `help:"Open the page to the local network too, over TLS with a certificate of the house that is made at the first time; phones install it once, join by a one-time code from the page, and keep the page for use out of reach."`
	Plain       bool   `help:"Share in plain text, without a certificate: whoever is on the network can listen, and phones do not keep the page out of reach."`
	Certificate string `help:"A certificate that phones trust already, to share with instead of the house's." type:"existingfile" placeholder:"PEM"`
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
	if err := c.agree(); err != nil {
		return err
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
	failed := make(chan error, 3)
	if c.Share {
		if port == "0" {
			_, port, _ = net.SplitHostPort(listener.Addr().String())
		}
		if err := c.share(s, site, web, port, failed); err != nil {
			return err
		}
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

// agree holds the options of sharing against each other.
func (c *serveCmd) agree() error {
	switch {
	case (c.Certificate == "") != (c.Key == ""):
		return errors.New("--certificate and --key belong together: give both")
	case c.Plain && c.Certificate != "":
		return errors.New("--plain shares without a certificate: leave out one of the two")
	case (c.Plain || c.Certificate != "") && !c.Share:
		return errors.New("--plain and --certificate say how the page is shared: add --share")
	}
	if c.Certificate != "" {
		if _, err := tls.LoadX509KeyPair(c.Certificate, c.Key); err != nil {
			return fmt.Errorf("--certificate %s with --key %s cannot be used: %s; give a certificate and its own key as PEM files", c.Certificate, c.Key, strings.TrimPrefix(err.Error(), "tls: "))
		}
	}
	if c.Log != "" && !strings.Contains(c.Log, "://") {
		if _, err := os.Stat(filepath.Dir(c.Log)); err != nil {
			return fmt.Errorf("--log %s has no folder to lie in: %s; make it first", c.Log, shoot.Why(err))
		}
	}
	return nil
}

// share opens the page on this machine's address of the local network.
func (c *serveCmd) share(s *Session, site *server.Server, web *http.Server, port string, failed chan<- error) error {
	ip, ok := server.LocalAddress()
	if !ok {
		return errors.New("this machine has no address on a local network: join one, or leave --share out")
	}
	address := net.JoinHostPort(ip.String(), port)
	outside, err := net.Listen("tcp", address)
	if err != nil {
		return fmt.Errorf("cannot listen on %s: %w; choose another port with --listen", address, err)
	}
	site.Shared, site.Address, site.Secure = true, address, !c.Plain
	outside = server.Limited(outside)
	if c.Plain {
		fmt.Fprintf(s.Out, "phones will reach it at %s/ once they have a code from the page; whoever is on this network can listen\n", site.Root())
		go func() { failed <- web.Serve(outside) }()
		return nil
	}
	if c.Certificate == "" {
		if err := c.trust(s, site); err != nil {
			return errors.Join(err, outside.Close())
		}
		web.TLSConfig = site.House.TLS()
	}
	fmt.Fprintf(s.Out, "phones will reach it at %s/ once they have a code from the page\n", site.Root())
	secure, plain := server.Split(outside)
	landing := &http.Server{Handler: site.Landing(), ReadHeaderTimeout: 10 * time.Second, ReadTimeout: time.Minute, WriteTimeout: time.Minute, MaxHeaderBytes: 32 << 10}
	go func() { failed <- web.ServeTLS(secure, c.Certificate, c.Key) }()
	go func() { failed <- landing.Serve(plain) }()
	return nil
}

// trust opens the house's own authority and says how phones come to know it.
func (c *serveCmd) trust(s *Session, site *server.Server) error {
	dir, err := house.Dir()
	if err != nil {
		return err
	}
	own, fresh, err := house.Open(dir, time.Now)
	if err != nil {
		return err
	}
	site.House = own
	if fresh {
		fmt.Fprintf(s.Out, "a house certificate was made and is kept in %s\n", dir)
	}
	fmt.Fprintf(s.Out, "a phone that has never been here first opens http://%s/ and installs the house certificate, only if its fingerprint is\n  %s\n", site.Address, own.Fingerprint())
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
