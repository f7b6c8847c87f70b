package app

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"strings"

	"golang.org/x/crypto/argon2"
)

// argon2id parameters: OWASP Password Storage Cheat Sheet, second of its
// equal choices (19 MiB, 2 passes, 1 lane) [from memory].
const (
	argonPasses = 2
	argonKiB    = 19 * 1024
	argonLanes  = 1
	argonBytes  = 32
)

func makeSecret(password string) string {
	salt := make([]byte, 16)
	_, _ = rand.Read(salt) // never fails since Go 1.24
	key := argon2.IDKey([]byte(password), salt, argonPasses, argonKiB, argonLanes, argonBytes)
	b64 := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=19$m=%d,t=%d,p=%d$%s$%s", argonKiB, argonPasses, argonLanes, b64.EncodeToString(salt), b64.EncodeToString(key))
}

func checkSecret(secret, password string) bool {
	var kib, passes uint32
	var lanes uint8
	parts := strings.Split(secret, "$")
	salt, key := []byte("no such account!"), []byte(nil)
	kib, passes, lanes = argonKiB, argonPasses, argonLanes
	if len(parts) == 6 {
		if _, err := fmt.Sscanf(parts[3], "m=%d,t=%d,p=%d", &kib, &passes, &lanes); err != nil {
			return false
		}
		salt, _ = base64.RawStdEncoding.DecodeString(parts[4])
		key, _ = base64.RawStdEncoding.DecodeString(parts[5])
	}
	got := argon2.IDKey([]byte(password), salt, passes, kib, lanes, argonBytes)
	return len(key) == argonBytes && subtle.ConstantTimeCompare(got, key) == 1
}

func randomText() string {
	b := make([]byte, 32)
	_, _ = rand.Read(b)
	return base64.RawURLEncoding.EncodeToString(b)
}

func randomID() string {
	b := make([]byte, 16)
	_, _ = rand.Read(b)
	return hex.EncodeToString(b)
}

func hashToken(token string) string {
	h := sha256.Sum256([]byte(token))
	return hex.EncodeToString(h[:])
}
