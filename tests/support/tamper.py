"""What an intruder without the studio's key may do to a bundle or to a database. Each tampering is a
function of (random, where) that returns (words, day, file): what it did, and what a check must name
("" where it concerns no day, or no file)."""
import glob
import hashlib
import os
import re
import shutil
import sqlite3
import subprocess
import zlib

SUMS = "SHA256SUMS"


def read(path):
    with open(path, "rb") as f:
        return f.read()


def write(path, data):
    with open(path, "wb") as f:
        f.write(data)


def sha(data):
    return hashlib.sha256(data).hexdigest()


def flip(random, data):
    at = random.randrange(len(data))
    return data[:at] + bytes([data[at] ^ (1 << random.randrange(8))]) + data[at + 1:], at


def change_digit(random, data):
    """Another digit in the value of one reading: still a day file by its form."""
    lines = data.split(b"\n")
    i = random.randrange(len(lines) - 1)
    t, value, flags = lines[i].split(b",")
    value = str(int(value) + random.choice((-100, -1, 1, 10))).encode()
    lines[i] = b",".join((t, value, flags))
    return b"\n".join(lines)


def delete_line(random, data):
    lines = data.split(b"\n")
    del lines[random.randrange(len(lines) - 1)]
    return b"\n".join(lines)


class Forger:
    """Another key, and what it signs."""

    def __init__(self, place):
        self.key = os.path.join(place, "forger.key")
        subprocess.run(["openssl", "genpkey", "-algorithm", "ed25519", "-out", self.key], check=True)
        self.pem = subprocess.run(["openssl", "pkey", "-in", self.key, "-pubout"], check=True,
                                  capture_output=True).stdout
        self.public = subprocess.run(["openssl", "pkey", "-in", self.key, "-pubout", "-outform",
                                      "DER"], check=True, capture_output=True).stdout[-32:]
        self.id = sha(self.public)[:16]

    def sign(self, text):
        path = self.key + ".text"
        write(path, text)
        return subprocess.run(["openssl", "pkeyutl", "-sign", "-inkey", self.key, "-rawin", "-in",
                               path], check=True, capture_output=True).stdout


# -- bundles: `where` is the folder --

def days(folder):
    return sorted(os.path.basename(p) for p in glob.glob(os.path.join(folder, "*-*-*")))


def a_file(random, folder, pattern):
    return random.choice(sorted(glob.glob(os.path.join(folder, pattern))))


def named(folder, path):
    """(day, file) of a path in the bundle."""
    parts = os.path.relpath(path, folder).split(os.sep)
    return (parts[0], parts[1]) if len(parts) == 2 else ("", parts[0])


def careful(folder):
    """Brings the list that is not signed up to date."""
    lines = []
    for base, _, names in os.walk(folder):
        for name in names:
            path = os.path.relpath(os.path.join(base, name), folder)
            if path != SUMS:
                lines.append(f"{sha(read(os.path.join(folder, path)))}  {path}\n")
    write(os.path.join(folder, SUMS), "".join(sorted(lines)).encode())


def flipped_byte(random, folder):
    path = a_file(random, folder, random.choice(("*-*-*/*", "*-*-*/day.*", "*-*-*/MANIFEST", "*.*")))
    data, at = flip(random, read(path))
    write(path, data)
    return (f"byte {at} flipped in {path}", *named(folder, path))


def flipped_in_sums(random, folder):
    path = os.path.join(folder, SUMS)
    data, at = flip(random, read(path))
    while data.lower() == read(path).lower():  # sha256sum reads digits in either case
        data, at = flip(random, read(path))
    write(path, data)
    return f"byte {at} flipped in {path}", "", ""


def changed_value(random, folder):
    path = a_file(random, folder, "*-*-*/channel-*.csv")
    write(path, change_digit(random, read(path)))
    return (f"a value changed in {path}", *named(folder, path))


def deleted_line(random, folder):
    path = a_file(random, folder, "*-*-*/*.csv")
    write(path, delete_line(random, read(path)))
    return (f"a line deleted in {path}", *named(folder, path))


def swapped_days(random, folder):
    a, b = sorted(random.sample(days(folder), 2))
    whole = [os.path.join(folder, name) for name in (a, b, "between")]
    for source, target in ((0, 2), (1, 0), (2, 1)):
        os.rename(whole[source], whole[target])
    return f"{a} and {b} swapped", a, "day.txt"


def swapped_files(random, folder):
    a, b = sorted(random.sample(days(folder), 2))
    name = random.choice(("day.txt", "MANIFEST", "channel-1.csv"))
    first, second = (os.path.join(folder, day, name) for day in (a, b))
    data = read(first)
    write(first, read(second))
    write(second, data)
    return f"{name} of {a} and {b} swapped", a, name


def forged_day(random, folder, forger):
    """A reading changed, and its day signed anew by another key, in whose name the text is."""
    day = random.choice(days(folder))
    place = os.path.join(folder, day)
    path = os.path.join(place, "channel-1.csv")
    write(path, change_digit(random, read(path)))
    manifest = re.sub(rb"[0-9a-f]{64}(?=  channel-1.csv)", sha(read(path)).encode(),
                      read(os.path.join(place, "MANIFEST")))
    write(os.path.join(place, "MANIFEST"), manifest)
    text = read(os.path.join(place, "day.txt"))
    text = re.sub(rb"manifest .*", b"manifest " + sha(manifest).encode(), text)
    text = re.sub(rb"\nkey .*", b"\nkey " + forger.id.encode(), text)
    write(os.path.join(place, "day.txt"), text)
    write(os.path.join(place, "day.sig"), forger.sign(text))
    if random.random() < 0.5:
        write(os.path.join(folder, f"key-{forger.id}.pem"), forger.pem)
    return f"{day} forged", day, ""


def forged_signature(random, folder, forger):
    """The same text with the signature of another key."""
    day = random.choice(days(folder))
    text = read(os.path.join(folder, day, "day.txt"))
    write(os.path.join(folder, day, "day.sig"), forger.sign(text))
    return f"the signature of {day} forged", day, "day.sig"


def forged_bundle(random, folder, forger):
    """All days anew by another key, a chain that agrees with itself, its key in the bundle."""
    real = sha(subprocess.run(["openssl", "pkey", "-pubin", "-in", os.path.join(folder, "key.pem"),
                               "-outform", "DER"], check=True, capture_output=True).stdout[-32:])
    path = a_file(random, folder, "*-*-*/channel-*.csv")
    write(path, change_digit(random, read(path)))
    known = {}
    for day in days(folder):
        place = os.path.join(folder, day)
        manifest = b"".join(
            sha(read(os.path.join(place, name))).encode() + b"  " + name.encode() + b"\n"
            for name in re.findall(r"  (.*)\n", read(os.path.join(place, "MANIFEST")).decode()))
        write(os.path.join(place, "MANIFEST"), manifest)
        old = read(os.path.join(place, "day.txt"))
        text = re.sub(rb"manifest .*", b"manifest " + sha(manifest).encode(), old)
        text = re.sub(rb"\nkey .*", b"\nkey " + forger.id.encode(), text)
        for before, after in known.items():
            text = text.replace(before, after)
        known[sha(old).encode()] = sha(text).encode()
        write(os.path.join(place, "day.txt"), text)
        write(os.path.join(place, "day.sig"), forger.sign(text))
    write(os.path.join(folder, "key.pem"), forger.pem)
    for name in ("VERIFY.txt", "bundle.json"):
        said = read(os.path.join(folder, name))
        for before, after in {**known, real.encode(): sha(forger.public).encode()}.items():
            said = said.replace(before, after)
        write(os.path.join(folder, name), said)
    return "all signed anew by another key", days(folder)[0], "day.sig"


def day_left_out(random, folder):
    day = random.choice(days(folder))
    shutil.rmtree(os.path.join(folder, day))
    return f"{day} left out", "", ""


def file_left_out(random, folder):
    path = a_file(random, folder, "*-*-*/*")
    os.remove(path)
    return (f"{path} left out", *named(folder, path))


def added_file(random, folder):
    day, name = random.choice(days(folder)), random.choice(("channel-99.csv", "late.txt", "gaps.CSV"))
    write(os.path.join(folder, day, name), b"1767300000,5000,0\n")
    return f"{name} added to {day}", day, name


def added_day(random, folder):
    source, day = random.choice(days(folder)), "2026-02-01"
    shutil.copytree(os.path.join(folder, source), os.path.join(folder, day))
    return f"{source} copied as {day}", day, "day.txt"


BUNDLE = (flipped_byte, flipped_byte, flipped_byte, changed_value, deleted_line, swapped_days,
          swapped_files, day_left_out, file_left_out, added_file, added_day)
BUNDLE_CARELESS = (flipped_in_sums,)
BUNDLE_FORGED = (forged_day, forged_signature, forged_bundle)


# -- databases: `where` is a connection --

def date(day):
    return sqlite3.connect(":memory:").execute("SELECT date(?, 'unixepoch')",
                                               (day * 86400,)).fetchone()[0]


def inflate(data, size):
    return data if len(data) == size else zlib.decompress(data)


def put_day_file(db, channel, day, text):
    """As one would who knows the table: packed, counted, with its own digest."""
    db.execute("UPDATE day SET data = ?, size = ?, n = ?, digest = ? WHERE channel = ? AND day = ?",
               (zlib.compress(text), len(text), text.count(b"\n"), hashlib.sha256(text).digest(),
                channel, day))


def a_row(random, db, question):
    return random.choice(db.execute(question).fetchall())


def a_day_file(random, db):
    channel, day, data, size = a_row(random, db, "SELECT channel, day, data, size FROM day")
    return channel, day, inflate(data, size)


def store_changed_value(random, db):
    channel, day, text = a_day_file(random, db)
    put_day_file(db, channel, day, change_digit(random, text))
    return f"a value of channel {channel} changed", date(day), f"channel-{channel}.csv"


def store_deleted_line(random, db):
    channel, day, text = a_day_file(random, db)
    put_day_file(db, channel, day, delete_line(random, text))
    return f"a line of channel {channel} deleted", date(day), f"channel-{channel}.csv"


def store_flipped_byte(random, db):
    table = random.choice(("day", "text"))
    if table == "day":
        channel, day, data = a_row(random, db, "SELECT channel, day, data FROM day")
        db.execute("UPDATE day SET data = ? WHERE channel = ? AND day = ?",
                   (flip(random, data)[0], channel, day))
        return "a byte of a day file flipped", date(day), f"channel-{channel}.csv"
    digest, data = a_row(random, db, "SELECT digest, data FROM text")
    db.execute("UPDATE text SET data = ? WHERE digest = ?", (flip(random, data)[0], digest))
    return f"a byte of the text {digest.hex()[:16]} flipped", "", ""


def store_flipped_column(random, db):
    column = random.choice(("text", "signature", "digest", "manifest", "key"))
    day, data = a_row(random, db, f"SELECT day, CAST({column} AS BLOB) FROM signed_day")
    db.execute(f"UPDATE signed_day SET {column} = ? WHERE day = ?", (flip(random, data)[0], day))
    return f"a byte of {column} flipped", date(day), ""


def store_swapped_days(random, db):
    table, columns, where = random.choice((
        ("signed_day", ("number", "manifest", "text", "signature", "digest", "key"), "1"),
        ("signed_day", ("text",), "1"),
        ("day", ("n", "size", "digest", "data"), "channel = 1")))
    rows = db.execute(f"SELECT day, {', '.join(columns)} FROM {table} WHERE {where}").fetchall()
    (a, *of_a), (b, *of_b) = sorted(random.sample(rows, 2))
    sets = ", ".join(f"{column} = ?" for column in columns)
    for day, values in ((a, of_b), (b, of_a)):
        db.execute(f"UPDATE {table} SET {sets} WHERE day = ? AND {where}", (*values, day))
    return f"{', '.join(columns)} of two days swapped", date(a), ""


def store_day_left_out(random, db):
    day, = a_row(random, db, "SELECT day FROM signed_day")
    for table in ("signed_day", "day"):
        db.execute(f"DELETE FROM {table} WHERE day = ?", (day,))
    return f"{date(day)} left out", "", ""


def store_last_day_left_out(random, db):
    """With the traces of it that a database has."""
    day, = db.execute("SELECT max(day) FROM signed_day").fetchone()
    for table in ("signed_day", "day"):
        db.execute(f"DELETE FROM {table} WHERE day = ?", (day,))
    db.execute("UPDATE meta SET value = ? WHERE key = 'open_day'", (day,))
    return f"the last day, {date(day)}, left out", "", ""


def store_all_left_out(random, db):
    db.execute("DELETE FROM signed_day")
    return "all signed days left out", "", ""


def store_file_left_out(random, db):
    channel, day, _ = a_day_file(random, db)
    db.execute("DELETE FROM day WHERE channel = ? AND day = ?", (channel, day))
    return f"the file of channel {channel} left out", date(day), f"channel-{channel}.csv"


def store_added_file(random, db):
    """A day of readings for a channel that had none, or of a day long past."""
    _, day, text = a_day_file(random, db)
    channel = 99
    if random.random() < 0.5:
        channel, day = 1, day - 100
    db.execute("INSERT INTO day(channel, day, n, size, digest, data) VALUES(?,?,?,?,?,?)",
               (channel, day, text.count(b"\n"), len(text), hashlib.sha256(text).digest(),
                zlib.compress(text)))
    return f"a file of channel {channel} added", date(day), f"channel-{channel}.csv"


def store_gap(random, db):
    gap, start, end = a_row(random, db, "SELECT id, from_t, to_t FROM gap WHERE to_t - from_t > 600")
    what = random.choice(("DELETE FROM gap WHERE id = ?", "UPDATE gap SET to_t = to_t - 300 WHERE id"
                          " = ?", "UPDATE gap SET reason = 1 WHERE id = ?",
                          "INSERT INTO gap(channel, from_t, to_t, reason, detail) SELECT channel,"
                          " from_t - 9000, to_t - 9000, reason, 0 FROM gap WHERE id = ?"))
    db.execute(what, (gap,))
    return f"{what} {start} {end}", "", "gaps.csv"


def store_late(random, db):
    seq, day = a_row(random, db, "SELECT seq, day FROM late WHERE day <"
                                 " (SELECT value FROM meta WHERE key = 'open_day')")
    what = random.choice(("DELETE FROM late WHERE seq = ?", "UPDATE late SET value = value + 1 WHERE"
                          " seq = ?", "INSERT INTO late(channel, t, value, flags, received, day)"
                          " SELECT channel, t + 1, value, flags, received, day FROM late WHERE seq ="
                          " ?"))
    db.execute(what, (seq,))
    return what, date(day), "late.csv"


def store_alarm(random, db):
    event, t = a_row(random, db, "SELECT id, t FROM alarm_event WHERE t / 86400 <"
                                 " (SELECT value FROM meta WHERE key = 'open_day')")
    what = random.choice(("DELETE FROM alarm_event WHERE id = ?", "UPDATE alarm_event SET t = t - 60"
                          " WHERE id = ?", "UPDATE alarm_event SET to_state = 0 WHERE id = ?",
                          "INSERT INTO alarm_event(occurrence, limit_name, priority, t, from_state,"
                          " to_state) SELECT occurrence, limit_name, priority, t, 2, 0 FROM"
                          " alarm_event WHERE id = ?"))
    before = db.execute("SELECT to_state FROM alarm_event WHERE id = ?", (event,)).fetchone()[0]
    if "to_state = 0" in what and before == 0:
        what = "DELETE FROM alarm_event WHERE id = ?"
    db.execute(what, (event,))
    return what, date(t // 86400), "alarms.csv"


def store_instrument(random, db):
    what = random.choice(("UPDATE instrument SET serial = '999' WHERE name = 'i1'",
                          "UPDATE placement SET zone = 3 - zone",
                          "UPDATE channel SET quantity = 'wood_moisture' WHERE id = 3",
                          "UPDATE channel SET decimals = 1 WHERE id = 2"))
    db.execute(what)
    return what, date(a_row(random, db, "SELECT day FROM signed_day")[0]), "channels.csv"


def store_clock(random, db):
    day, = a_row(random, db, "SELECT day FROM signed_day")
    db.execute("INSERT INTO clock_step(t, step_ms) VALUES(?, -3600000)", (day * 86400 + 4000,))
    return "a step of the clock put in", date(day), "clock.csv"


def store_site_file(random, db):
    day, = a_row(random, db, "SELECT day FROM signed_day WHERE number > 1")
    text = b"[studio]\nname = Another\n"
    digest = hashlib.sha256(text).digest()
    db.execute("INSERT INTO text(digest, size, data) VALUES(?, ?, ?)", (digest, len(text), text))
    db.execute("INSERT INTO site_file(t, digest) VALUES(?, ?)", (day * 86400 + 100, digest))
    return "a site file put in", date(day), f"site-{digest.hex()[:8]}.ini"


def store_added_text(random, db):
    text = b"%d" % random.randrange(10 ** 9)
    digest = hashlib.sha256(text).digest()
    db.execute("INSERT INTO text(digest, size, data) VALUES(?, ?, ?)", (digest, len(text), text))
    return f"the text {digest.hex()[:16]} put in", "", ""


def store_id(random, db):
    db.execute("UPDATE meta SET value = value + 1 WHERE key = 'store_id'")
    return "the store's id changed", "", ""


def store_rollup(random, db):
    """What a chart of a channel is made of, without a word of what was signed."""
    level, series, slot, channel = a_row(
        random, db, "SELECT r.level, r.series, r.slot, s.channel FROM rollup r JOIN series s ON"
                    " s.id = r.series WHERE s.channel > 0")
    what = random.choice(("UPDATE rollup SET sum = sum - 100 * n", "UPDATE rollup SET max = max - 1",
                          "UPDATE rollup SET min = min + 1", "UPDATE rollup SET n = n + 1",
                          "DELETE FROM rollup"))
    db.execute(f"{what} WHERE level = ? AND series = ? AND slot = ?", (level, series, slot))
    day = slot * (900, 3600, 21600, 86400)[level] // 86400
    return f"{what} of level {level}", date(day), f"channel-{channel}.csv"


def store_wild(random, db):
    """Numbers that no calendar has, and columns of another kind."""
    what = random.choice(("UPDATE signed_day SET day = ? WHERE number = 3",
                          "UPDATE signed_day SET number = ? WHERE number = 3",
                          "UPDATE day SET day = ? WHERE channel = 1 AND day = (SELECT max(day) FROM"
                          " signed_day)", "UPDATE day SET size = ? WHERE channel = 1",
                          "UPDATE day SET n = ? WHERE channel = 1",
                          "UPDATE meta SET value = ? WHERE key = 'open_day'",
                          "UPDATE signed_day SET text = ? WHERE number = 3",
                          "UPDATE signed_day SET key = ? WHERE number = 3",
                          "UPDATE late SET received = ?", "UPDATE text SET size = ?"))
    value = random.choice((-2 ** 63, 2 ** 63 - 1, 2 ** 31, -1, 0, 2 ** 40, "\x1b[2J\x07", b"\xff\x00"))
    try:
        db.execute(what, (value,))
    except sqlite3.IntegrityError:  # a day is a number, whatever else it is
        return store_wild(random, db)
    return f"{what}: {value!r}", "", ""


def store_forged(random, db, forger):
    """A reading changed, and its day signed anew by another key."""
    day, text, manifest = a_row(random, db, "SELECT day, text, manifest FROM signed_day")
    data, size = db.execute("SELECT data, size FROM day WHERE channel = 1 AND day = ?",
                            (day,)).fetchone()
    changed = change_digit(random, inflate(data, size))
    put_day_file(db, 1, day, changed)
    data, size = db.execute("SELECT data, size FROM text WHERE digest = ?", (manifest,)).fetchone()
    listed = re.sub(rb"[0-9a-f]{64}(?=  channel-1.csv)", sha(changed).encode(), inflate(data, size))
    db.execute("UPDATE text SET digest = ?, size = ?, data = ? WHERE digest = ?",
               (hashlib.sha256(listed).digest(), len(listed), zlib.compress(listed), manifest))
    text = re.sub(r"manifest .*", "manifest " + sha(listed), text)
    text = re.sub(r"\nkey .*", "\nkey " + forger.id, text)
    db.execute("UPDATE signed_day SET text = ?, manifest = ?, signature = ?, digest = ?, key = ?"
               " WHERE day = ?", (text, hashlib.sha256(listed).digest(), forger.sign(text.encode()),
                                  hashlib.sha256(text.encode()).digest(), forger.public, day))
    return f"{date(day)} forged", date(day), "day.sig"


# What was signed itself: a bundle of such a store shows it by hand too.
STORE_SIGNED = (store_changed_value, store_deleted_line, store_flipped_byte, store_swapped_days,
                store_file_left_out)
STORE_ROWS = (store_flipped_column, store_day_left_out, store_last_day_left_out,
              store_all_left_out, store_added_file,
              store_gap, store_late, store_alarm, store_instrument, store_clock, store_site_file,
              store_added_text, store_id, store_rollup, store_wild, store_wild)
STORE_FORGED = (store_forged,)
