/* seal.h - digests and signatures (libsodium, behind this header only).
 *
 * Threads: any, after seal_start().
 */
#ifndef BASE_SEAL_H
#define BASE_SEAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/rc.h"

enum {
    SEAL_DIGEST = 32,
    SEAL_HEX = 65,
    SEAL_SIGNATURE = 64,
    SEAL_PUBLIC = 32,
    SEAL_SECRET = 64
};

/* Once, before anything else here. */
MUST_USE enum rc seal_start(void);

/* SHA-256 (FIPS 180-4) of some bytes. */
void seal_sha256(const void *data, size_t len, uint8_t out[SEAL_DIGEST]);

/* HMAC-SHA256 (RFC 2104) of some bytes under a key of any length. */
void seal_hmac(const void *key, size_t key_len, const void *data, size_t len,
               uint8_t out[SEAL_DIGEST]);

/* Lower-case hexadecimal of a digest, NUL at the end. */
void seal_hex(const uint8_t digest[SEAL_DIGEST], char out[SEAL_HEX]);

struct seal_key {
    uint8_t public_key[SEAL_PUBLIC];
    uint8_t secret_key[SEAL_SECRET];
};

/* Reads the Ed25519 key in a file, or makes it with mode 0600 if there is none. A file that
 * others may read is refused (RC_BAD_INPUT), since its signatures would prove nothing. */
MUST_USE enum rc seal_key_load(const char *path, struct seal_key *out);

/* The first 16 hexadecimal digits of the public key's SHA-256: a name short enough to read out. */
void seal_key_id(const uint8_t public_key[SEAL_PUBLIC], char out[17]);

/* The public key as PEM (RFC 8410), as `openssl pkeyutl -pubin` takes it; out holds 128. */
void seal_key_pem(const uint8_t public_key[SEAL_PUBLIC], char *out, size_t size);

/* The key in such a text, which must be as seal_key_pem writes it to the byte (RC_BAD_INPUT). */
MUST_USE enum rc seal_key_from_pem(const char *text, size_t len, uint8_t out[SEAL_PUBLIC]);

/* Ed25519 (RFC 8032). */
void seal_sign(const struct seal_key *key, const void *data, size_t len,
               uint8_t out[SEAL_SIGNATURE]);
bool seal_verify(const uint8_t public_key[SEAL_PUBLIC], const void *data, size_t len,
                 const uint8_t signature[SEAL_SIGNATURE]);

/* Random bytes from the system. */
void seal_random(void *out, size_t len);

#endif
