package app

import (
	"context"
	"time"
)

// Site is the place a book is kept for.
type Site struct {
	ID, Name, Grid, Datum string
	Zone                  *time.Location
	Epoch, Seq            int64
	Notices               []SiteNotice
}

// SiteNotice names a notice on file.
type SiteNotice struct{ Reference, Type, IssuedBy string }

// Site answers what every screen needs to know of the place.
func (s *Service) Site(ctx context.Context, who Actor) (*Site, error) {
	snap, err := s.own(ctx, who)
	if err != nil {
		return nil, err
	}
	site, body := snap.Record.Site(), snap.siteBody()
	out := &Site{ID: snap.Info.ID, Name: site.Name, Grid: text(body, "grid"), Datum: text(body, "datum"), Zone: site.Zone, Epoch: snap.Info.Epoch, Seq: snap.Info.Seq}
	if !who.Role.May(Read) {
		return out, nil
	}
	notices, err := snap.notices()
	if err != nil {
		return nil, internal("reading the notices", err)
	}
	for _, n := range notices {
		out.Notices = append(out.Notices, SiteNotice{n.Reference, n.Type, n.IssuedBy})
	}
	return out, nil
}
