package calendar

import (
	"archive/zip"
	"bytes"
	_ "embed" // the zone release below
	"errors"
	"fmt"
	"io"
	"strings"
	"sync"
	"time"
)

// Release is the time zone release embedded in the program.
// Source: IANA time zone database, as packed with Go 1.26.8
// (lib/time/zoneinfo.zip, which is in the public domain).
const Release = "2025c"

//go:embed zoneinfo.zip
var zoneArchive []byte

// ErrNoZone is wrapped when a zone is not in the embedded release, or is a
// word such as "Local" that means another place on every machine.
var ErrNoZone = errors.New("not a time zone in the program's release " + Release)

var zones struct {
	sync.Mutex
	files  map[string]*zip.File
	loaded map[string]*time.Location
}

// LoadZone returns a zone by its IANA name, such as Europe/London, from the
// embedded release and never from the system. "UTC" is UTC; "" and "Local"
// are refused. Each name gives the same pointer every time.
func LoadZone(name string) (*time.Location, error) {
	if name == "UTC" {
		return time.UTC, nil
	}
	data, err := ZoneData(name)
	if err != nil {
		return nil, err
	}
	zones.Lock()
	defer zones.Unlock()
	if loc := zones.loaded[name]; loc != nil {
		return loc, nil
	}
	loc, err := time.LoadLocationFromTZData(name, data)
	if err != nil {
		return nil, fmt.Errorf("zone %s of release %s: %w", name, Release, err)
	}
	if zones.loaded == nil {
		zones.loaded = map[string]*time.Location{}
	}
	zones.loaded[name] = loc
	return loc, nil
}

// ZoneData returns the bytes (TZif, RFC 8536) of a zone from the embedded
// release, for keeping in the book.
func ZoneData(name string) ([]byte, error) {
	if name == "" {
		return nil, fmt.Errorf("no zone is named: give one such as Europe/London or UTC: %w", ErrNoZone)
	}
	if name == "Local" {
		return nil, fmt.Errorf("%q means another zone on every machine: name one such as Europe/London: %w", name, ErrNoZone)
	}
	file, err := zoneFile(name)
	if err != nil {
		return nil, err
	}
	r, err := file.Open()
	if err != nil {
		return nil, fmt.Errorf("zone %s: %w", name, err)
	}
	defer r.Close()
	data, err := io.ReadAll(r)
	if err != nil {
		return nil, fmt.Errorf("zone %s: %w", name, err)
	}
	return data, nil
}

func zoneFile(name string) (*zip.File, error) {
	zones.Lock()
	defer zones.Unlock()
	if zones.files == nil {
		z, err := zip.NewReader(bytes.NewReader(zoneArchive), int64(len(zoneArchive)))
		if err != nil {
			return nil, fmt.Errorf("embedded zone release: %w", err)
		}
		files := make(map[string]*zip.File, len(z.File))
		for _, f := range z.File {
			if !strings.HasSuffix(f.Name, "/") {
				files[f.Name] = f
			}
		}
		zones.files = files
	}
	f := zones.files[name]
	if f == nil {
		return nil, fmt.Errorf("%q: %w; names are written such as Europe/London", name, ErrNoZone)
	}
	return f, nil
}
