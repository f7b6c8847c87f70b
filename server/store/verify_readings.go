package store

import (
	"database/sql"
	"fmt"

	"github.com/swardbook/swardbook/compliance/series"
)

// readings checks every chunk, and hands each entry with its readings to the
// check given.
func (v *verifying) readings() error {
	seqs := map[int64]bool{}
	err := v.each(func(rows *sql.Rows) error {
		var seq int64
		if err := rows.Scan(&seq); err != nil {
			return err
		}
		if v.bySeq[seq] == nil {
			v.entryFault(seq, "readings are kept for it, but it cannot be read")
		}
		seqs[seq] = true
		return nil
	}, `SELECT seq FROM staging WHERE site = ? AND seq IS NOT NULL ORDER BY seq`, v.site)
	if err != nil {
		return err
	}
	v.report.Imports = len(seqs)
	for _, e := range v.entries {
		var kept map[string][]*series.Block
		if seqs[e.Seq] {
			if kept, err = v.readingsOf(e.Seq); err != nil {
				return err
			}
		}
		if v.o.Readings == nil {
			continue
		}
		for _, what := range v.o.Readings(e, kept) {
			v.entryFault(e.Seq, "%s", what)
		}
	}
	return nil
}

// readingsOf reads the chunks of one import, noting what is wrong with them.
func (v *verifying) readingsOf(seq int64) (map[string][]*series.Block, error) {
	kept := map[string][]*series.Block{}
	rows, err := v.tx.QueryContext(v.ctx, `SELECT `+chunkColumns+` FROM staging AS s JOIN chunk AS c ON c.staging = s.id
		WHERE s.site = ? AND s.seq = ? ORDER BY c.channel, c.k`, v.site, seq)
	if err != nil {
		return nil, err
	}
	err = eachChunk(rows, func(c Chunk) error {
		where := fmt.Sprintf("entry %d, readings of channel %s", seq, c.Channel)
		v.report.Chunks++
		v.report.Readings += int64(c.Readings)
		b, err := c.Block()
		if err != nil {
			v.fault(where, "%s", err)
			return nil
		}
		before := kept[c.Channel]
		if c.K != len(before) {
			v.fault(where, "chunk %d stands where chunk %d belongs", c.K, len(before))
		}
		if n := len(before); n > 0 && before[n-1].Start[before[n-1].Len()-1] >= b.Start[0] {
			v.fault(where, "chunk %d does not come after the one before it", c.K)
		}
		kept[c.Channel] = append(before, b)
		return nil
	})
	return kept, err
}
