package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"fmt"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
)

// Chunk is an encoded block of one channel as it is kept.
type Chunk struct {
	Import   int64 // seq of the import entry
	Channel  string
	K        int   // 0, 1, 2 … within import and channel, in time order
	From, To int64 // UTC ms, half-open: from the first start to the end of the last reading
	Readings int
	SHA256   book.Hash // of Data
	Data     []byte    // as series.Encode wrote it
}

const chunkColumns = `s.seq, c.channel, c.k, c.t0, c.t1, c.readings, c.sha256, c.data`

// Blocks returns the blocks of a channel of one import that reach into
// [fromMs, toMs), UTC ms, in time order; whole blocks, so their first and last
// readings may lie outside. No block for an entry that is no import. Each
// chunk's SHA-256 is checked; ErrDamaged when one does not fit.
func (s *Store) Blocks(ctx context.Context, site string, importSeq int64, channel string, fromMs, toMs int64) ([]*series.Block, error) {
	var blocks []*series.Block
	rows, err := s.reader.QueryContext(ctx, `SELECT `+chunkColumns+` FROM staging AS s JOIN chunk AS c ON c.staging = s.id
		WHERE s.site = ? AND s.seq = ? AND c.channel = ? AND c.t1 > ? AND c.t0 < ? ORDER BY c.k`, site, importSeq, channel, fromMs, toMs)
	if err != nil {
		return nil, fmt.Errorf("reading channel %s of entry %d: %w", channel, importSeq, err)
	}
	err = eachChunk(rows, func(c Chunk) error {
		b, err := c.Block()
		if err != nil {
			return err
		}
		blocks = append(blocks, b)
		return nil
	})
	return blocks, err
}

// Block decodes a chunk, its SHA-256 checked.
func (c *Chunk) Block() (*series.Block, error) {
	if sha256.Sum256(c.Data) != c.SHA256 {
		return nil, damaged("readings of channel %s, entry %d, chunk %d: the SHA-256 does not fit", c.Channel, c.Import, c.K)
	}
	b, err := series.Decode(c.Data)
	if err != nil {
		return nil, damaged("readings of channel %s, entry %d, chunk %d: %w", c.Channel, c.Import, c.K, err)
	}
	if b.Len() != c.Readings || b.Len() == 0 || b.Start[0] != c.From || end(b) != c.To {
		return nil, damaged("readings of channel %s, entry %d, chunk %d: count or span differ from what is noted", c.Channel, c.Import, c.K)
	}
	b.Import = c.Import
	return b, nil
}

// Channels returns the channels an import holds readings of, sorted.
func (s *Store) Channels(ctx context.Context, site string, importSeq int64) ([]string, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT DISTINCT c.channel FROM staging AS s JOIN chunk AS c ON c.staging = s.id
		WHERE s.site = ? AND s.seq = ? ORDER BY c.channel`, site, importSeq)
	if err != nil {
		return nil, fmt.Errorf("reading the channels of entry %d: %w", importSeq, err)
	}
	defer rows.Close()
	var channels []string
	for rows.Next() {
		var c string
		if err := rows.Scan(&c); err != nil {
			return nil, fmt.Errorf("reading the channels of entry %d: %w", importSeq, err)
		}
		channels = append(channels, c)
	}
	return channels, rows.Err()
}

// Chunks calls do for every visible chunk of a site, ordered by import,
// channel and k, each with its SHA-256 checked; an error of do ends it. The
// bytes are do's to keep.
func (s *Store) Chunks(ctx context.Context, site string, do func(Chunk) error) error {
	imports, err := s.imports(ctx, site)
	if err != nil {
		return err
	}
	for _, seq := range imports {
		err := s.chunksOf(ctx, site, seq, func(c Chunk) error {
			if sha256.Sum256(c.Data) != c.SHA256 {
				return damaged("readings of channel %s, entry %d, chunk %d: the SHA-256 does not fit", c.Channel, c.Import, c.K)
			}
			return do(c)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// imports returns the seq of every entry that has readings, in order.
func (s *Store) imports(ctx context.Context, site string) ([]int64, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT seq FROM staging WHERE site = ? AND seq IS NOT NULL ORDER BY seq`, site)
	if err != nil {
		return nil, fmt.Errorf("reading the imports of %s: %w", site, err)
	}
	defer rows.Close()
	var seqs []int64
	for rows.Next() {
		var seq int64
		if err := rows.Scan(&seq); err != nil {
			return nil, fmt.Errorf("reading the imports of %s: %w", site, err)
		}
		seqs = append(seqs, seq)
	}
	return seqs, rows.Err()
}

func (s *Store) chunksOf(ctx context.Context, site string, seq int64, do func(Chunk) error) error {
	rows, err := s.reader.QueryContext(ctx, `SELECT `+chunkColumns+` FROM staging AS s JOIN chunk AS c ON c.staging = s.id
		WHERE s.site = ? AND s.seq = ? ORDER BY c.channel, c.k`, site, seq)
	if err != nil {
		return fmt.Errorf("reading the readings of entry %d: %w", seq, err)
	}
	return eachChunk(rows, do)
}

func eachChunk(rows *sql.Rows, do func(Chunk) error) error {
	defer rows.Close()
	for rows.Next() {
		var c Chunk
		var sum []byte
		if err := rows.Scan(&c.Import, &c.Channel, &c.K, &c.From, &c.To, &c.Readings, &sum, &c.Data); err != nil {
			return fmt.Errorf("reading readings: %w", err)
		}
		copy(c.SHA256[:], sum)
		if err := do(c); err != nil {
			return err
		}
	}
	if err := rows.Err(); err != nil {
		return fmt.Errorf("reading readings: %w", err)
	}
	return nil
}
