// Package soil holds the soil strip and the mounds, and what conditions read
// from them: area stripped, mound height, slope and volume.
package soil
