package seal

import (
	"bytes"
	"crypto/ed25519"
	"encoding/hex"
	"errors"
)

// The archive comment of a pack is exactly:
//
//	offset  bytes  what
//	0       19     "swardbook/signed/1\n"
//	19      32     ed25519 public key (RFC 8032)
//	51      64     ed25519 signature of the message below
//
// The message is the text "swardbook/pack/1 " and the SHA-256, in hex, of
// every byte of the file before the comment, and a line feed. Those bytes end
// with the end-of-directory record, and so hold the comment's length.
const (
	commentTag  = "swardbook/signed/1\n"
	messageTag  = "swardbook/pack/1 "
	commentSize = len(commentTag) + ed25519.PublicKeySize + ed25519.SignatureSize
)

var errComment = errors.New("the archive comment is not a signature of this format")

func message(sum []byte) []byte { return []byte(messageTag + hex.EncodeToString(sum) + "\n") }

func comment(k *Key, sum []byte) []byte {
	b := append([]byte(commentTag), k.Public()...)
	return append(b, ed25519.Sign(k.private, message(sum))...)
}

func splitComment(b []byte) (ed25519.PublicKey, []byte, error) {
	if len(b) != commentSize || !bytes.HasPrefix(b, []byte(commentTag)) {
		return nil, nil, errComment
	}
	b = b[len(commentTag):]
	return ed25519.PublicKey(b[:ed25519.PublicKeySize]), b[ed25519.PublicKeySize:], nil
}
