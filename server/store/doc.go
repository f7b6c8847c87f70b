// Package store keeps the books of a data directory: entries with their chain,
// original files, chunks of readings, and who may sign in.
//
// A data directory holds swardbook.db (SQLite in write-ahead mode), files/
// (originals by their SHA-256) and swardbook.lock. One process at a time opens
// it for writing; others may open it to read. Entries are kept verbatim as
// their canonical bytes; the columns beside them are an index that Verify
// compares with them. Triggers refuse every change but the erasure of a body
// by a redaction, and Open refuses a database whose schema is not verbatim.
//
// A process killed at any instant loses nothing that was acknowledged and
// leaves nothing half-written: what belongs together is one transaction, files
// are in place before the entry that names them, and Open sweeps the rest.
package store
