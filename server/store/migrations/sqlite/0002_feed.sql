-- Secret links to the calendar of a role's duties: one a role, by the hash of
-- its token. It is no part of any book.

-- +goose Up
CREATE TABLE feed (
    role       TEXT    NOT NULL PRIMARY KEY,
    token_hash TEXT    NOT NULL UNIQUE,
    person     TEXT    NOT NULL REFERENCES account (id),
    made       INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
