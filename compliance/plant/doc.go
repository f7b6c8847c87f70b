// Package plant holds the hour-meter readings of machines and the run hours
// that conditions read from them.
package plant
