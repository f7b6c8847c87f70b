// Package jobs runs work that outlasts a request, tells how far it is, and
// keeps the outcome while the server runs. What a job makes is kept elsewhere;
// a job lost with the server leaves nothing half-made.
package jobs
