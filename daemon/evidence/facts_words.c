/* facts_words.c - VERIFY.txt: how a stranger checks a bundle with GNU coreutils and OpenSSL 3
 * alone (facts.h). Lines set in by four spaces are commands; nothing else is. A POSIX shell runs
 * them; no grep, sed or awk is asked for. */
#include "evidence/facts.h"

#include <stdio.h>
#include <string.h>

#include "base/clock.h"

static const char contents[] =
    "WHAT IS HERE\n\n"
    "  YYYY-MM-DD/   one folder for each day (UTC), in it:\n"
    "    day.txt     what was signed: day, number, the SHA-256 of MANIFEST and of the\n"
    "                day.txt before it, the store, the key\n"
    "    day.sig     the Ed25519 signature over day.txt\n"
    "    MANIFEST    the SHA-256 of every file of the day\n"
    "    channel-N.csv   readings of channel N: time,value,flags. Time is seconds\n"
    "                since 1970-01-01 00:00 UTC; value a whole number, to be divided by\n"
    "                10 as often as channels.csv says under \"decimals\"; flags a sum of\n"
    "                1 out of range, 2 jump, 4 stuck, 8 suspect, 16 clock not\n"
    "                synchronised, 32 imported, 64 instrument in check\n"
    "    channels.csv    what each channel measures, by which instrument, in which zone\n"
    "    gaps.csv    times without readings: channel,from,to,reason,detail. Reasons: 1 no\n"
    "                answer, 2 garbled answer, 3 the instrument refused (detail: its code),\n"
    "                4 another unit answered, 5 no connection, 6 no device, 7 the instrument\n"
    "                gave no value, 8 logger stopped, 9 logger ended without a stop (power\n"
    "                cut), 10 not written in time, 11 instrument in check, 12 never read\n"
    "                yet, 13 taken out, 14 asked less often, 15 clock put forward, 16 bus\n"
    "                busy\n"
    "    late.csv    readings that came late, with the time at which they came\n"
    "    alarms.csv  alarms: occurrence,limit,t,from,to,value. From and to are states:\n"
    "                0 normal, 1 unacknowledged, 2 acknowledged, 3 returned, 4 shelved,\n"
    "                5 out of service\n"
    "    clock.csv   steps of the clock; site-*.ini, the settings in force\n"
    "                (each of these only where there was something)\n"
    "  key*.pem      public keys\n"
    "  bundle.json   what the bundle holds, for programs\n"
    "  SHA256SUMS    the SHA-256 of all the files here\n\n";

static const char damage[] =
    "1. WAS A FILE DAMAGED ON ITS WAY?\n\n"
    "    sha256sum -c --quiet SHA256SUMS\n\n"
    "It must say nothing. This list is not signed: it finds accidents, not intent.\n\n";

static const char one_key[] =
    "2. IS IT THE STUDIO'S KEY?\n\n"
    "    openssl pkey -pubin -in key.pem -outform DER | tail -c 32 | sha256sum\n\n"
    "It must print the fingerprint of the key that you were given by another way than this\n"
    "bundle: on paper, by telephone, in an earlier report. In this bundle it is\n\n";

static const char many_keys[] =
    "2. ARE THEY THE STUDIO'S KEYS?\n\n"
    "    for key in key-*.pem; do\n"
    "        printf '%s ' \"$key\"\n"
    "        openssl pkey -pubin -in \"$key\" -outform DER | tail -c 32 | sha256sum\n"
    "    done\n\n"
    "The key was changed within these days; ask the studio when and why. Each line must\n"
    "show the fingerprint of a key that you were given by another way than this bundle:\n"
    "on paper, by telephone, in an earlier report. In this bundle they are\n\n";

static const char forger[] =
    "\nThe first 16 digits are the key's id, which day.txt names in its last line but notes.\n"
    "A forger can make another key, and a bundle that agrees with it from end to end: only\n"
    "this comparison shows it.\n\n";

static const char signatures[] =
    "3. DID THAT KEY SIGN EACH DAY?\n\n"
    "    for day in *-*-*; do\n"
    "        printf '%%s ' \"$day\"\n"
    "        (cd \"$day\" && openssl pkeyutl -verify -pubin -inkey %s -rawin "
    "-in day.txt -sigfile day.sig)\n"
    "    done\n\n"
    "Each line must end with \"Signature Verified Successfully\".\n\n";

static const char manifests[] =
    "4. IS EACH MANIFEST THE ONE THAT WAS SIGNED?\n\n"
    "    for day in *-*-*; do\n"
    "        echo \"$(head -n 4 \"$day/day.txt\" | tail -n 1 | cut -d ' ' -f 2)  "
    "$day/MANIFEST\" |\n"
    "            sha256sum -c --quiet\n"
    "    done\n\n"
    "It must say nothing. By eye: sha256sum MANIFEST prints the digest that stands in the\n"
    "line \"manifest\" of day.txt.\n\n";

static const char files_all[] =
    "5. IS EACH FILE WHAT ITS MANIFEST SAYS?\n\n"
    "    for day in *-*-*; do\n"
    "        (cd \"$day\" && sha256sum -c --quiet MANIFEST) || echo \"$day: see above\"\n"
    "    done\n\n"
    "It must say nothing. If you were given only some of the files, put --ignore-missing\n"
    "behind --quiet.\n\n";

static const char files_some[] =
    "5. IS EACH FILE WHAT ITS MANIFEST SAYS?\n\n"
    "    for day in *-*-*; do\n"
    "        (cd \"$day\" && sha256sum -c --quiet --ignore-missing MANIFEST) || "
    "echo \"$day: see above\"\n"
    "    done\n\n"
    "It must say nothing. --ignore-missing passes over the files of other zones. Look into\n"
    "channels.csv whether a channel of this zone is among those that are missing.\n\n";

static const char strangers[] =
    "6. IS THERE A FILE THAT NO MANIFEST NAMES?\n\n"
    "    for file in *-*-*/*; do\n"
    "        name=${file#*/}\n"
    "        case $name in MANIFEST | day.txt | day.sig) continue ;; esac\n"
    "        cut -c 67- \"${file%/*}/MANIFEST\" | (while read -r listed; do\n"
    "            [ \"$listed\" = \"$name\" ] && exit 0\n"
    "        done; exit 1) || echo \"$file: in no MANIFEST\"\n"
    "    done\n\n"
    "It must say nothing. What no MANIFEST names was not signed: disregard it.\n\n";

static const char chained[] =
    "7. DOES EACH DAY FOLLOW THE ONE BEFORE IT?\n\n"
    "    before= first=\n"
    "    for day in *-*-*; do\n"
    "        : \"${first:=$day}\"\n"
    "        said=$(head -n 2 \"$day/day.txt\" | tail -n 1 | cut -d ' ' -f 2)\n"
    "        [ \"$said\" = \"$day\" ] || echo \"$day: this is the signed day $said\"\n"
    "        said=$(head -n 5 \"$day/day.txt\" | tail -n 1 | cut -d ' ' -f 2)\n"
    "        [ -z \"$before\" ] || [ \"$said\" = \"$before\" ] ||\n"
    "            echo \"$day: it does not follow the day before it\"\n"
    "        before=$(sha256sum \"$day/day.txt\" | cut -d ' ' -f 1)\n"
    "    done\n"
    "    echo \"days $first to $day\"\n"
    "    echo \"head $before\"\n\n"
    "It must print two lines and no more, the second the SHA-256 of the last day.txt:\n\n";

static const char notes[] =
    "8. DOES A DAY OWN UP TO A BREAK?\n\n"
    "    for day in *-*-*; do\n"
    "        tail -n +8 \"$day/day.txt\"\n"
    "    done\n\n"
    "It must say nothing. \"note break\" means that days before this one were not recorded;\n"
    "\"note fork\" that the studio had signed other days before an older copy of its\n"
    "database was put back: ask for those, and why.\n\n";

static const char lodged[] =
    "9. WAS ITS HEAD LODGED WITH YOU?\n\n"
    "Compare the SHA-256 of each day.txt with the digests of that day that you or others\n"
    "were given earlier, with a report or by mail:\n\n"
    "    sha256sum *-*-*/day.txt\n\n"
    "Where they agree, nothing up to that day was changed since the digest was given.\n\n";

static const char stamp[] =
    "10. WAS ITS HEAD STAMPED?\n\n"
    "head.tsq asks a time stamping authority (RFC 3161) to say when it saw the head. If its\n"
    "answer, head.tsr, is here too, fetch the authority's root certificate from the\n"
    "authority itself as authority.pem, and\n\n"
    "    openssl ts -verify -data %s/day.txt -in head.tsr -CAfile authority.pem\n\n"
    "must say \"Verification: OK\";\n\n"
    "    openssl ts -reply -in head.tsr -text\n\n"
    "says when that was.\n\n";

static const char meaning[] =
    "WHAT THIS PROVES, AND WHAT IT DOES NOT\n\n"
    "If the key is the studio's and nothing above was found, every file here is to the byte\n"
    "what the studio's logger signed, no day between the first and the last was left out,\n"
    "and nobody without the key changed anything.\n\n"
    "Whoever holds the key could sign another record of days whose digests nobody else has\n"
    "seen. That nothing was changed since is proved only from the moment at which a digest\n"
    "was lodged outside the studio (9, 10); ask for the oldest one.\n\n"
    "It does not prove that a sensor was right or stood where channels.csv says, that the\n"
    "clock was right, or anything of the times in gaps.csv and of days not in this bundle.\n";

static void opening(const struct facts *f, struct buf *out)
{
    char from[16], to[16], asked_from[16], asked_to[16];
    clock_day_text(f->days[0].day, from, sizeof from);
    clock_day_text(f->days[f->count - 1].day, to, sizeof to);
    clock_day_text(f->asked_from, asked_from, sizeof asked_from);
    clock_day_text(f->asked_to, asked_to, sizeof asked_to);
    buf_printf(out,
               "HOW TO CHECK THIS BUNDLE (bundle format %d)\n\n"
               "Studio:  %s\n"
               "Days:    %s to %s (UTC), signed days number %lld to %lld\n"
               "Zones:   %s%s\n\n",
               FACTS_FORMAT, f->studio, from, to, (long long)f->days[0].number,
               (long long)f->days[f->count - 1].number, f->zone == NULL ? "all" : "only ",
               f->zone == NULL ? "" : f->zone);
    if (f->asked_from != f->days[0].day || f->asked_to != f->days[f->count - 1].day)
        buf_printf(out,
                   "Asked for were %s to %s. Days that are not here were not recorded, or not\n"
                   "closed yet when the bundle was made.\n\n",
                   asked_from, asked_to);
    buf_str(
        out,
        "This is the climate record of the days above as the studio's logger closed and\n"
        "signed it, day by day. Checking it takes GNU coreutils, OpenSSL 3 and a shell, as\n"
        "any Linux system has them; nothing of the studio's. Go into this folder, and run\n"
        "the lines set in by four spaces, one step after the other.\n\n");
    if (f->zone != NULL)
        buf_str(
            out,
            "Only the files of one zone are here. The MANIFESTs name the files of the other\n"
            "zones too; these were left out, with alarms.csv and site-*.ini, which tell of\n"
            "the whole studio. That makes nothing below less certain.\n\n");
}

void facts_words(const struct facts *f, struct buf *out)
{
    const struct facts_day *head = &f->days[f->count - 1];
    char first[16], day[16];
    clock_day_text(f->days[0].day, first, sizeof first);
    clock_day_text(head->day, day, sizeof day);
    bool many = f->key_count > 1;
    opening(f, out);
    buf_str(out, contents);
    buf_str(out, damage);
    buf_str(out, many ? many_keys : one_key);
    for (size_t i = 0; i < f->key_count; i++)
        buf_printf(out, "  %s\n", f->keys[i]);
    buf_str(out, forger);
    buf_printf(out, signatures,
               many ? "\"../key-$(head -n 7 day.txt | tail -n 1 | cut -d ' ' -f 2).pem\""
                    : "../key.pem");
    buf_str(out, manifests);
    buf_str(out, f->zone == NULL ? files_all : files_some);
    buf_str(out, strangers);
    buf_str(out, chained);
    buf_printf(out, "  days %s to %s\n  head %s\n\n", first, day, head->digest);
    buf_str(out, notes);
    buf_str(out, lodged);
    if (f->stamped)
        buf_printf(out, stamp, day);
    buf_str(out, meaning);
}
