package handover

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/server/seal"
)

// Result says what was written.
type Result struct {
	Upto     int64 // last entry it holds
	Members  int
	Bytes    int64
	SHA256   book.Hash     // of the pack
	Manifest book.Hash     // SHA-256 of the manifest, which names every other member
	Report   *judge.Report // roll-ups, without windows
}

// Write seals a pack. The same input gives the same bytes; what is written when
// it fails is no pack. Entries at the end that only say that packs were made
// stay out of it.
func Write(ctx context.Context, w io.Writer, in Input) (*Result, error) {
	p, err := in.packed()
	if err != nil {
		return nil, err
	}
	j, err := p.open(in.Sources, in.Quantities, judge.Options{At: in.At})
	if err != nil {
		return nil, err
	}
	z, err := seal.NewWriter(w, in.Temp)
	if err != nil {
		return nil, err
	}
	defer z.Abandon()
	s := &sealing{ctx: ctx, in: &in, packed: p, z: z}
	if err := s.originals(); err != nil {
		return nil, err
	}
	if err := s.readings(); err != nil {
		return nil, err
	}
	in.tell(0.5, "judging the whole book")
	f := facts{program: in.Program, fingerprint: in.Key.Fingerprint(), files: s.files, runs: s.runs}
	if err := derive(p, j, f, in.Kinds, s); err != nil {
		return nil, err
	}
	in.tell(0.9, "sealing")
	m := &manifest{site: p.site, upto: p.last().Seq, head: p.last().Hash, at: j.report.At, rules: int64(j.report.Rules), layout: Layout,
		program: in.Program, fingerprint: f.fingerprint, withheld: in.Withhold, members: s.members}
	return s.close(m, j.report)
}

// sealing is one pack being written.
type sealing struct {
	ctx context.Context
	in  *Input
	*packed
	z           *seal.Writer
	members     []member
	files, runs int
}

// add takes a member; want is its hash when that is known beforehand.
func (s *sealing) add(name, media, what string, r io.Reader) (member, error) {
	if err := s.ctx.Err(); err != nil {
		return member{}, err
	}
	m, err := s.z.Add(name, r)
	if err != nil {
		return member{}, err
	}
	one := member{name, media, what, m.Size, m.SHA256}
	s.members = append(s.members, one)
	return one, nil
}

// originals adds every original the entries name, once. One that a redaction
// erased is left out.
func (s *sealing) originals() error {
	first := map[book.Hash]*book.Entry{}
	gone := map[book.Hash]bool{} // named by nothing but entries whose files were erased
	var order []book.Hash
	for _, e := range s.entries {
		for _, h := range e.Files {
			if first[h] == nil {
				first[h], gone[h] = e, true
				order = append(order, h)
			}
			gone[h] = gone[h] && s.filesErased(e)
		}
	}
	for i, h := range order {
		s.in.tell(0.05+0.4*float64(i)/float64(len(order)), fmt.Sprintf("taking in original %d of %d", i+1, len(order)))
		if err := s.original(h, first[h], gone[h]); err != nil {
			return fmt.Errorf("original %s of entry %d: %w", h, first[h].Seq, err)
		}
	}
	if zone := s.zone(); zone != (book.Hash{}) && !gone[zone] {
		return s.zoneCopy(zone)
	}
	return nil
}

func (s *sealing) original(h book.Hash, e *book.Entry, gone bool) error {
	r, err := s.in.Record.OpenFile(s.ctx, h)
	if err != nil {
		if gone {
			return nil
		}
		return err
	}
	m, err := s.add(filesDir+h.String(), "application/octet-stream", fmt.Sprintf("original, first named by entry %d", e.Seq), r)
	if err := errors.Join(err, r.Close()); err != nil {
		return err
	}
	if m.sum != h {
		return errors.New("it is not what its hash says; the data directory is damaged: run swardbook verify --data")
	}
	s.files++
	return nil
}

// zoneCopy adds the rules of the site's time zone once more under their name.
func (s *sealing) zoneCopy(h book.Hash) error {
	r, err := s.in.Record.OpenFile(s.ctx, h)
	if err != nil {
		return fmt.Errorf("rules of the time zone: %w", err)
	}
	_, err = s.add(s.zoneMember(), "application/tzif", "rules of the site's time zone (TZif, RFC 8536)", r)
	return errors.Join(err, r.Close())
}

// readings adds the chunks of every channel of every import, and their list.
func (s *sealing) readings() error {
	s.in.tell(0.45, "taking in readings")
	var index []run
	err := gather(s.ctx, s.in.Record, s.last().Seq, func(k channelKey, data [][]byte) error {
		all, runs, err := joined(k, data)
		if err != nil {
			return err
		}
		index = append(index, runs...)
		_, err = s.add(k.member(), "application/octet-stream", fmt.Sprintf("readings of %s from entry %d", k.channel, k.seq), bytes.NewReader(all))
		return err
	})
	if err != nil {
		return err
	}
	s.runs = len(index)
	return put(s, chunksName, "text/csv", "where each run of readings begins", func(w io.Writer) error { return writeRuns(w, index) })
}

// create makes a member that is written bit by bit.
func (s *sealing) create(name, media, what string) (io.WriteCloser, error) {
	if err := s.ctx.Err(); err != nil {
		return nil, err
	}
	out, err := s.z.Create(name)
	if err != nil {
		return nil, err
	}
	return &written{out, s, media, what}, nil
}

func (s *sealing) judgement(*judge.Judgement, []byte) {}

// written is a member that joins the manifest's list when it is closed.
type written struct {
	*seal.Stream
	s           *sealing
	media, what string
}

// Close ends the member.
func (w *written) Close() error {
	if err := w.Stream.Close(); err != nil {
		return err
	}
	m := &w.Member
	w.s.members = append(w.s.members, member{m.Name, w.media, w.what, m.Size, m.SHA256})
	return nil
}

// close writes manifest and sums and seals the pack.
func (s *sealing) close(m *manifest, report *judge.Report) (*Result, error) {
	text := m.text()
	if _, err := s.add(manifestName, "application/json", "the list of every member", bytes.NewReader(text)); err != nil {
		return nil, err
	}
	if _, err := s.add(sumsName, "text/plain", "hashes for sha256sum -c", bytes.NewReader(sums(s.members))); err != nil {
		return nil, err
	}
	done, err := s.z.Close(s.in.Key)
	if err != nil {
		return nil, err
	}
	s.in.tell(1, "sealed")
	return &Result{Upto: s.last().Seq, Members: done.Members, Bytes: done.Bytes, SHA256: done.SHA256, Manifest: hashOf(text), Report: report}, nil
}

// zone returns the hash of the zone's rules that the site entry names, zero
// when it names none.
func (p *packed) zone() book.Hash {
	_, h := p.zoneEntry()
	return h
}

func (p *packed) zoneMember() string {
	name, _ := p.zoneEntry()
	return zoneDir + name
}

// zoneEntry reads the last site entry in force.
func (p *packed) zoneEntry() (name string, rules book.Hash) {
	view, err := book.NewView(p.entries)
	if err != nil {
		return "", rules
	}
	list := view.Current("site.1")
	for i := len(list) - 1; i >= 0; i-- {
		if list[i].Body == nil {
			continue
		}
		rules, err := book.ParseHash(list[i].Body.Text("zone_data"))
		if err != nil {
			return "", book.Hash{}
		}
		return list[i].Body.Text("zone"), rules
	}
	return "", rules
}
