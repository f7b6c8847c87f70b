// Package handover makes the sealed handover pack of a book, and verifies one:
// form, signature, hashes, chain, and every judgement made again from nothing
// but the pack. Both go through one list of derived members (derive), written
// in one case and compared byte by byte in the other. FORMAT.md beside this
// file describes the pack.
package handover
