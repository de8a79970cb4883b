"""Contacts through the daemon: discrete inputs of a device by others, a limit with a delay, and
the alarm that comes and goes, as seen in the interface and in the store."""
import os
import sys
import time
import unittest

BUILD = sys.argv.pop(1)
sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), os.pardir))
from support.daemon import Studio, wait_until  # noqa: E402
from support.device import Device  # noqa: E402

NORMAL, UNACKNOWLEDGED, RETURNED = 0, 1, 3  # enum alarm_state

WIRING = """
[instrument dryer]
bus = line
unit = 1
serial = 1
every = 1 s
zone = cellar
read = tank_full discrete 2 bit
read = leak discrete 3 bit
[zone cellar]
title = Cellar
purpose = store
[limit tank]
zone = cellar
rule = tank_full is on
on_delay = 5 s
priority = medium
[limit water]
zone = cellar
rule = leak is on
on_delay = 0 s
priority = highest
"""


class Contacts(unittest.TestCase):
    def setUp(self):
        self.device = Device()
        self.studio = Studio(BUILD, self.device.site_bus("line") + WIRING)
        self.studio.start()

    def tearDown(self):
        self.studio.close()
        self.device.close()

    def alarms(self):
        return {a["limit"]: a for a in self.studio.get("/api/v1/alarms")["alarms"]}

    def test_a_full_tank_is_told_after_its_delay_and_returns(self):
        self.assertTrue(wait_until(lambda: self.studio.tail("tank_full"), 20))
        self.assertEqual({}, self.alarms())
        self.device.set_bit(2, True)
        told = wait_until(lambda: self.alarms().get("tank"), 30)
        self.assertTrue(told, self.studio.words())
        self.assertEqual(("unacknowledged", "cellar"), (told["state"], told["zone"]))
        self.assertNotIn("water", self.alarms())
        self.device.set_bit(2, False)
        self.assertTrue(wait_until(
            lambda: self.alarms().get("tank", {}).get("state") == "returned", 30))
        self.device.set_bit(3, True)
        self.assertTrue(wait_until(lambda: "water" in self.alarms(), 30))
        self.assertEqual(0, self.studio.stop())
        self.check_events()

    def check_events(self):
        rows = self.studio.tail("tank_full")
        on = [t for t, value, _ in rows if value != 0]
        events = [tuple(map(int, row)) for row in self.studio.sql(
            "SELECT t, from_state, to_state FROM alarm_event WHERE limit_name = 'tank'"
            " ORDER BY id")]
        # Raised at the first reading that had lasted for the delay, over at the first without.
        self.assertEqual([(min(t for t in on if t >= on[0] + 5), NORMAL, UNACKNOWLEDGED),
                          (min(t for t, _, _ in rows if t > on[-1]), UNACKNOWLEDGED, RETURNED)],
                         events)
        wet = [t for t, value, _ in self.studio.tail("leak") if value != 0]
        self.assertEqual([(str(wet[0]), str(NORMAL), str(UNACKNOWLEDGED))], self.studio.sql(
            "SELECT t, from_state, to_state FROM alarm_event WHERE limit_name = 'water'"))


if __name__ == "__main__":
    unittest.main(verbosity=2)
