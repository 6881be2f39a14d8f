"""Tests of what the bench sets beside the planner."""

import tempfile
import unittest

import byhand
import crosscheck
import farm as tables
import leancp
import oracle
import relatives
import verify
from test_outside import INSTANCES, instance, random_farm


class ByHand(unittest.TestCase):
    def test_obeys_every_rule_and_is_never_better_than_the_best(self):
        planned = 0
        for seed in range(30):
            with self.subTest(seed=seed):
                farm = random_farm("rules", seed)
                plan = byhand.by_hand(farm)
                if plan is None:
                    continue
                planned += 1
                self.assertEqual(verify.verify(farm, plan), [])
                best, _ = oracle.optimum(farm, 5)
                nothing_proven = {"late_bound_minutes": 0, "bound_minutes": 0}
                by_hand = {**verify.figures(verify.Room(farm, plan)), **nothing_proven}
                self.assertEqual(list(crosscheck.compare(by_hand, best, False)), [])
        self.assertGreater(planned, 15)

    def test_plans_the_demo(self):
        farm = tables.read(INSTANCES / "harbour-week")
        self.assertEqual(verify.verify(farm, byhand.by_hand(farm)), [])

    def test_one_part_after_the_other(self):
        """Two printers, two runs of a and then two of b, an hour each; one operator, a minute a task, day and night.
        Loaded 0-1 and 1-2, both off and on again 61-63 and 63-65, off at 123-124 and 125-126."""
        farm = instance(
            'time_zone = "Etc/UTC"\nstart = "2026-03-02T00:00"\nhorizon_days = 3\n[handling]\nload = 1\nharvest = 1\n',
            printers="printer,group\nP1,g\nP2,g\n",
            parts="part,material\na,PLA\nb,PLA\n",
            plates="plate,group,part,copies,minutes\nb-1,g,b,1,60\na-1,g,a,1,60\n",
            kits="kit,item,quantity\nk,a,2\nk,b,2\n",
            shifts="crew,days,from,to,operators\nd,daily,00:00,24:00,1\n",
        )
        plan = byhand.by_hand(farm)
        self.assertEqual(verify.verify(farm, plan), [])
        runs = sorted((r.load_from, r.printer, r.plate, r.harvest_to) for r in plan.runs)
        expected = [(0, "P1", "a-1", 62), (1, "P2", "a-1", 64), (62, "P1", "b-1", 124), (64, "P2", "b-1", 126)]
        self.assertEqual(runs, expected)


class Counted(unittest.TestCase):
    def test_is_exact_where_nothing_tells_printers_apart(self):
        """One material, one shipment, no boxes: the model leaves nothing out."""
        proven = 0
        for seed in range(12):
            with self.subTest(seed=seed):
                farm = random_farm("split", seed)
                plan, status = leancp.search(farm, 1, counted=10)
                if status != "optimal":
                    continue
                proven += 1
                self.assertEqual(verify.verify(farm, plan), [])
                best, _ = oracle.optimum(farm, 30)
                found = verify.figures(verify.Room(farm, plan))["makespan_minutes"]
                self.assertEqual(found, best["makespan_minutes"])
        self.assertGreater(proven, 5)


class Relatives(unittest.TestCase):
    def test_grow_as_they_say(self):
        with tempfile.TemporaryDirectory() as folder:
            relatives.growth(75, 2).write(folder)
            farm = tables.read(folder)
        self.assertEqual((len(farm.groups), len(farm.shipments)), (75, 2))
        self.assertEqual(farm.shipments[0].needs["louvre"], 20 * 75 * 6)
        self.assertEqual(sum(s.start == 0 for s in farm.stretches), 3)


if __name__ == "__main__":
    unittest.main()
