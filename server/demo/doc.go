// Package demo makes the folder of an invented site from a seed, so that the
// program can be tried and tested on a whole job: a temporary access shaft for
// a water tunnel, sunk on hill pasture over fourteen months and handed back.
//
// Place, people, authorities, notices and figures are invented. The same seed
// gives the same bytes.
package demo
