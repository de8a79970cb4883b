#!/bin/bash
# The arrows of the house: which folder of daemon/ may include which, where each library's header
# lives, and who may read a clock. Prints every line that breaks a rule.
set -euo pipefail

# Upper floors may look down, never up; tool and http stand side by side.
floors="base:1 site:2 store:3 source:4 book:5 watch:6 evidence:7 recorder:8 report:9 http:10 tool:10"

# Headers of libraries, and of the pages made at build time, and the one place of each.
homes="sqlite3.h:store zlib.h:store modbus.h:source modbus/:source iio.h:source mosquitto.h:source \
microhttpd.h:http assets.h:http cairo:report pango/:report curl/:tool sodium.h:base sodium/:base jansson.h:base \
ini.h:site systemd/:stillroomd.c"

# C11, POSIX and the few of Linux: anything else is a library that has no home yet.
system="assert ctype errno fenv float inttypes iso646 limits locale math setjmp signal stdalign stdarg \
stdatomic stdbool stddef stdint stdio stdlib stdnoreturn string strings tgmath threads time uchar wchar \
wctype dirent dlfcn fcntl fnmatch getopt glob grp iconv ifaddrs langinfo libgen malloc netdb poll pthread pwd \
regex sched semaphore spawn sysexits syslog termios unistd wordexp arpa/inet net/if netinet/in \
netinet/tcp netinet/ip sys/epoll sys/eventfd sys/file sys/inotify sys/ioctl sys/mman sys/prctl sys/random \
sys/resource sys/select sys/sendfile sys/signalfd sys/socket sys/stat sys/statvfs sys/syscall sys/time \
sys/timerfd sys/times sys/timex sys/types sys/uio sys/un sys/utsname sys/vfs sys/wait linux/serial"

# The library is arithmetic: no input, no output, no clock, no thread.
pure="assert errno float inttypes limits math stdarg stdbool stddef stdint stdlib string tgmath"

check() { # ROOT [FILE]: prints what breaks a rule, nothing if all holds
    (cd "$1" && find ${2:-daemon lib include} -name '*.[ch]' | sort | xargs awk \
        -v floors="$floors" -v homes="$homes" -v system_list="$system" -v pure_list="$pure" '
    BEGIN {
        n = split(floors, a, " ")
        for (i = 1; i <= n; i++) { split(a[i], p, ":"); floor[p[1]] = p[2] }
        home_count = split(homes, home, " ")
        n = split(system_list, a, " ")
        for (i = 1; i <= n; i++) libc[a[i] ".h"] = 1
        n = split(pure_list, a, " ")
        for (i = 1; i <= n; i++) plain[a[i] ".h"] = 1
    }
    function tell(what) { print FILENAME ":" FNR ": " what ": " $0 }

    # The folder of daemon/ a file is in, its own name if in none, "lib" for the library.
    function place(file,   p) {
        split(file, p, "/")
        return p[1] == "daemon" ? p[2] : "lib"
    }
    function quoted(header,   p, n, f) {
        if (header ~ /^stillroom\// || (header == "version.h" && place(FILENAME) != "lib"))
            return
        n = split(header, p, "/")
        f = place(FILENAME)
        if (f == "lib") {
            if (n > 1) tell("the library includes only stillroom/ and its own")
        } else if (!(f in floor)) {
            return # stillroomd.c and stillroom.c wire everything together
        } else if (n < 2 || !(p[1] in floor)) {
            if (!at_home(header, f)) tell("no such floor")
        } else if (f != p[1] && floor[f] <= floor[p[1]]) {
            tell(f " may not look up to " p[1])
        }
    }
    # True if a header has a home, here or elsewhere, and elsewhere is told.
    function at_home(header, f,   i, p) {
        for (i = 1; i <= home_count; i++) {
            split(home[i], p, ":")
            if (index(header, p[1]) == 1) {
                if (f != p[2]) tell(header " lives in " p[2] " only")
                return 1
            }
        }
        return 0
    }
    function angled(header,   f) {
        f = place(FILENAME)
        if (header ~ /^stillroom\//)
            return
        if (f == "lib") {
            if (!(header in plain)) tell("the library is arithmetic only")
            return
        }
        if (!at_home(header, f) && !(header in libc)) tell("a library without a home")
    }
    # The code of a line without comments and the insides of strings; in_comment runs on.
    function code(line,   out, i, c, two, quote) {
        out = ""
        for (i = 1; i <= length(line); i++) {
            c = substr(line, i, 1); two = substr(line, i, 2)
            if (in_comment) { if (two == "*/") { in_comment = 0; i++ } }
            else if (quote != "") { if (c == "\\") i++; else if (c == quote) quote = "" }
            else if (two == "/*") { in_comment = 1; i++; out = out " " }
            else if (two == "//") break
            else if (c == "\"" || c == "\047") { quote = c; out = out c }
            else out = out c
        }
        return out
    }
    FNR == 1 { in_comment = 0 }
    {
        line = code($0)
        if (line ~ /^[ \t]*#[ \t]*include/) {
            if (match($0, /"[^"]+"/)) quoted(substr($0, RSTART + 1, RLENGTH - 2))
            else if (match($0, /<[^>]+>/)) angled(substr($0, RSTART + 1, RLENGTH - 2))
            else tell("an include that cannot be read")
        } else if (FILENAME != "daemon/base/clock.c" &&
            line ~ /(^|[^A-Za-z0-9_.>])(clock_gettime|clock_nanosleep|gettimeofday|timespec_get|time|nanosleep|usleep|sleep)[ \t]*\(/) {
            tell("only base/clock.c reads clocks and waits")
        }
    }')
}

# Each row breaks one rule in a copy: FILE, the line put at its end.
blind=0
self_check() {
    local copy=$1 file line got
    while IFS='|' read -r file line; do
        mkdir -p "$(dirname "$copy/$file")"
        [ -f "$copy/$file" ] && cp "$copy/$file" "$copy/kept" || rm -f "$copy/kept"
        printf '\n%s\n' "$line" >>"$copy/$file"
        got=$(check "$copy" "$file")
        if ! grep -qF "$line" <<<"$got" || ! grep -q "^$file:" <<<"$got"; then
            echo "the check does not see $file: $line"
            blind=1
        fi
        if [ -f "$copy/kept" ]; then mv "$copy/kept" "$copy/$file"; else rm "$copy/$file"; fi
    done <<'END'
daemon/base/buf.c|#include "site/site.h"
daemon/store/injected.c|#include "source/sink.h"
daemon/watch/injected.h|#include "recorder/recorder.h"
daemon/evidence/injected.c|#include "recorder/recorder.h"
daemon/http/injected.c|#include "tool/tool.h"
daemon/tool/injected.c|  #  include "http/http.h"
daemon/site/injected.c|#include "widget/widget.h"
daemon/site/injected.c|#include "injected.h"
daemon/http/injected.c|#include <sqlite3.h>
daemon/http/injected.c|#include "sqlite3.h"
daemon/tool/injected.c|#include "assets.h"
daemon/recorder/injected.c|#include <modbus/modbus.h>
daemon/store/injected.c|#include <sodium.h>
daemon/report/injected.c|#include <systemd/sd-daemon.h>
daemon/base/injected.c|#include <openssl/evp.h>
daemon/stillroom.c|#include <curl/curl.h>
lib/rc.c|#include "base/rc.h"
lib/rc.c|#include <stdio.h>
include/stillroom/rc.h|#include <time.h>
daemon/store/injected.c|static long now(void) { return time(NULL); }
daemon/base/log.c|int injected(void) { return sleep (1); }
daemon/source/injected.c|/* a */ clock_gettime(CLOCK_REALTIME, &t);
lib/rc.c|int injected(void) { usleep(1); return 0; }
END
    # What only looks like it must pass.
    cat >"$copy/daemon/store/injected.c" <<'END'
/* #include "http/http.h" would be wrong; so would time(NULL) */
static const char text[] = "sleep(1) /* "; // time(NULL)
int uptime(int x) { return lifetime(x) + s.time(x) + p->time(x); }
END
    got=$(check "$copy" daemon/store/injected.c)
    if [ -n "$got" ]; then
        echo "the check sees what is not there: $got"
        blind=1
    fi
}

copy=$(mktemp -d)
trap 'rm -rf "$copy"' EXIT
cp -r daemon lib include "$copy/"
broken=$(check .)
self_check "$copy"
if [ -n "$broken" ]; then
    echo "$broken"
    exit 1
fi
exit $blind
