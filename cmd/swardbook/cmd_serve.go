package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"syscall"
	"time"

	"github.com/swardbook/swardbook/frontend"
	"github.com/swardbook/swardbook/server"
	"github.com/swardbook/swardbook/server/api"
	"github.com/swardbook/swardbook/server/jobs"
)

const serveHelp = `Usage: swardbook serve --data DIR [options]

Serves the pages and the API of a kept book until it is stopped (Ctrl-C).

  --data DIR           the data directory
  --site ID            which site, where the data directory holds several
  --listen HOST:PORT   default 127.0.0.1:8440; other machines reach it only when
                       HOST says so, and should do so over TLS
  --tls-cert FILE      certificate chain in PEM
  --tls-key FILE       its key in PEM
  --watch DIR          take the files that loggers leave in DIR: it holds a folder
                       for each logger that was set up, by name

Loggers are set up in the pages, under Book. What they send is on the disk when
it is answered, counts at once, and is part of the book after each UTC hour.

Who may sign in: "swardbook help user".

Example: swardbook serve --data site-data

Exit codes: 0 stopped, 1 failed, 2 wrong call.
`

func runServe(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	f := flags("serve")
	data, site, listen := f.String("data", "", ""), f.String("site", "", ""), f.String("listen", "127.0.0.1:8440", "")
	cert, key, watched := f.String("tls-cert", "", ""), f.String("tls-key", "", ""), f.String("watch", "", "")
	words, code, ended := parse(f, args, serveHelp, stdout, stderr)
	if ended {
		return code
	}
	if *data == "" || len(words) > 0 {
		return usageError(stderr, "serve", "it needs --data DIR and no further words")
	}
	if (*cert == "") != (*key == "") {
		return usageError(stderr, "serve", "--tls-cert and --tls-key go together")
	}
	err := serve(serving{data: *data, site: *site, listen: *listen, cert: *cert, key: *key, watch: *watched, stderr: stderr, ready: func(h *server.House, address string) error {
		_, _ = fmt.Fprintf(stdout, "site %s is served on %s\n", h.Site, address)
		return nil
	}})
	if err != nil {
		return failed(stderr, "serve", err)
	}
	return exitDone
}

// serving is how a book is served.
type serving struct {
	data, site, listen, cert, key string
	watch                         string // folder that loggers leave files in; "" = none
	// atLeastNow holds the server's clock back to nothing earlier: the
	// demonstration's story may lie ahead of the machine's clock.
	atLeastNow time.Time
	stderr     io.Writer
	ready      func(h *server.House, address string) error
}

func (s *serving) now() time.Time {
	if t := time.Now(); t.After(s.atLeastNow) {
		return t
	}
	return s.atLeastNow
}

func serve(s serving) (err error) {
	h, err := server.Open(s.data, server.Options{Site: s.site, Now: s.now})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, h.Close()) }()
	packs, err := server.OpenPacks(h, version)
	if err != nil {
		return err
	}
	if !frontend.Built() {
		_, _ = fmt.Fprintln(s.stderr, "the pages are not built into this program: run \"make web\" and build again; the API answers")
	}
	queue := jobs.New()
	defer queue.Close()
	site := &api.Server{Config: api.Config{Secure: s.cert != "", Version: version}, App: h.App, People: h.People, Loggers: h.Loggers, Jobs: queue, Packs: packs, Pages: frontend.Pages()}
	var watch *server.Watch
	if s.watch != "" {
		if watch, err = server.NewWatch(s.watch, h.Loggers); err != nil {
			return err
		}
	}
	listener, err := net.Listen("tcp", s.listen)
	if err != nil {
		return err
	}
	scheme := "http"
	if s.cert != "" {
		pair, err := tls.LoadX509KeyPair(s.cert, s.key)
		if err != nil {
			return errors.Join(err, listener.Close())
		}
		listener = tls.NewListener(listener, &tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"}})
		scheme = "https"
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if _, err := h.App.Current(ctx); err != nil { // judged before the first page asks
		return errors.Join(err, listener.Close())
	}
	if err := s.ready(h, scheme+"://"+listener.Addr().String()); err != nil {
		return errors.Join(err, listener.Close())
	}
	tended := make(chan struct{})
	go func() {
		defer close(tended)
		tend(ctx, h, watch)
	}()
	err = attend(ctx, h, listener, site.Handler())
	stop()
	<-tended
	return err
}

// tendEvery is how often the spools and the watched folder are looked at.
const tendEvery = 5 * time.Second

// tend makes part of the book what loggers sent and left, until the context ends.
func tend(ctx context.Context, h *server.House, watch *server.Watch) {
	tick := time.NewTicker(tendEvery)
	defer tick.Stop()
	said := ""
	for {
		err := h.Loggers.Seal(ctx)
		if watch != nil {
			err = errors.Join(err, watch.Look(ctx))
		}
		if err != nil && ctx.Err() == nil && err.Error() != said {
			slog.Error("what loggers sent", "cause", err)
			said = err.Error()
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// attend serves until the context ends, then lets requests finish.
func attend(ctx context.Context, h *server.House, l net.Listener, handler http.Handler) error {
	web := &http.Server{Handler: handler, ReadHeaderTimeout: 5 * time.Second, IdleTimeout: time.Minute}
	failed := make(chan error, 1)
	go func() { failed <- web.Serve(l) }()
	tick := time.NewTicker(5 * time.Minute)
	defer tick.Stop()
	for {
		select {
		case err := <-failed:
			return err
		case <-tick.C:
			_ = h.Store.Checkpoint(ctx)
			_, _ = h.App.Current(ctx) // verdicts that time alone has changed
		case <-ctx.Done():
			wait, cancel := context.WithTimeout(context.Background(), 3*time.Second)
			defer cancel()
			if err := web.Shutdown(wait); err != nil {
				return errors.Join(web.Close())
			}
			return nil
		}
	}
}
