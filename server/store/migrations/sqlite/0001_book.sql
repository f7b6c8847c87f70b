-- The book of each site: entries, the head of the chain, indexes drawn from
-- the envelopes, original files, chunks of readings, and who may sign in.
-- Instants are milliseconds since 1970-01-01T00:00:00Z.

-- +goose Up
CREATE TABLE site (
    id           TEXT    NOT NULL PRIMARY KEY,
    created      INTEGER NOT NULL,
    epoch        INTEGER NOT NULL CHECK (epoch >= 1),
    checked_seq  INTEGER NOT NULL,
    checked_hash BLOB    NOT NULL CHECK (length(checked_hash) = 32)
) STRICT, WITHOUT ROWID;

CREATE TABLE entry (
    n          INTEGER PRIMARY KEY,
    site       TEXT    NOT NULL REFERENCES site (id),
    seq        INTEGER NOT NULL CHECK (seq >= 1),
    id         TEXT    NOT NULL CHECK (length(id) = 32),
    kind       TEXT    NOT NULL,
    at         INTEGER NOT NULL,
    until      INTEGER,
    recorded   INTEGER NOT NULL,
    by_person  TEXT    NOT NULL,
    supersedes TEXT,
    envelope   BLOB    NOT NULL,
    prev       BLOB    NOT NULL CHECK (length(prev) = 32),
    hash       BLOB    NOT NULL CHECK (length(hash) = 32),
    salt       BLOB,
    body       BLOB,
    erased_by  INTEGER,
    CHECK ((salt IS NULL) = (body IS NULL)),
    CHECK (erased_by IS NULL OR body IS NULL)
) STRICT;

CREATE UNIQUE INDEX entry_seq ON entry (site, seq);
CREATE UNIQUE INDEX entry_id ON entry (site, id);
CREATE UNIQUE INDEX entry_supersedes ON entry (site, supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX entry_kind ON entry (site, kind, seq);

CREATE TABLE head (
    site TEXT    NOT NULL PRIMARY KEY REFERENCES site (id),
    seq  INTEGER NOT NULL CHECK (seq >= 0),
    hash BLOB    NOT NULL CHECK (length(hash) = 32)
) STRICT, WITHOUT ROWID;

CREATE TABLE entry_place (
    site  TEXT    NOT NULL,
    place TEXT    NOT NULL,
    seq   INTEGER NOT NULL,
    PRIMARY KEY (site, place, seq),
    FOREIGN KEY (site, seq) REFERENCES entry (site, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE file (
    sha256      BLOB    NOT NULL PRIMARY KEY CHECK (length(sha256) = 32),
    bytes       INTEGER NOT NULL CHECK (bytes >= 0),
    kept        INTEGER NOT NULL,
    erased_site TEXT,
    erased_by   INTEGER,
    CHECK ((erased_site IS NULL) = (erased_by IS NULL))
) STRICT, WITHOUT ROWID;

CREATE TABLE entry_file (
    site   TEXT    NOT NULL,
    seq    INTEGER NOT NULL,
    n      INTEGER NOT NULL,
    sha256 BLOB    NOT NULL REFERENCES file (sha256),
    PRIMARY KEY (site, seq, n),
    FOREIGN KEY (site, seq) REFERENCES entry (site, seq)
) STRICT, WITHOUT ROWID;

CREATE INDEX entry_file_sha256 ON entry_file (sha256);

-- A staging holds the chunks of one import. It is invisible until seq names
-- the import entry.
CREATE TABLE staging (
    id   INTEGER PRIMARY KEY,
    site TEXT    NOT NULL REFERENCES site (id),
    seq  INTEGER
) STRICT;

CREATE UNIQUE INDEX staging_seq ON staging (site, seq) WHERE seq IS NOT NULL;

CREATE TABLE chunk (
    n       INTEGER PRIMARY KEY,
    staging INTEGER NOT NULL REFERENCES staging (id),
    channel TEXT    NOT NULL,
    k       INTEGER NOT NULL CHECK (k >= 0),
    t0      INTEGER NOT NULL,
    t1      INTEGER NOT NULL CHECK (t1 > t0),
    readings INTEGER NOT NULL CHECK (readings >= 1),
    sha256  BLOB    NOT NULL CHECK (length(sha256) = 32),
    data    BLOB    NOT NULL
) STRICT;

CREATE UNIQUE INDEX chunk_order ON chunk (staging, channel, k);

-- What has to be derived again: a place ('' = the site as a whole) over
-- [since, till] because of one entry.
CREATE TABLE dirty (
    n     INTEGER PRIMARY KEY,
    site  TEXT    NOT NULL REFERENCES site (id),
    seq   INTEGER NOT NULL,
    kind  TEXT    NOT NULL,
    place TEXT    NOT NULL,
    since INTEGER NOT NULL,
    till  INTEGER NOT NULL
) STRICT;

CREATE TABLE account (
    id       TEXT    NOT NULL PRIMARY KEY,
    name     TEXT    NOT NULL UNIQUE,
    display  TEXT    NOT NULL,
    role     TEXT    NOT NULL,
    secret   TEXT    NOT NULL,
    disabled INTEGER NOT NULL CHECK (disabled IN (0, 1))
) STRICT, WITHOUT ROWID;

CREATE TABLE login (
    token_hash TEXT    NOT NULL PRIMARY KEY,
    person     TEXT    NOT NULL REFERENCES account (id),
    csrf       TEXT    NOT NULL,
    expires    INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- Guards. REPLACE removes rows without a DELETE trigger, hence the INSERT
-- guards; an unset INTEGER PRIMARY KEY reads as -1 there.

-- +goose StatementBegin
CREATE TRIGGER site_stays BEFORE DELETE ON site
BEGIN SELECT RAISE(ABORT, 'a site is never deleted'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER site_keeps BEFORE UPDATE ON site
WHEN NEW.id IS NOT OLD.id OR NEW.created IS NOT OLD.created OR NEW.epoch < OLD.epoch
BEGIN SELECT RAISE(ABORT, 'a site keeps its id and its day of creation, and its epoch only rises'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER site_once BEFORE INSERT ON site
WHEN EXISTS (SELECT 1 FROM site WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'the site is there already'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER entry_stays BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'an entry is never deleted'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER entry_once BEFORE INSERT ON entry
WHEN NEW.erased_by IS NOT NULL
  OR EXISTS (SELECT 1 FROM entry WHERE n = NEW.n)
  OR EXISTS (SELECT 1 FROM entry WHERE site = NEW.site AND seq = NEW.seq)
  OR EXISTS (SELECT 1 FROM entry WHERE site = NEW.site AND id = NEW.id)
  OR EXISTS (SELECT 1 FROM entry WHERE site = NEW.site AND supersedes = NEW.supersedes)
BEGIN SELECT RAISE(ABORT, 'an entry is never replaced'); END;
-- +goose StatementEnd

-- The one change an entry may see: a redaction received after it takes its
-- body and salt.
-- +goose StatementBegin
CREATE TRIGGER entry_keeps BEFORE UPDATE ON entry
WHEN NOT (
      NEW.n IS OLD.n AND NEW.site IS OLD.site AND NEW.seq IS OLD.seq AND NEW.id IS OLD.id
  AND NEW.kind IS OLD.kind AND NEW.at IS OLD.at AND NEW.until IS OLD.until
  AND NEW.recorded IS OLD.recorded AND NEW.by_person IS OLD.by_person
  AND NEW.supersedes IS OLD.supersedes AND NEW.envelope IS OLD.envelope
  AND NEW.prev IS OLD.prev AND NEW.hash IS OLD.hash
  AND OLD.body IS NOT NULL AND OLD.erased_by IS NULL
  AND NEW.body IS NULL AND NEW.salt IS NULL AND NEW.erased_by > OLD.seq
  AND EXISTS (SELECT 1 FROM entry AS r WHERE r.site = OLD.site AND r.seq = NEW.erased_by AND r.kind GLOB 'redaction.*'))
BEGIN SELECT RAISE(ABORT, 'an entry is never changed; only a redaction may erase its body'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER head_stays BEFORE DELETE ON head
BEGIN SELECT RAISE(ABORT, 'the head of a book is never deleted'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER head_once BEFORE INSERT ON head
WHEN EXISTS (SELECT 1 FROM head WHERE site = NEW.site)
BEGIN SELECT RAISE(ABORT, 'the head of a book is never replaced'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER head_moves BEFORE UPDATE ON head
WHEN NOT (
      NEW.site IS OLD.site AND NEW.seq > OLD.seq
  AND EXISTS (SELECT 1 FROM entry WHERE site = NEW.site AND seq = NEW.seq AND hash = NEW.hash))
BEGIN SELECT RAISE(ABORT, 'the head of a book only moves on to a later entry'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER entry_place_stays BEFORE DELETE ON entry_place
BEGIN SELECT RAISE(ABORT, 'the place of an entry is never deleted'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER entry_place_keeps BEFORE UPDATE ON entry_place
BEGIN SELECT RAISE(ABORT, 'the place of an entry is never changed'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER entry_file_stays BEFORE DELETE ON entry_file
BEGIN SELECT RAISE(ABORT, 'the file of an entry is never deleted'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER entry_file_keeps BEFORE UPDATE ON entry_file
BEGIN SELECT RAISE(ABORT, 'the file of an entry is never changed'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER file_stays BEFORE DELETE ON file
WHEN EXISTS (SELECT 1 FROM entry_file WHERE sha256 = OLD.sha256)
BEGIN SELECT RAISE(ABORT, 'a file that an entry names is never deleted'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER file_once BEFORE INSERT ON file
WHEN EXISTS (SELECT 1 FROM file WHERE sha256 = NEW.sha256)
BEGIN SELECT RAISE(ABORT, 'the file is there already'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER file_keeps BEFORE UPDATE ON file
WHEN NOT (
      NEW.sha256 IS OLD.sha256 AND NEW.bytes IS OLD.bytes
  AND OLD.erased_by IS NULL
  AND (NEW.erased_by IS NULL
    OR EXISTS (SELECT 1 FROM entry WHERE site = NEW.erased_site AND seq = NEW.erased_by AND kind GLOB 'redaction.*')))
BEGIN SELECT RAISE(ABORT, 'a file is never changed; only a redaction may erase it'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER staging_stays BEFORE DELETE ON staging
WHEN OLD.seq IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'the readings of an import are never deleted'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER staging_once BEFORE INSERT ON staging
WHEN NEW.seq IS NOT NULL OR EXISTS (SELECT 1 FROM staging WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'an import is staged before its entry, and once'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER staging_shows BEFORE UPDATE ON staging
WHEN NOT (
      NEW.id IS OLD.id AND NEW.site IS OLD.site AND OLD.seq IS NULL
  AND EXISTS (SELECT 1 FROM entry WHERE site = NEW.site AND seq = NEW.seq)
  AND NOT EXISTS (SELECT 1 FROM staging WHERE site = NEW.site AND seq = NEW.seq))
BEGIN SELECT RAISE(ABORT, 'the readings of an import belong to one entry for good'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER chunk_stays BEFORE DELETE ON chunk
WHEN NOT EXISTS (SELECT 1 FROM staging WHERE id = OLD.staging AND seq IS NULL)
BEGIN SELECT RAISE(ABORT, 'readings are never deleted'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER chunk_keeps BEFORE UPDATE ON chunk
BEGIN SELECT RAISE(ABORT, 'readings are never changed'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER chunk_once BEFORE INSERT ON chunk
WHEN NOT EXISTS (SELECT 1 FROM staging WHERE id = NEW.staging AND seq IS NULL)
  OR EXISTS (SELECT 1 FROM chunk WHERE n = NEW.n)
  OR EXISTS (SELECT 1 FROM chunk WHERE staging = NEW.staging AND channel = NEW.channel AND k = NEW.k)
BEGIN SELECT RAISE(ABORT, 'readings are staged before their entry, and never replaced'); END;
-- +goose StatementEnd
