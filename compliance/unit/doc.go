// Package unit knows the units of the trade, turns one into another where
// they measure the same thing, and rounds derived values by the one rule.
package unit
