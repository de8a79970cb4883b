"""Checks the chain of signed days as a stranger would: the sqlite3 shell, OpenSSL and coreutils."""
import base64
import os
import re
import shutil
import subprocess

PEM_HEAD = bytes.fromhex("302a300506032b6570032100")  # RFC 8410: an Ed25519 public key follows


def run(*command, cwd=None):
    done = subprocess.run(command, cwd=cwd, capture_output=True, text=True, timeout=60)
    return done.returncode, done.stdout + done.stderr


class Broken(Exception):
    pass


def fields(text):
    return dict(line.split(" ", 1) for line in text.splitlines() if not line.startswith("note "))


def write_pem(path, key_hex):
    body = base64.b64encode(PEM_HEAD + bytes.fromhex(key_hex)).decode()
    with open(path, "w", encoding="ascii") as f:
        f.write(f"-----BEGIN PUBLIC KEY-----\n{body}\n-----END PUBLIC KEY-----\n")


def write_listed(studio, folder, day, listed):
    """Every file that the MANIFEST names, by the stock shell."""
    script = []
    for digest, name in listed:
        path = os.path.join(folder, name)
        if name.startswith("channel-") and name.endswith(".csv"):
            channel = name[len("channel-"):-len(".csv")]
            script.append(f"SELECT writefile('{path}', sqlar_uncompress(data, size)) FROM day"
                          f" WHERE channel = {channel} AND day = {day};")
        else:
            script.append(f"SELECT writefile('{path}', sqlar_uncompress(data, size)) FROM text"
                          f" WHERE digest = x'{digest}';")
    studio.sql("".join(script))


def check_day(studio, folder, day, number, text, key_hex, previous):
    """One signed day; the digest of its text."""
    os.makedirs(folder)
    rows = studio.sql(
        f"SELECT writefile('{folder}/day.txt', text), writefile('{folder}/day.sig', signature)"
        f" FROM signed_day WHERE day = {day}; SELECT writefile('{folder}/MANIFEST',"
        f" sqlar_uncompress(data, size)) FROM text WHERE digest = (SELECT manifest FROM"
        f" signed_day WHERE day = {day})")
    if len(rows) != 2:
        raise Broken(f"number {number}: no MANIFEST")
    write_pem(f"{folder}/key.pem", key_hex)
    code, words = run("openssl", "pkeyutl", "-verify", "-pubin", "-inkey", "key.pem", "-rawin",
                      "-in", "day.txt", "-sigfile", "day.sig", cwd=folder)
    if code != 0:
        raise Broken(f"number {number}: {words}")
    said = fields(text)
    if said["number"] != str(number) or said["previous"] != previous:
        raise Broken(f"number {number} does not follow: {text}")
    _, sum_line = run("sha256sum", "MANIFEST", cwd=folder)
    if sum_line.split()[0] != said["manifest"]:
        raise Broken(f"number {number}: another MANIFEST was signed")
    with open(f"{folder}/MANIFEST", encoding="utf-8") as f:
        listed = [line.rstrip("\n").split("  ", 1) for line in f]
    if listed:
        write_listed(studio, folder, day, listed)
        code, words = run("sha256sum", "-c", "--quiet", "MANIFEST", cwd=folder)
        if code != 0:
            raise Broken(f"number {number}: {words}")
    return run("sha256sum", "day.txt", cwd=folder)[1].split()[0]


def check_tool(studio):
    """`stillroom verify --store` sees no more than a break or a fork that was owned up to."""
    done = studio.tool("verify", "--store")
    found = [line for line in done.stdout.splitlines() if not re.match(r"note|NOT|All", line)]
    if found or done.returncode not in (0, 1):
        raise Broken(f"verify: {done.stdout}{done.stderr}")


def check(studio):
    """Raises Broken, or returns the texts of the signed days in order."""
    place = os.path.join(studio.folder, "chain")
    shutil.rmtree(place, ignore_errors=True)
    days = studio.sql("SELECT day, number, hex(key) FROM signed_day ORDER BY number")
    previous, texts = "none", []
    for i, (day, number, key_hex) in enumerate(days):
        if int(number) != i + 1:
            raise Broken(f"number {i + 1} is missing")
        text = "\n".join(row[0] for row in
                         studio.sql(f"SELECT text FROM signed_day WHERE day = {day}"))
        previous = check_day(studio, os.path.join(place, number), int(day), i + 1, text, key_hex,
                             previous)
        texts.append(text)
    # No day file and no closed day stands outside the chain.
    loose = studio.sql("SELECT count(*) FROM day WHERE day NOT IN (SELECT day FROM signed_day)"
                       " AND day < (SELECT value FROM meta WHERE key = 'open_day')")
    if loose != [("0",)]:
        raise Broken("a closed day is not signed")
    shutil.rmtree(place)
    check_tool(studio)
    return texts
