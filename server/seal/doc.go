// Package seal holds what makes a handover pack one sealed thing: the signing
// key, the strict ZIP it is written as, and the signature over every byte of
// it. It knows nothing of what a pack says.
package seal
