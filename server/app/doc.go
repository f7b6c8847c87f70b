// Package app holds the use cases: what a person may ask of a site's book and
// what they may write in it. It is the only writer of the book. Stores, pages
// and command lines stand behind or before it; it knows none of them.
package app
