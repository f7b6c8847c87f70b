// Package server joins the parts: a data directory's store, the use cases over
// one site of it, the packs made from it and the pages that show it.
package server
