-- Loggers that send their readings themselves, by the hash of their token, and
-- what they sent that is not yet in the book. It is no part of any book: each
-- UTC hour the spool becomes an original file with an import entry.

-- +goose Up
CREATE TABLE logger (
    id         TEXT    NOT NULL PRIMARY KEY,
    site       TEXT    NOT NULL REFERENCES site (id),
    name       TEXT    NOT NULL,
    token_hash TEXT    NOT NULL UNIQUE,
    person     TEXT    NOT NULL,
    role       TEXT    NOT NULL,
    reading    TEXT    NOT NULL,
    made       INTEGER NOT NULL,
    ended      INTEGER
) STRICT, WITHOUT ROWID;

CREATE UNIQUE INDEX logger_named ON logger (site, name) WHERE ended IS NULL;

CREATE TABLE spool (
    n        INTEGER PRIMARY KEY AUTOINCREMENT,
    logger   TEXT    NOT NULL REFERENCES logger (id),
    received INTEGER NOT NULL,
    rows     TEXT    NOT NULL
) STRICT;
