// Package monitoring holds the kinds of entry about measuring: instruments,
// where they stood, their checks and calibrations, imports of readings and
// the rejection of readings.
package monitoring
