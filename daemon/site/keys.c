/* keys.c - see keys.h. */
#include "site/keys.h"

#include <string.h>

static const struct keys table[SECTION_COUNT] = {
    [SECTION_STUDIO] = {"studio",
                        false,
                        {"name", "timezone", "altitude_m", "working_hours", "demo", "clock",
                         "defaults", "tell"}},
    [SECTION_STORE] = {"store", false, {"path", "key_file"}},
    [SECTION_HTTP] = {"http", false, {"listen", "names", "behind_proxy"}},
    [SECTION_BUS] = {"bus",
                     true,
                     {"kind", "device", "baud", "parity", "stop_bits", "address",
                      "response_timeout", "byte_timeout"}},
    [SECTION_MAP] = {"map", true, {"read", "uncertainty"}},
    [SECTION_INSTRUMENT] = {"instrument",
                            true,
                            {"bus", "unit", "serial", "every", "zone", "map", "read",
                             "uncertainty", "placement"}},
    [SECTION_ZONE] = {"zone", true, {"title", "purpose", "lead"}},
    [SECTION_LIMIT] = {"limit",
                       true,
                       {"zone", "instrument", "rule", "on_delay", "off_delay", "deadband",
                        "priority", "tell", "source", "off"}},
    [SECTION_PERSON] = {"person", true, {"mail"}},
    [SECTION_MAIL] = {"mail",
                      false,
                      {"server", "security", "user", "password_file", "ca_file", "from"}},
    [SECTION_WEBHOOK] = {"webhook", true, {"url", "secret_file"}},
    [SECTION_COMMAND] = {"command", true, {"path", "arguments"}},
};

const struct keys *keys_of(enum section section)
{
    return &table[section];
}

bool keys_section(const char *word, size_t len, enum section *out)
{
    for (int i = 0; i < SECTION_COUNT; i++)
        if (strlen(table[i].section) == len && memcmp(table[i].section, word, len) == 0) {
            *out = (enum section)i;
            return true;
        }
    return false;
}

bool keys_has(enum section section, const char *key)
{
    for (const char *const *k = table[section].keys; *k != NULL; k++)
        if (strcmp(*k, key) == 0)
            return true;
    return false;
}

bool keys_repeats(const char *key)
{
    return strcmp(key, "read") == 0;
}
