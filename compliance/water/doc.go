// Package water holds samples and totaliser readings, and what conditions
// read of water: flow, level and turbidity from channels, determinands from
// samples and volumes from totalisers.
package water
