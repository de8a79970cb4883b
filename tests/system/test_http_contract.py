"""The real daemon against its own OpenAPI document: every answer by its schema, and what it
says against the database as SQLite alone reads it.

The schemas are taken strictly: a field that the document does not name is a failure, so the
document cannot lag behind the answers. jsonschema and prometheus_client are by others.
"""

import copy
import json
import os
import socket
import sqlite3
import statistics
import sys
import time
import unittest

import jsonschema
from prometheus_client.openmetrics.parser import text_string_to_metric_families

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "support"))
from demo_studio import DemoStudio  # noqa: E402  (the path comes first)

BUILD = sys.argv.pop(1)


def strictly(schema):
    """The same schema, but with no field that it does not name."""
    if isinstance(schema, list):
        return [strictly(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    tight = {key: strictly(value) for key, value in schema.items()}
    if schema.get("type") == "object" and "properties" in schema:
        tight["additionalProperties"] = False
    return tight


class Contract(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.studio = DemoStudio(BUILD)
        cls.document = cls.studio.json("/api/v1/openapi.json")
        cls.root = strictly(copy.deepcopy(cls.document))

    @classmethod
    def tearDownClass(cls):
        cls.studio.close()

    def check(self, name, value):
        schema = {"$ref": f"#/components/schemas/{name}",
                  "components": self.root["components"]}
        jsonschema.Draft202012Validator(schema).validate(value)

    def schema_name(self, pattern, status="200"):
        responses = self.document["paths"][pattern]["get"]["responses"]
        content = responses.get(status, responses["default"])["content"]
        (kind, inner), = content.items()
        return kind, inner["schema"].get("$ref", "").rsplit("/")[-1]

    def test_the_document_is_sound(self):
        self.assertEqual(self.document["openapi"], "3.1.0")
        for name in self.document["components"]["schemas"]:
            jsonschema.Draft202012Validator.check_schema(
                {"$ref": f"#/components/schemas/{name}",
                 "components": self.document["components"]})
        operations = [get["get"]["operationId"] for get in self.document["paths"].values()]
        self.assertEqual(len(operations), len(set(operations)))

    def test_every_answer_keeps_to_its_schema(self):
        alarms = self.studio.json("/api/v1/alarms?state=all")["alarms"]
        self.assertGreater(len(alarms), 5)
        now = int(time.time())
        samples = {
            "/api/v1/zones/{id}": ["/api/v1/zones/store", "/api/v1/zones/outdoor"],
            "/api/v1/zones/{id}/series": [
                f"/api/v1/zones/{zone}/series?quantity={quantity}&from={now - span}&points={n}"
                for zone, quantity in (("store", "humidity"), ("store", "surface_humidity"),
                                       ("store", "leak"), ("drying-room", "mould_index"),
                                       ("frame-bench", "door"))
                for span, n in ((600, 1000), (86400, 300), (30 * 86400, 2000),
                                (3650 * 86400, 4000))],
            "/api/v1/alarms": ["/api/v1/alarms", "/api/v1/alarms?state=all",
                               "/api/v1/alarms?state=all&zone=quarantine&from=2026-01-01"],
            "/api/v1/alarms/{id}/history": [f"/api/v1/alarms/{alarms[0]['id']}/history",
                                            f"/api/v1/alarms/{alarms[-1]['id']}/history"],
        }
        for pattern in self.document["paths"]:
            if pattern == "/api/v1/events":
                continue  # has no end; it has a test of its own
            for path in samples.get(pattern, [pattern]):
                with self.subTest(path=path):
                    status, headers, body = self.studio.ask(path)
                    kind, name = self.schema_name(pattern)
                    self.assertEqual(status, 200, body[:300])
                    self.assertEqual(headers["Content-Type"], kind)
                    if name:
                        self.check(name, json.loads(body))

    def test_every_refusal_is_a_problem(self):
        for path, method, status in (("/api/v1/zones/attic", "GET", 404),
                                     ("/api/v1/zones/store/series", "GET", 400),
                                     ("/api/v1/zones/store/series?quantity=door", "GET", 404),
                                     ("/api/v1/alarms/999999999/history", "GET", 404),
                                     ("/api/v1/alarms?zone=attic", "GET", 400),
                                     ("/api/v1/studio?x=1", "GET", 400),
                                     ("/api/v1/works", "GET", 404),
                                     ("/api/v1/zones", "POST", 405)):
            with self.subTest(path=path):
                got, headers, body = self.studio.ask(path, method)
                self.assertEqual(got, status)
                self.assertEqual(headers["Content-Type"], "application/problem+json")
                problem = json.loads(body)
                self.check("Problem", problem)
                self.assertEqual(problem["status"], status)

    def test_the_latest_readings_are_the_databases(self):
        zone = self.studio.json("/api/v1/zones/drying-room")
        db = sqlite3.connect(f"file:{self.studio.db}?mode=ro", uri=True)
        for quantity in ("temperature", "humidity"):
            got = zone["now"][quantity]
            (value,), = db.execute(
                "SELECT t.value FROM tail t JOIN channel c ON c.id = t.channel JOIN instrument i"
                " ON i.id = c.instrument WHERE i.name = 'dr-1' AND c.quantity = ? AND t.t = ?",
                (quantity, got["t"])).fetchall()
            self.assertEqual(value, round(got["value"] * 100))
        db.close()

    def test_a_chart_of_readings_is_the_databases(self):
        now = int(time.time())
        open_day = now - now % 86400  # earlier readings lie in closed days
        chart = self.studio.json("/api/v1/zones/store/series?quantity=humidity"
                                 f"&from={max(now - 3600, open_day)}&to={now - 12}&points=4000")
        self.assertEqual(chart["step"], 0)
        db = sqlite3.connect(f"file:{self.studio.db}?mode=ro", uri=True)
        rows = db.execute(
            "SELECT t.t, t.value FROM tail t JOIN channel c ON c.id = t.channel JOIN instrument i"
            " ON i.id = c.instrument WHERE i.name = 'st-1' AND c.quantity = 'humidity' AND"
            " t.t >= ? AND t.t < ? ORDER BY t.t", (chart["from"], chart["to"])).fetchall()
        db.close()
        self.assertGreater(len(rows), 10)
        self.assertEqual(chart["t"], [t for t, _ in rows])
        self.assertEqual([round(v * 100) for v in chart["mean"]], [v for _, v in rows])

    def test_a_chart_of_weeks_is_the_mean_of_all_readings(self):
        now = int(time.time())
        chart = self.studio.json("/api/v1/zones/store/series?quantity=humidity"
                                 f"&from={now - 40 * 86400}&to={now - 86400}&points=400")
        step = chart["step"]
        self.assertGreater(step, 3600)
        self.assertTrue(all(low <= mean <= high for low, mean, high in
                            zip(chart["min"], chart["mean"], chart["max"])))
        self.assertTrue(all((t - chart["from"]) % step == 0 for t in chart["t"]))
        whole = self.studio.json("/api/v1/zones/store/series?quantity=humidity"
                                 f"&from={chart['from']}&to={chart['to']}&points=2")
        self.assertAlmostEqual(min(chart["min"]), min(whole["min"]), places=9)
        self.assertAlmostEqual(max(chart["max"]), max(whole["max"]), places=9)

    def test_metrics_are_read_by_a_parser_of_others(self):
        status, headers, body = self.studio.ask("/metrics")
        self.assertEqual(status, 200)
        self.assertEqual(headers["Content-Type"],
                         "application/openmetrics-text; version=1.0.0; charset=utf-8")
        families = {f.name: f for f in text_string_to_metric_families(body.decode())}
        zones = {z["id"]: z for z in self.studio.json("/api/v1/zones")["zones"]}
        humidity = {s.labels["zone"]: s.value
                    for s in families["stillroom_zone_humidity_percent"].samples}
        self.assertEqual(set(humidity), set(zones))
        for zone, value in humidity.items():
            self.assertLess(abs(value - zones[zone]["now"]["humidity"]["value"]), 3)
        for name in ("stillroom_readings", "stillroom_gaps", "stillroom_commits",
                     "stillroom_queue_readings", "stillroom_writing", "stillroom_alarms",
                     "stillroom_zone_temperature_celsius", "stillroom_zone_dew_point_celsius",
                     "stillroom_instrument_last_reading_age_seconds",
                     "stillroom_http_connections"):
            self.assertTrue(families[name].samples, name)
        self.assertGreater(families["stillroom_readings"].samples[0].value, 50)
        ages = [s.value for s in
                families["stillroom_instrument_last_reading_age_seconds"].samples]
        self.assertEqual(len(ages), 10)
        self.assertLess(max(ages), 60)

    def test_events_come_with_each_commit(self):
        with socket.create_connection(("127.0.0.1", self.studio.port), timeout=30) as s:
            s.sendall(b"GET /api/v1/events HTTP/1.1\r\nHost: localhost\r\n\r\n")
            text, seen = b"", {}
            until = time.monotonic() + 40
            while time.monotonic() < until and len(seen.get("readings", [])) < 3:
                text += s.recv(65536)
                seen = self.events(text)
        self.assertIn(b"text/event-stream", text)
        self.assertEqual(len(seen["hello"]), 1)
        self.assertEqual(set(seen["hello"][0]), {"now", "version"})
        self.assertGreaterEqual(len(seen["readings"]), 3)
        for data in seen["readings"]:
            self.check("Readings", data)
        for data in seen.get("alarm", []):
            self.check("Alarm", data)
        moments = [data["zones"][0]["now"]["t"] for data in seen["readings"]]
        self.assertEqual(moments, sorted(set(moments)))

    @staticmethod
    def events(text):
        """The whole events in a chunked stream, by their names."""
        body = text.split(b"\r\n\r\n", 1)[-1]
        whole = b""
        while b"\r\n" in body:
            size, rest = body.split(b"\r\n", 1)
            n = int(size, 16)
            if len(rest) < n + 2:
                break
            whole, body = whole + rest[:n], rest[n + 2:]
        seen = {}
        for block in whole.decode().split("\n\n")[:-1]:
            fields = dict(line.split(": ", 1) for line in block.splitlines() if ": " in line)
            if "event" in fields:
                seen.setdefault(fields["event"], []).append(json.loads(fields["data"]))
        return seen

    def test_how_long_answers_take(self):
        now = int(time.time())
        rows = {"zones": "/api/v1/zones", "studio": "/api/v1/studio", "metrics": "/metrics"}
        for days in (1, 7, 35):
            rows[f"{days} days"] = ("/api/v1/zones/store/series?quantity=humidity"
                                    f"&from={now - days * 86400}&points=2000")
        for name, path in rows.items():
            took = []
            for _ in range(40):
                before = time.perf_counter()
                status, _, _ = self.studio.ask(path)
                self.assertEqual(status, 200)
                took.append((time.perf_counter() - before) * 1000)
            took.sort()
            print(f"{name}: median {statistics.median(took):.1f} ms, p95 {took[37]:.1f} ms")
            self.assertLess(took[37], 1000)


class Stop(unittest.TestCase):
    def test_the_daemon_stops_at_once_with_streams_open(self):
        studio = DemoStudio(BUILD, days=2)
        try:
            streams = []
            for _ in range(20):
                s = socket.create_connection(("127.0.0.1", studio.port), timeout=10)
                s.sendall(b"GET /api/v1/events HTTP/1.1\r\nHost: localhost\r\n\r\n")
                self.assertTrue(s.recv(12).endswith(b" 200"))
                streams.append(s)
            seconds, status = studio.stop_daemon()
            print(f"stopped in {seconds:.2f} s")
            self.assertEqual(status, 0)
            self.assertLess(seconds, 5)
            for s in streams:
                s.close()
        finally:
            studio.close()


if __name__ == "__main__":
    unittest.main()
