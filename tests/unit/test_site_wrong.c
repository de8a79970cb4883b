/* test_site_wrong.c - what is said of a wrong site file: all of it at once, line by line. */
#include "support/site_text.h"

#include <stdlib.h>

#define WIRED                                                                                  \
    "[bus b]\nkind = modbus-tcp\naddress = localhost\n"                                        \
    "[zone z]\npurpose = other\n"                                                              \
    "[instrument i]\nbus = b\nunit = 1\nzone = z\n"                                            \
    "read = temperature input 0 int16\nread = humidity input 1 int16\n"

static void ten_mistakes_give_ten_lines_in_the_order_of_the_file(void **state)
{
    (void)state;
    site_text_gives(
        "[studio]\n"
        "timezone = Europe/Londn\n"
        "altitude_m = high\n"
        "[http]\n"
        "listen = 8620\n"
        "[bus line]\n"
        "kind = modbus-rtu\n"
        "device = /dev/ttyUSB0\n"
        "boud = 9600\n"
        "\n"
        "[instrument a]\n"
        "bus = lime\n"
        "unit = 248\n"
        "zone = room\n"
        "read = temperature input 65536 int16\n"
        "[zone room]\n"
        "purpose = drying\n"
        "purpose = bench\n"
        "[limit damp]\n"
        "zone = room\n"
        "rule = humidity over 65\n"
        "[heater]\n"
        "on = yes\n",
        "site.ini:2: \"Europe/Londn\" for timezone in [studio]; allowed: a zone that this "
        "system knows, as Europe/London or UTC\n"
        "site.ini:3: \"high\" for altitude_m in [studio]; allowed: a number, -430 to 6000\n"
        "site.ini:5: \"8620\" for listen in [http]; allowed: none, host:port, [IPv6]:port, "
        "with "
        "a port from 1 to 65535\n"
        "site.ini:9: unknown key \"boud\" in [bus line]; allowed: kind, device, baud, parity, "
        "stop_bits, address, response_timeout, byte_timeout\n"
        "site.ini:12: \"lime\" for bus in [instrument a]; allowed: the NAME of a section [bus "
        "NAME]: "
        "line\n"
        "site.ini:13: \"248\" for unit in [instrument a]; allowed: a whole number, 1 to 247\n"
        "site.ini:15: read in [instrument a]: bad address \"65536\"; allowed: 0 to 65535, the "
        "first register being 0\n"
        "site.ini:18: \"purpose\" again in [zone room], after line 17; allowed: once\n"
        "site.ini:21: rule in [limit damp]: unknown rule \"humidity over 65\"; allowed: "
        "QUANTITY "
        "above NUMBER, QUANTITY below NUMBER, QUANTITY range above NUMBER within 24 h, dew "
        "margin "
        "below NUMBER, CONTACT is on, CONTACT is off, silent\n"
        "site.ini:22: unknown section [heater]; allowed: [studio], [store], [http], [bus "
        "NAME], "
        "[map NAME], [instrument NAME], [zone NAME], [limit NAME], [person NAME], [mail], "
        "[webhook NAME], [command NAME]\n");
}

#define OWN(value)                                                                             \
    "2: \"" value "\" for listen in [http]; allowed: an address of this machine's own, "       \
    "127.0.0.1:8620, [::1]:8620 or localhost:8620, for this version has no sessions"

/* One wrong text a row, and the one line said of it. */
static const struct {
    const char *text, *want;
} wrong[] = {
    /* sections and keys */
    {"name = X\n",
     "1: key \"name\" before any section; allowed: a heading first, [studio] say"},
    {"[bus]\nkind = modbus-rtu\n", "1: [bus] has no name; allowed: [bus NAME]"},
    {"[studio mine]\nname = X\n", "1: [studio] takes no name; allowed: [studio]"},
    {"[]\n",
     "1: unknown section []; allowed: [studio], [store], [http], [bus NAME], [map NAME], "
     "[instrument NAME], [zone NAME], [limit NAME], [person NAME], [mail], [webhook NAME], "
     "[command NAME]"},
    {"[zone Drying]\n",
     "1: bad name \"Drying\" of a zone; allowed: up to 40 lower-case letters, "
     "digits, hyphens"},
    {"[zone drying room]\n", "1: bad name \"drying room\" of a zone; allowed: up to 40 "
                             "lower-case letters, digits, hyphens"},
    {"[person Anna B]\n", "1: bad name \"Anna B\" of a person; allowed: up to 40 letters, "
                          "digits, hyphens, underscores, full stops"},
    {"[zone abcdefghijabcdefghijabcdefghijabcdefghij1]\n",
     "1: bad name \"abcdefghijabcdefghijabcdefghijabcdefghij1\" of a zone; allowed: up to 40 "
     "lower-case letters, digits, hyphens"},
    {"[zone a]\n[zone b]\n[zone a]\n",
     "3: [zone a] again, after line 1; allowed: each section once"},
    {"[http]\npassword = x\n",
     "2: \"password\" in [http]: a secret never stands in this file, only the path of a file "
     "that holds it, as ..._file = path; allowed: listen, names, behind_proxy"},
    {"[studio]\nname =\n",
     "2: \"name\" in [studio] has no value; allowed: a value, or no such line"},
    {"[studio]\nname = A\nname = B\n",
     "3: \"name\" again in [studio], after line 2; allowed: once"},
    {"[studio]\nName = A\n",
     "2: unknown key \"Name\" in [studio]; allowed: name, timezone, altitude_m, working_hours, "
     "demo, clock, defaults, tell"},

    /* studio, store, http, person */
    {"[studio]\ntimezone = ../passwd\n",
     "2: \"../passwd\" for timezone in [studio]; allowed: a "
     "zone that this system knows, as Europe/London or UTC"},
    {"[studio]\ntimezone = Europe\n", "2: \"Europe\" for timezone in [studio]; allowed: a zone "
                                      "that this system knows, as Europe/London or UTC"},
    {"[studio]\naltitude_m = 40 m\n",
     "2: \"40 m\" for altitude_m in [studio]; allowed: a number, -430 to 6000"},
    {"[studio]\naltitude_m = nan\n",
     "2: \"nan\" for altitude_m in [studio]; allowed: a number, -430 to 6000"},
    {"[studio]\naltitude_m = 0x10\n",
     "2: \"0x10\" for altitude_m in [studio]; allowed: a number, -430 to 6000"},
    {"[studio]\naltitude_m = 6000.1\n",
     "2: \"6000.1\" for altitude_m in [studio]; allowed: a number, -430 to 6000"},
    {"[studio]\ndemo = maybe\n", "2: \"maybe\" for demo in [studio]; allowed: no, yes"},
    {"[studio]\nclock = right\n",
     "2: \"right\" for clock in [studio]; allowed: checked, trusted"},
    {"[studio]\ntell = me\n",
     "2: \"me\" for tell in [studio]; allowed: nobody, or NAMEs of sections "
     "[person NAME], [webhook NAME] and [command NAME], parted by commas: none"},
    {"[http]\nlisten = 127.0.0.1:0\n",
     "2: \"127.0.0.1:0\" for listen in [http]; allowed: none, host:port, [IPv6]:port, with a "
     "port from 1 to 65535"},
    {"[http]\nlisten = 127.0.0.1:65536\n",
     "2: \"127.0.0.1:65536\" for listen in [http]; allowed: none, host:port, [IPv6]:port, with "
     "a port from 1 to 65535"},
    {"[http]\nlisten = ::1:8620\n",
     "2: \"::1:8620\" for listen in [http]; allowed: none, host:port, [IPv6]:port, with a port "
     "from 1 to 65535"},
    {"[http]\nlisten = [::1]8620\n",
     "2: \"[::1]8620\" for listen in [http]; allowed: none, host:port, [IPv6]:port, with a "
     "port from 1 to 65535"},
    {"[http]\nlisten = :8620\n", "2: \":8620\" for listen in [http]; allowed: none, host:port, "
                                 "[IPv6]:port, with a port from 1 to 65535"},
    {"[http]\nlisten = 0.0.0.0:8620\n", OWN("0.0.0.0:8620")},
    {"[http]\nlisten = 192.168.1.7:8620\n", OWN("192.168.1.7:8620")},
    {"[http]\nlisten = [::]:8620\n", OWN("[::]:8620")},
    {"[http]\nlisten = 128.0.0.1:8620\n", OWN("128.0.0.1:8620")},
    {"[http]\nlisten = studio.example:8620\n", OWN("studio.example:8620")},
    {"[http]\nbehind_proxy = yes\n", "2: \"yes\" for behind_proxy in [http]; allowed: no, for "
                                     "this version has no sessions"},
    {"[http]\nnames = a.example:80\n",
     "2: \"a.example:80\" for names in [http]; allowed: up to 16 host names in small letters, "
     "without port, parted by commas"},
    {"[person p]\nmail = p at studio\n",
     "2: \"p at studio\" for mail in [person p]; allowed: one address, name@host"},
    {"[mail]\nsecurity = tls\nfrom = a@b\n",
     "1: [mail] has no server; allowed: server = mail.studio.example:587"},
    {"[mail]\nserver = mail.example\nfrom = a@b\n",
     "2: \"mail.example\" for server in [mail]; allowed: host:port, with a port from 1 to "
     "65535"},
    {"[mail]\nserver = m:25\nfrom = b\n",
     "3: \"b\" for from in [mail]; allowed: one address, name@host"},
    {"[mail]\nserver = m:25\nfrom = a@b\nsecurity = ssl\n",
     "4: \"ssl\" for security in [mail]; allowed: none, starttls, tls"},
    {"[mail]\nserver = m:25\nfrom = a@b\nuser = u\n",
     "4: user in [mail] without a password; allowed: password_file = path of a file that holds "
     "it"},
    {"[mail]\nserver = m:25\nfrom = a@b\nsecurity = none\nuser = u\npassword_file = /p\n",
     "5: user in [mail] with security = none; allowed: starttls or tls, or a server on this "
     "machine"},
    {"[mail]\nserver = m:25\nfrom = a@b\npassword = x\n",
     "4: \"password\" in [mail]: a secret never stands in this file, only the path of a file "
     "that holds it, as ..._file = path; allowed: server, security, user, password_file, "
     "ca_file, from"},
    {"[webhook w]\n", "1: [webhook w] has no url; allowed: url = https://host/path"},
    {"[webhook w]\nurl = ftp://h/p\n", "2: \"ftp://h/p\" for url in [webhook w]; allowed: "
                                       "https://host/path, or http:// within the house"},
    {"[webhook w]\nurl = https://h/p\nsecret_file = key\n",
     "3: \"key\" for secret_file in [webhook w]; allowed: a path from the root, as "
     "/etc/stillroom/secret_file"},
    {"[command c]\npath = tell\n", "2: \"tell\" for path in [command c]; allowed: a path from "
                                   "the root, as /etc/stillroom/path"},
    {"[person p]\n[command p]\npath = /bin/true\n",
     "2: the name \"p\" again, as in line 1; allowed: a name of its own for each person, "
     "webhook and command"},
    {"[person p]\n[studio]\ntell = p, q\n",
     "3: \"p, q\" for tell in [studio]; allowed: nobody, or NAMEs of sections [person NAME], "
     "[webhook NAME] and [command NAME], parted by commas: p"},
    {"[person p]\nmail = p@a@b\n",
     "2: \"p@a@b\" for mail in [person p]; allowed: one address, name@host"},

    /* buses */
    {"[bus b]\ndevice = /dev/ttyS0\n",
     "1: [bus b] has no kind; allowed: kind = modbus-rtu or modbus-tcp"},
    {"[bus b]\nkind = rtu\n",
     "2: \"rtu\" for kind in [bus b]; allowed: modbus-rtu, modbus-tcp"},
    {"[bus b]\nkind = modbus-rtu\n",
     "1: [bus b] has no device; allowed: device = /dev/ttyUSB0"},
    {"[bus b]\nkind = modbus-rtu\ndevice = COM1\n",
     "3: \"COM1\" for device in [bus b]; allowed: a path, as /dev/ttyUSB0"},
    {"[bus b]\nkind = modbus-rtu\ndevice = /dev/a\nbaud = 9601\n",
     "4: \"9601\" for baud in [bus b]; allowed: 1200, 2400, 4800, 9600, 19200, 38400, 57600, "
     "115200"},
    {"[bus b]\nkind = modbus-rtu\ndevice = /dev/a\nstop_bits = 0\n",
     "4: \"0\" for stop_bits in [bus b]; allowed: a whole number, 1 to 2"},
    {"[bus b]\nkind = modbus-rtu\ndevice = /dev/a\naddress = h:502\n",
     "4: address in [bus b]; allowed: only in a bus of kind modbus-tcp"},
    {"[bus b]\nkind = modbus-tcp\naddress = h\nbaud = 9600\n",
     "4: baud in [bus b]; allowed: only in a bus of kind modbus-rtu"},
    {"[bus b]\nkind = modbus-tcp\n", "1: [bus b] has no address; allowed: address = host:port"},
    {"[bus b]\nkind = modbus-tcp\naddress = h:0\n",
     "3: \"h:0\" for address in [bus b]; allowed: host, host:port, [IPv6]:port, with a port "
     "from 1 to 65535"},
    {"[bus b]\nkind = modbus-tcp\naddress = h\nbyte_timeout = 51 ms\n",
     "4: \"51 ms\" for byte_timeout in [bus b]; allowed: a time from 1 ms to 50 ms, as \"50 "
     "ms\""},
    {"[bus b]\nkind = modbus-tcp\naddress = h\nresponse_timeout = 500\n",
     "4: \"500\" for response_timeout in [bus b]; allowed: a time from 20 ms to 5000 ms, as "
     "\"5000 ms\""},
    {"[bus a]\nkind = modbus-rtu\ndevice = /dev/t\n[bus b]\nkind = modbus-rtu\ndevice = "
     "/dev/t\n",
     "6: \"/dev/t\" for device in [bus b]; allowed: a device of its own; [bus a] has this one"},

    /* instruments, maps, zones: behind the eleven lines of WIRED */
    {WIRED "[instrument j]\nunit = 1\nzone = z\nread = temperature input 0 int16\n",
     "12: [instrument j] has no bus; allowed: bus = the NAME of a [bus NAME]"},
    {WIRED "[instrument j]\nbus = b\nunit = 1\nread = temperature input 0 int16\n",
     "12: [instrument j] has no zone; allowed: zone = the NAME of a [zone NAME]"},
    {WIRED "[instrument j]\nbus = b\nunit = 1\nzone = z\n",
     "12: [instrument j] reads nothing; allowed: read = QUANTITY TABLE ADDRESS TYPE, or map = "
     "NAME"},
    {WIRED "[instrument j]\nbus = b\nunit = 1\nzone = z\nmap = m\n",
     "16: \"m\" for map in [instrument j]; allowed: the NAME of a section [map NAME]: none"},
    {WIRED "[instrument j]\nbus = b\nunit = 256\nzone = z\nread = leak coil 0 bit\n",
     "14: \"256\" for unit in [instrument j]; allowed: a whole number, 0 to 255"},
    {WIRED "every = 0 s\n",
     "12: \"0 s\" for every in [instrument i]; allowed: a time from 1 s to "
     "1 h, as \"90 s\", \"30 min\", \"2 h\""},
    {WIRED "every = 2 h\n",
     "12: \"2 h\" for every in [instrument i]; allowed: a time from 1 s to "
     "1 h, as \"90 s\", \"30 min\", \"2 h\""},
    {WIRED "uncertainty = wood_moisture 2\n", "12: uncertainty of wood_moisture in [instrument "
                                              "i], which does not read it; allowed: what "
                                              "its read lines name"},
    {WIRED "uncertainty = humidity\n",
     "12: \"humidity\" for uncertainty in [instrument i]; allowed: QUANTITY NUMBER, QUANTITY "
     "NUMBER, as \"temperature 0.3, humidity 2\", each above 0 and up to 50"},
    {WIRED "uncertainty = humidity 0\n",
     "12: \"humidity 0\" for uncertainty in [instrument i]; allowed: QUANTITY NUMBER, QUANTITY "
     "NUMBER, as \"temperature 0.3, humidity 2\", each above 0 and up to 50"},
    {WIRED "read = humidity input 9 int16\n",
     "12: humidity read again in [instrument i]; allowed: one read line a quantity"},
    {"[map m]\nuncertainty = humidity 2\n",
     "1: [map m] has no read; allowed: read = QUANTITY TABLE ADDRESS TYPE"},
    {WIRED "[zone y]\nlead = i\n",
     "13: \"i\" for lead in [zone y]; allowed: an instrument with zone = y"},
    {WIRED "[zone y]\npurpose = attic\n", "13: \"attic\" for purpose in [zone y]; allowed: "
                                          "drying, bench, store, quarantine, gallery, "
                                          "chamber, crate, transit, outdoor, other"},
};

static void each_mistake_is_named_with_its_line_and_what_is_allowed(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct buf want = {0};
        buf_printf(&want, "site.ini:%s\n", wrong[i].want);
        site_text_gives(wrong[i].text, want.data);
        buf_free(&want);
    }
}

static void mistakes_of_unread_lines_are_counted_not_kept(void **state)
{
    (void)state;
    struct buf text = {0};
    for (int i = 0; i < 1234; i++)
        buf_str(&text, "?\n");
    struct buf mistakes = {0};
    site_text_wrong(text.data, text.len, &mistakes);
    assert_non_null(strstr(mistakes.data, "site.ini:1000: neither"));
    assert_null(strstr(mistakes.data, "site.ini:1001:"));
    assert_non_null(strstr(mistakes.data, "site.ini: and 234 more\n"));
    buf_free(&mistakes);
    buf_free(&text);
}

static void a_file_far_too_large_is_refused_in_one_line(void **state)
{
    (void)state;
    size_t len = 600 * 1024;
    char *text = malloc(len);
    assert_non_null(text);
    memset(text, '\n', len);
    struct buf mistakes = {0};
    site_text_wrong(text, len, &mistakes);
    assert_string_equal(mistakes.data,
                        "site.ini:1: file of 614400 bytes; allowed: at most 524288 bytes\n");
    buf_free(&mistakes);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ten_mistakes_give_ten_lines_in_the_order_of_the_file),
        cmocka_unit_test(each_mistake_is_named_with_its_line_and_what_is_allowed),
        cmocka_unit_test(mistakes_of_unread_lines_are_counted_not_kept),
        cmocka_unit_test(a_file_far_too_large_is_refused_in_one_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
