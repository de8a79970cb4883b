/* Digests and signatures against the vectors of their standards.
 *
 * Ed25519: RFC 8032, section 7.1. PEM: RFC 8410, section 10. SHA-256: the examples of FIPS 180-4
 * ("Example Algorithms", NIST) and the empty message of NIST's CAVP vectors. All were typed from
 * memory, not copied from the documents; that OpenSSL 3.0 makes the same signatures from the
 * secret keys below (but for TEST 1, whose empty message it does not take), and sha256sum the
 * same digests, shows that the memory was right. (The public key of the last vector is the one
 * that OpenSSL derives: a digit of it was not remembered.) test_seal_openssl.py holds the same
 * functions against both, live, on messages of any length.
 */
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include "base/seal.h"

enum {
    MESSAGE_MOST = 1024
};

static size_t unhex(const char *hex, uint8_t *out)
{
    size_t len = strlen(hex) / 2;
    for (size_t i = 0; i < len; i++) {
        char digits[3] = {hex[2 * i], hex[2 * i + 1], '\0'};
        out[i] = (uint8_t)strtoul(digits, NULL, 16);
    }
    return len;
}

/* A key from its seed, the way the daemon gets it: from a file with mode 0600. */
static void load(const char *seed_hex, struct seal_key *out)
{
    char path[] = "/tmp/stillroom-seed-XXXXXX";
    uint8_t seed[32];
    assert_int_equal(unhex(seed_hex, seed), sizeof seed);
    int fd = mkstemp(path);
    assert_true(fd >= 0);
    assert_int_equal(write(fd, seed, sizeof seed), sizeof seed);
    close(fd);
    enum rc rc = seal_key_load(path, out);
    unlink(path);
    assert_int_equal(rc, RC_OK);
}

static const struct {
    const char *name, *secret, *public_key, *message, *signature;
} rfc8032[] = {
    /* clang-format off */
    {"TEST 1",
     "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
     "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
     "",
     "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bac"
     "c61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"},
    {"TEST 2",
     "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
     "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
     "72",
     "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e"
     "458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"},
    {"TEST 3",
     "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
     "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
     "af82",
     "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290"
     "ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a"},
    {"TEST 1024",
     "f5e5767cf153319517630f226876b86c8160cc583bc013744c6bf255f5cc0ee5",
     "278117fc144c72340f67d0f2316e8386ceffbf2b2428c9c51fef7c597f1d426e",
     "08b8b2b733424243760fe426a4b54908632110a66c2f6591eabd3345e3e4eb98fa6e264bf09efe12"
     "ee50f8f54e9f77b1e355f6c50544e23fb1433ddf73be84d879de7c0046dc4996d9e773f4bc9efe57"
     "38829adb26c81b37c93a1b270b20329d658675fc6ea534e0810a4432826bf58c941efb65d57a338b"
     "bd2e26640f89ffbc1a858efcb8550ee3a5e1998bd177e93a7363c344fe6b199ee5d02e82d522c4fe"
     "ba15452f80288a821a579116ec6dad2b3b310da903401aa62100ab5d1a36553e06203b33890cc9b8"
     "32f79ef80560ccb9a39ce767967ed628c6ad573cb116dbefefd75499da96bd68a8a97b928a8bbc10"
     "3b6621fcde2beca1231d206be6cd9ec7aff6f6c94fcd7204ed3455c68c83f4a41da4af2b74ef5c53"
     "f1d8ac70bdcb7ed185ce81bd84359d44254d95629e9855a94a7c1958d1f8ada5d0532ed8a5aa3fb2"
     "d17ba70eb6248e594e1a2297acbbb39d502f1a8c6eb6f1ce22b3de1a1f40cc24554119a831a9aad6"
     "079cad88425de6bde1a9187ebb6092cf67bf2b13fd65f27088d78b7e883c8759d2c4f5c65adb7553"
     "878ad575f9fad878e80a0c9ba63bcbcc2732e69485bbc9c90bfbd62481d9089beccf80cfe2df16a2"
     "cf65bd92dd597b0707e0917af48bbb75fed413d238f5555a7a569d80c3414a8d0859dc65a46128ba"
     "b27af87a71314f318c782b23ebfe808b82b0ce26401d2e22f04d83d1255dc51addd3b75a2b1ae078"
     "4504df543af8969be3ea7082ff7fc9888c144da2af58429ec96031dbcad3dad9af0dcbaaaf268cb8"
     "fcffead94f3c7ca495e056a9b47acdb751fb73e666c6c655ade8297297d07ad1ba5e43f1bca32301"
     "651339e22904cc8c42f58c30c04aafdb038dda0847dd988dcda6f3bfd15c4b4c4525004aa06eeff8"
     "ca61783aacec57fb3d1f92b0fe2fd1a85f6724517b65e614ad6808d6f6ee34dff7310fdc82aebfd9"
     "04b01e1dc54b2927094b2db68d6f903b68401adebf5a7e08d78ff4ef5d63653a65040cf9bfd4aca7"
     "984a74d37145986780fc0b16ac451649de6188a7dbdf191f64b5fc5e2ab47b57f7f7276cd419c17a"
     "3ca8e1b939ae49e488acba6b965610b5480109c8b17b80e1b7b750dfc7598d5d5011fd2dcc5600a3"
     "2ef5b52a1ecc820e308aa342721aac0943bf6686b64b2579376504ccc493d97e6aed3fb0f9cd71a4"
     "3dd497f01f17c0e2cb3797aa2a2f256656168e6c496afc5fb93246f6b1116398a346f1a641f3b041"
     "e989f7914f90cc2c7fff357876e506b50d334ba77c225bc307ba537152f3f1610e4eafe595f6d9d9"
     "0d11faa933a15ef1369546868a7f3a45a96768d40fd9d03412c091c6315cf4fde7cb68606937380d"
     "b2eaaa707b4c4185c32eddcdd306705e4dc1ffc872eeee475a64dfac86aba41c0618983f8741c5ef"
     "68d3a101e8a3b8cac60c905c15fc910840b94c00a0b9d0",
     "0aab4c900501b3e24d7cdf4663326a3a87df5e4843b2cbdb67cbf6e460fec350aa5371b1508f9f45"
     "28ecea23c436d94b5e8fcd4f681e30a6ac00a9704a188a03"},
    {"TEST SHA(abc)",
     "833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42",
     "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
     "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2192992a274fc1a8"
     "36ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f",
     "dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b58909351fc9ac90b3ec"
     "fdfbc7c66431e0303dca179c138ac17ad9bef1177331a704"},
    /* clang-format on */
};

static void signatures_are_those_of_rfc_8032(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rfc8032 / sizeof *rfc8032; i++) {
        struct seal_key key;
        uint8_t message[MESSAGE_MOST], want[SEAL_SIGNATURE], got[SEAL_SIGNATURE], pub[32];
        size_t len = unhex(rfc8032[i].message, message);
        print_message("%s\n", rfc8032[i].name);
        load(rfc8032[i].secret, &key);
        unhex(rfc8032[i].public_key, pub);
        unhex(rfc8032[i].signature, want);
        assert_memory_equal(key.public_key, pub, sizeof pub);
        seal_sign(&key, message, len, got);
        assert_memory_equal(got, want, sizeof want);
        assert_true(seal_verify(pub, message, len, want));
    }
}

static void a_flipped_bit_anywhere_is_no_signature(void **state)
{
    (void)state;
    uint8_t message[MESSAGE_MOST], signature[SEAL_SIGNATURE], pub[32];
    size_t len = unhex(rfc8032[2].message, message);
    unhex(rfc8032[2].public_key, pub);
    unhex(rfc8032[2].signature, signature);
    for (size_t bit = 0; bit < 8 * sizeof signature; bit++) {
        signature[bit / 8] ^= (uint8_t)(1U << bit % 8);
        assert_false(seal_verify(pub, message, len, signature));
        signature[bit / 8] ^= (uint8_t)(1U << bit % 8);
    }
    for (size_t bit = 0; bit < 8 * len; bit++) {
        message[bit / 8] ^= (uint8_t)(1U << bit % 8);
        assert_false(seal_verify(pub, message, len, signature));
        message[bit / 8] ^= (uint8_t)(1U << bit % 8);
    }
    assert_false(seal_verify(pub, message, len - 1, signature));
    assert_true(seal_verify(pub, message, len, signature));
}

/* RFC 8410, section 10.1 and 10.3: a public key as PEM, and the seed it belongs to. */
static const char rfc8410_pem[] =
    "-----BEGIN PUBLIC KEY-----\n"
    "MCowBQYDK2VwAyEAGb9ECWmEzf6FQbrBZ9w7lshQhqowtrbLDFw4rXAxZuE=\n"
    "-----END PUBLIC KEY-----\n";
static const char rfc8410_seed[] =
    "d4ee72dbf913584ad5b6d8f1f769f8ad3afe7c28cbf1d4fbe097a88f44755842";

static void a_public_key_is_written_as_rfc_8410_has_it(void **state)
{
    (void)state;
    struct seal_key key;
    char pem[128];
    load(rfc8410_seed, &key);
    seal_key_pem(key.public_key, pem, sizeof pem);
    assert_string_equal(pem, rfc8410_pem);
}

static void a_public_key_is_read_to_the_byte(void **state)
{
    (void)state;
    struct seal_key key;
    uint8_t got[SEAL_PUBLIC];
    char text[sizeof rfc8410_pem];
    size_t len = sizeof rfc8410_pem - 1;
    load(rfc8410_seed, &key);
    assert_int_equal(seal_key_from_pem(rfc8410_pem, len, got), RC_OK);
    assert_memory_equal(got, key.public_key, sizeof got);
    for (size_t cut = 0; cut < len; cut++)
        assert_int_equal(seal_key_from_pem(rfc8410_pem, cut, got), RC_BAD_INPUT);
    /* Any other byte is refused, or is another key: never the same one in another writing. */
    for (size_t i = 0; i < len; i++)
        for (int c = 0; c < 256; c++) {
            memcpy(text, rfc8410_pem, sizeof text);
            text[i] = (char)c;
            if (text[i] != rfc8410_pem[i] && seal_key_from_pem(text, len, got) == RC_OK)
                assert_memory_not_equal(got, key.public_key, sizeof got);
        }
}

static const struct {
    const char *message;
    size_t times;
    const char *digest;
} fips180[] = {
    {"", 1, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
    {"abc", 1, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
    {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", 1,
     "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
    {"abcdefghbcdefghicdefghijdefghijkefghijklfghijklmghijklmnhijklmnoijklmnopjklmnopqklmnopqr"
     "lmnopqrsmnopqrstnopqrstu",
     1, "cf5b16a778af8380036ce59e7b0492370b249b11e8f07a51afac45037afee9d1"},
    {"a", 1000000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"},
};

static void digests_are_those_of_fips_180_4(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof fips180 / sizeof *fips180; i++) {
        size_t len = strlen(fips180[i].message), all = len * fips180[i].times;
        char *text = malloc(all + 1);
        uint8_t digest[SEAL_DIGEST];
        char hex[SEAL_HEX];
        assert_non_null(text);
        for (size_t k = 0; k < fips180[i].times; k++)
            memcpy(text + k * len, fips180[i].message, len);
        seal_sha256(text, all, digest);
        free(text);
        seal_hex(digest, hex);
        assert_string_equal(hex, fips180[i].digest);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(signatures_are_those_of_rfc_8032),
        cmocka_unit_test(a_flipped_bit_anywhere_is_no_signature),
        cmocka_unit_test(a_public_key_is_written_as_rfc_8410_has_it),
        cmocka_unit_test(a_public_key_is_read_to_the_byte),
        cmocka_unit_test(digests_are_those_of_fips_180_4),
    };
    if (seal_start() != RC_OK)
        return 1;
    return cmocka_run_group_tests(tests, NULL, NULL);
}
