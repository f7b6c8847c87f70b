// Package handover makes the sealed handover pack of a book, and verifies one:
// form, signature, hashes, chain, and every judgement made again from nothing
// but the pack. FORMAT.md beside this file describes the pack.
package handover
