/* helper_seal.c - what base/seal makes of files, for the script that asks others the same.
 *
 *     helper_seal digest FILE          the SHA-256 in hexadecimal
 *     helper_seal sign KEY FILE        the signature, 64 bytes
 *     helper_seal pem KEY              the public key
 *     helper_seal verify KEY FILE SIG  exit status 0 if it is the signature, else 1
 */
#include <stdio.h>
#include <string.h>

#include "base/buf.h"
#include "base/seal.h"

static int read_file(const char *path, struct buf *out)
{
    char piece[4096];
    FILE *f = fopen(path, "rb");
    if (f == NULL)
        return -1;
    for (size_t n; (n = fread(piece, 1, sizeof piece, f)) > 0;)
        buf_add(out, piece, n);
    fclose(f);
    return out->failed ? -1 : 0;
}

static int with_key(int argc, char **argv, const struct buf *file, const struct buf *signature)
{
    struct seal_key key;
    if (seal_key_load(argv[2], &key) != RC_OK)
        return 4;
    if (strcmp(argv[1], "pem") == 0) {
        char pem[128];
        seal_key_pem(key.public_key, pem, sizeof pem);
        fputs(pem, stdout);
        return 0;
    }
    if (strcmp(argv[1], "sign") == 0) {
        uint8_t made[SEAL_SIGNATURE];
        seal_sign(&key, file->data == NULL ? "" : file->data, file->len, made);
        return fwrite(made, 1, sizeof made, stdout) == sizeof made ? 0 : 4;
    }
    if (argc < 5 || signature->len != SEAL_SIGNATURE)
        return 2;
    return seal_verify(key.public_key, file->data == NULL ? "" : file->data, file->len,
                       (const uint8_t *)signature->data)
               ? 0
               : 1;
}

int main(int argc, char **argv)
{
    struct buf file = {0}, signature = {0};
    if (argc < 3 || seal_start() != RC_OK)
        return 2;
    int status = 0;
    if (strcmp(argv[1], "digest") == 0) {
        uint8_t digest[SEAL_DIGEST];
        char hex[SEAL_HEX];
        status = read_file(argv[2], &file) == 0 ? 0 : 4;
        seal_sha256(file.data == NULL ? "" : file.data, file.len, digest);
        seal_hex(digest, hex);
        puts(hex);
    } else {
        if (argc > 3 && read_file(argv[3], &file) != 0)
            status = 4;
        if (argc > 4 && read_file(argv[4], &signature) != 0)
            status = 4;
        if (status == 0)
            status = with_key(argc, argv, &file, &signature);
    }
    buf_free(&file);
    buf_free(&signature);
    return status;
}
