"""Alarms that reach a person: mail through a real SMTP server, a webhook and a command, with the
other side down, refusing, slow, closing half-way, and the daemon killed in between."""
import email
import email.policy
import hashlib
import hmac
import http.server
import json
import logging
import os
import signal
import socket
import ssl
import subprocess
import sys
import threading
import time
import unittest

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult

BUILD = sys.argv.pop(1)
sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), os.pardir))
from support.daemon import Studio, free_port, wait_until  # noqa: E402
from support.device import Device  # noqa: E402

TO = "keyholder@studio.example"
logging.disable(logging.CRITICAL)  # what the server says of lines that we make it drop

WIRING = """
[instrument box]
bus = line
unit = 1
serial = 1
every = 1 s
zone = cellar
read = leak discrete 3 bit
read = tank_full discrete 2 bit
[zone cellar]
title = Küfer cellar
purpose = store
[limit water]
zone = cellar
rule = leak is on
on_delay = 0 s
priority = highest
tell = {tell}
[limit tank]
zone = cellar
rule = tank_full is on
on_delay = 0 s
priority = highest
tell = {tell}
"""


class MailServer:
    """aiosmtpd on a port of its own; `manner` says how it treats what comes."""

    def __init__(self):
        self.port = free_port()
        self.manner = "take"
        self.taken = []
        self.seen = 0
        self.controller = None

    def start(self, **more):
        self.controller = Controller(self, hostname="127.0.0.1", port=self.port, **more)
        self.controller.start()

    def start_guarded(self, folder):
        """STARTTLS with a certificate of its own, and a password; the certificate's path."""
        paths = [os.path.join(folder, name) for name in ("mail-cert.pem", "mail-key.pem")]
        subprocess.run(["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2",
                        "-subj", "/CN=localhost", "-addext", "subjectAltName=IP:127.0.0.1",
                        "-out", paths[0], "-keyout", paths[1]], check=True, capture_output=True)
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(*paths)

        def authenticate(server, session, envelope, mechanism, data):
            # pylint: disable=unused-argument,too-many-arguments
            return AuthResult(success=(data.login, data.password) == (b"stillroom", b"open up"))

        self.start(tls_context=context, require_starttls=True, auth_required=True,
                   authenticator=authenticate)
        return paths[0]

    def stop(self):
        if self.controller is not None:
            self.controller.stop()
            self.controller = None

    # -- aiosmtpd's hooks --

    async def handle_RCPT(self, server, session, envelope, address, options):
        # pylint: disable=invalid-name,unused-argument,too-many-arguments
        self.seen += 1
        if self.manner == "refuse":
            return "450 4.2.1 the box is busy"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        # pylint: disable=invalid-name,unused-argument
        if self.manner == "close":
            server.transport.close()
            return "451 never seen"
        mail = email.message_from_bytes(envelope.content, policy=email.policy.default)
        self.taken.append((list(envelope.rcpt_tos), mail))
        if self.manner == "take, then close":
            server.transport.close()
        return "250 taken"

    def subjects(self):
        return [mail["Subject"] for _, mail in self.taken]


class Messages(unittest.TestCase):
    def setUp(self):
        self.device = Device()
        self.mail = MailServer()
        self.studio = None
        self.closers = []

    def tearDown(self):
        if self.studio is not None:
            self.studio.close()
        self.device.close()
        self.mail.stop()
        for close in self.closers:
            close()

    def body(self, tell="keyholder", security="security = none\n", sections=""):
        return (self.device.site_bus("line") + WIRING.format(tell=tell) +
                f"[person keyholder]\nmail = {TO}\n"
                f"[mail]\nserver = 127.0.0.1:{self.mail.port}\n{security}"
                "from = stillroom@studio.example\n" + sections)

    def run_studio(self, **more):
        self.studio = Studio(BUILD, self.body(**more))
        self.studio.start()
        self.wait(lambda: self.studio.tail("leak"), "the first reading")

    def wait(self, what, words, seconds=45):
        got = wait_until(what, seconds)
        self.assertTrue(got, f"{words} did not come\n{self.studio.words()}\n{self.outbox()}")
        return got

    def outbox(self):
        return self.studio.sql("SELECT id, person, kind, tries, sent IS NOT NULL, last_error,"
                               " subject FROM outbox ORDER BY id")

    def wait_written(self, kind, count=1):
        """Rows of the outbox of a kind (1 raised, 2 returned)."""
        self.wait(lambda: len([row for row in self.outbox() if row[2] == str(kind)]) >= count,
                  "the row")

    def test_an_alarm_is_one_mail_and_its_end_another(self):
        self.mail.start()
        self.run_studio()
        self.device.set_bit(3, True)
        self.wait(lambda: self.mail.taken, "the mail")
        self.device.set_bit(3, False)
        self.wait(lambda: len(self.mail.taken) >= 2, "the second mail")
        time.sleep(3)
        self.assertEqual(["Leak in the Küfer cellar", "Over: Leak in the Küfer cellar"],
                         self.mail.subjects())
        self.assertEqual([[TO], [TO]], [to for to, _ in self.mail.taken])
        raised = self.mail.taken[0][1]
        text = raised.get_content()
        self.assertTrue(text.startswith("Leak in the Küfer cellar since "), text)
        self.assertIn("electrician", text)
        self.assertIn("the conservator decides", text)
        self.assertLess(len(text.split()), 90)
        sender = raised["From"].addresses[0]
        self.assertEqual(("Test", "stillroom@studio.example"),
                         (sender.display_name, sender.addr_spec))
        self.assertIsNotNone(raised["Date"].datetime)
        self.assertEqual(2, len({mail["Message-ID"] for _, mail in self.mail.taken}))
        self.wait(lambda: "waiting to be sent: 0." in self.studio.tool("status").stdout,
                  "the number that waits")
        self.assertEqual(0, self.studio.stop())
        self.studio.start()
        time.sleep(5)
        self.assertEqual(2, len(self.mail.taken), "a restart repeats nothing")

    def test_what_happened_while_the_server_was_down_comes_once_and_in_order(self):
        self.run_studio()
        self.device.set_bit(3, True)
        self.wait_written(1)
        self.device.set_bit(3, False)
        self.wait_written(2)
        self.wait(lambda: self.outbox()[0][3] != "0", "the first try")
        self.wait(lambda: "waiting to be sent: 2." in self.studio.tool("status").stdout,
                  "the number that waits")
        self.studio.kill()
        self.mail.start()
        self.studio.start()
        self.wait(lambda: len(self.mail.taken) >= 2, "both mails")
        time.sleep(3)
        self.assertEqual(["Leak in the Küfer cellar", "Over: Leak in the Küfer cellar"],
                         self.mail.subjects())

    def test_a_server_that_refuses_or_closes_half_way_loses_nothing(self):
        self.mail.manner = "refuse"
        self.mail.start()
        self.run_studio()
        self.device.set_bit(3, True)
        self.wait(lambda: self.outbox() and self.outbox()[0][3] == "1", "the refusal")
        self.assertIn("450", self.outbox()[0][5])
        self.mail.manner = "close"
        self.device.set_bit(2, True)  # news: the one that failed is tried again at once
        self.wait(lambda: self.outbox()[0][3] == "2", "the second try")
        self.assertEqual([], self.mail.taken)
        self.mail.manner = "take"
        self.device.set_bit(3, False)
        self.wait(lambda: len(self.mail.taken) >= 3, "all mails")
        time.sleep(3)
        self.assertEqual(["Leak in the Küfer cellar", "Tank full in the Küfer cellar",
                          "Over: Leak in the Küfer cellar"], self.mail.subjects())

    def test_what_a_server_took_before_it_dropped_the_line_may_come_twice_under_one_id(self):
        self.mail.manner = "take, then close"
        self.mail.start()
        self.run_studio()
        self.device.set_bit(3, True)
        self.wait(lambda: self.outbox() and self.outbox()[0][3] == "1", "the first try")
        self.mail.manner = "take"
        self.assertEqual(0, self.studio.stop())
        self.studio.start()
        self.wait(lambda: self.outbox()[0][4] == "1", "the end of it")
        ids = [mail["Message-ID"] for _, mail in self.mail.taken]
        self.assertIn(len(ids), (1, 2))
        self.assertEqual(1, len(set(ids)))

    def test_a_kill_while_a_server_is_slow_loses_nothing_and_sends_once(self):
        # It accepts, greets nobody, and takes nothing: as slow as a server can be.
        with socket.socket() as slow:
            slow.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            slow.bind(("127.0.0.1", self.mail.port))
            slow.listen(8)
            self.run_studio()
            self.device.set_bit(3, True)
            slow.settimeout(45)
            line, _ = slow.accept()
            self.studio.kill()
            # The child goes with its daemon: the line is closed.
            line.settimeout(10)
            while line.recv(1024):
                pass
            line.close()
        self.mail.start()
        self.studio.start()
        self.wait(lambda: self.mail.taken, "the mail")
        time.sleep(3)
        self.assertEqual(["Leak in the Küfer cellar"], self.mail.subjects())

    def test_a_guarded_server_is_trusted_by_its_certificate_and_given_the_password(self):
        folder = os.path.dirname(self.device.log)
        certificate = self.mail.start_guarded(folder)
        password = os.path.join(folder, "password")
        with open(password, "w", encoding="ascii") as f:
            f.write("open up\n")
        os.chmod(password, 0o644)
        log_in = f"user = stillroom\npassword_file = {password}\n"
        self.run_studio(security=log_in)
        self.device.set_bit(3, True)
        error = self.wait(lambda: self.outbox() and self.outbox()[0][5], "the error")
        self.assertIn("can be read by everybody", error)
        os.chmod(password, 0o600)
        self.studio.kill()
        self.studio.start()
        self.wait(lambda: "certificate" in self.outbox()[0][5].lower(), "the second error")
        self.assertEqual([], self.mail.taken)
        self.studio.write_site(self.body(security=log_in + f"ca_file = {certificate}\n"))
        self.studio.process.send_signal(signal.SIGHUP)
        self.wait(lambda: self.mail.taken, "the mail")
        self.assertEqual(["Leak in the Küfer cellar"], self.mail.subjects())

    def test_a_webhook_gets_signed_json_and_a_command_gets_the_text(self):
        calls, manner = [], {"status": 503}

        class Receiver(http.server.BaseHTTPRequestHandler):
            def do_POST(self):  # pylint: disable=invalid-name
                body = self.rfile.read(int(self.headers["Content-Length"]))
                calls.append((self.headers, body, manner["status"]))
                self.send_response(manner["status"])
                manner["status"] = 204
                self.end_headers()

            def log_message(self, *arguments):  # pylint: disable=arguments-differ
                pass

        server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Receiver)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        self.closers.append(server.server_close)
        self.closers.append(server.shutdown)
        folder = os.path.dirname(self.device.log)
        secret, said = os.path.join(folder, "secret"), os.path.join(folder, "said")
        with open(secret, "w", encoding="ascii") as f:
            f.write("between us\n")
        os.chmod(secret, 0o600)
        script = os.path.join(folder, "bell")
        with open(script, "w", encoding="ascii") as f:
            f.write('#!/bin/sh\nprintf "%s\\n" "$1" >>"$2"\ncat >>"$2"\n')
        os.chmod(script, 0o700)
        self.run_studio(tell="desk, bell", sections=(
            f"[webhook desk]\nurl = http://127.0.0.1:{server.server_port}/in\n"
            f"secret_file = {secret}\n"
            f"[command bell]\npath = {script}\narguments = $HOME;id {said}\n"))
        self.device.set_bit(3, True)
        self.wait(lambda: calls, "the call")
        self.wait(lambda: os.path.exists(said) and os.path.getsize(said) > 100, "the bell")
        with open(said, encoding="utf-8") as f:
            text = f.read()
        # The words of the site file as they stand: no shell saw them.
        self.assertTrue(text.startswith("$HOME;id\nLeak in the Küfer cellar\n\nLeak in the"), text)
        self.assertEqual(1, text.count("conservator decides"))
        self.device.set_bit(3, False)
        self.wait(lambda: len(calls) >= 3, "the later calls")
        kinds = [json.loads(body)["kind"] for _, body, _ in calls]
        self.assertEqual(["raised", "raised", "returned"], kinds[:3])
        self.assertEqual(calls[0][1], calls[1][1], "a second try says the same")
        for headers, body, _ in calls:
            self.assertEqual("sha256=" + hmac.new(b"between us", body, hashlib.sha256).hexdigest(),
                             headers["X-Stillroom-Signature"])
        self.assertEqual([], self.mail.taken)


if __name__ == "__main__":
    unittest.main(verbosity=2)
