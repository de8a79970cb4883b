/* seal.c - see seal.h. */
#include "base/seal.h"

#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/log.h"

enum rc seal_start(void)
{
    return sodium_init() < 0 ? RC_IO : RC_OK;
}

void seal_sha256(const void *data, size_t len, uint8_t out[SEAL_DIGEST])
{
    crypto_hash_sha256(out, data, len);
}

void seal_hmac(const void *key, size_t key_len, const void *data, size_t len,
               uint8_t out[SEAL_DIGEST])
{
    crypto_auth_hmacsha256_state state;
    crypto_auth_hmacsha256_init(&state, key, key_len);
    crypto_auth_hmacsha256_update(&state, data, len);
    crypto_auth_hmacsha256_final(&state, out);
}

void seal_hex(const uint8_t digest[SEAL_DIGEST], char out[SEAL_HEX])
{
    sodium_bin2hex(out, SEAL_HEX, digest, SEAL_DIGEST);
}

static enum rc key_make(const char *path, struct seal_key *out)
{
    uint8_t seed[crypto_sign_SEEDBYTES];
    randombytes_buf(seed, sizeof seed);
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd < 0) {
        log_err("cannot make the signing key %s: %s", path, strerror(errno));
        return errno == ENOSPC ? RC_FULL : RC_READ_ONLY;
    }
    bool written = write(fd, seed, sizeof seed) == (ssize_t)sizeof seed && fsync(fd) == 0;
    close(fd);
    if (!written) {
        log_err("cannot write the signing key %s", path);
        unlink(path);
        return RC_IO;
    }
    crypto_sign_seed_keypair(out->public_key, out->secret_key, seed);
    sodium_memzero(seed, sizeof seed);
    return RC_OK;
}

enum rc seal_key_load(const char *path, struct seal_key *out)
{
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0 && errno == ENOENT)
        return key_make(path, out);
    if (fd < 0) {
        log_err("cannot read the signing key %s: %s", path, strerror(errno));
        return RC_IO;
    }
    struct stat st;
    uint8_t seed[crypto_sign_SEEDBYTES];
    ssize_t n = read(fd, seed, sizeof seed);
    bool open_to_others = fstat(fd, &st) != 0 || (st.st_mode & 077) != 0;
    close(fd);
    if (open_to_others) {
        log_err("the signing key %s may be read by others: chmod 600 it", path);
        return RC_BAD_INPUT;
    }
    if (n != (ssize_t)sizeof seed) {
        log_err("the signing key %s is damaged: it must hold 32 bytes", path);
        return RC_CORRUPT;
    }
    crypto_sign_seed_keypair(out->public_key, out->secret_key, seed);
    sodium_memzero(seed, sizeof seed);
    return RC_OK;
}

void seal_key_id(const uint8_t public_key[SEAL_PUBLIC], char out[17])
{
    uint8_t digest[SEAL_DIGEST];
    seal_sha256(public_key, SEAL_PUBLIC, digest);
    sodium_bin2hex(out, 17, digest, 8);
}

void seal_key_pem(const uint8_t public_key[SEAL_PUBLIC], char *out, size_t size)
{
    /* RFC 8410: SEQUENCE { SEQUENCE { OID 1.3.101.112 }, BIT STRING } before the key. */
    static const uint8_t head[] = {0x30, 0x2a, 0x30, 0x05, 0x06, 0x03,
                                   0x2b, 0x65, 0x70, 0x03, 0x21, 0x00};
    uint8_t der[sizeof head + SEAL_PUBLIC];
    char text[sodium_base64_ENCODED_LEN(sizeof der, sodium_base64_VARIANT_ORIGINAL)];
    memcpy(der, head, sizeof head);
    memcpy(der + sizeof head, public_key, SEAL_PUBLIC);
    sodium_bin2base64(text, sizeof text, der, sizeof der, sodium_base64_VARIANT_ORIGINAL);
    snprintf(out, size, "-----BEGIN PUBLIC KEY-----\n%s\n-----END PUBLIC KEY-----\n", text);
}

enum rc seal_key_from_pem(const char *text, size_t len, uint8_t out[SEAL_PUBLIC])
{
    static const char begin[] = "-----BEGIN PUBLIC KEY-----\n";
    size_t head = sizeof begin - 1, got;
    char again[128];
    uint8_t der[64];
    const char *end;
    if (len <= head || len >= sizeof again || memcmp(text, begin, head) != 0 ||
        sodium_base642bin(der, sizeof der, text + head, len - head, NULL, &got, &end,
                          sodium_base64_VARIANT_ORIGINAL) != 0 ||
        got <= SEAL_PUBLIC)
        return RC_BAD_INPUT;
    const uint8_t *key = der + got - SEAL_PUBLIC;
    seal_key_pem(key, again, sizeof again);
    if (strlen(again) != len || memcmp(again, text, len) != 0)
        return RC_BAD_INPUT;
    memcpy(out, key, SEAL_PUBLIC);
    return RC_OK;
}

void seal_sign(const struct seal_key *key, const void *data, size_t len,
               uint8_t out[SEAL_SIGNATURE])
{
    crypto_sign_detached(out, NULL, data, len, key->secret_key);
}

bool seal_verify(const uint8_t public_key[SEAL_PUBLIC], const void *data, size_t len,
                 const uint8_t signature[SEAL_SIGNATURE])
{
    return crypto_sign_verify_detached(signature, data, len, public_key) == 0;
}

void seal_random(void *out, size_t len)
{
    randombytes_buf(out, len);
}
