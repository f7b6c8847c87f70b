// Package book is the journal of a site: attested, immutable entries, each
// sealed into one chain, and the view of them that is in force at an instant.
//
// It knows how an entry is written as bytes, hashed, linked, corrected,
// withdrawn and erased. It does not know where entries are kept nor who may
// write them. FORMAT.md beside this file is the format for ever.
package book
