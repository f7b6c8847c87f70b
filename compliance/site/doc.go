// Package site holds the kinds of entry that belong to no trade: the site
// itself, its people and their roles, its plan, its notices, papers, holds,
// surveys and documents, and what is done with the book as a whole.
package site
