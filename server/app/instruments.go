package app

import (
	"context"
	"time"

	"github.com/swardbook/swardbook/compliance/judge"
)

// Instruments answers what the book says of every instrument up to now: where it
// stood, its checks and certificates, and when its readings are doubtful.
func (s *Service) Instruments(ctx context.Context, who Actor) ([]*judge.Instrument, time.Time, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, time.Time{}, err
	}
	now := s.now()
	out := []*judge.Instrument{}
	for _, ref := range judge.InstrumentRefs(snap.Record) {
		if x := judge.InstrumentOf(snap.Record, ref, now); x != nil {
			out = append(out, x)
		}
	}
	return out, now, nil
}
