// Package haulage holds the tickets of loads through the gate and what
// conditions read from them: movements, loads and tonnes.
package haulage
