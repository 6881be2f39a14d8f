"""Tests of the outside tools themselves: python -m unittest (in this folder)."""

import dataclasses
import re
import tempfile
import unittest
from collections import Counter
from pathlib import Path

import farm as tables
import generate
import oracle
import planfiles
import verify

INSTANCES = Path(__file__).parents[2] / "instances"
NEVER = 10**9


def stated(folder):
    """The optimum that an instance's README reasons out by hand."""
    text = (folder / "README.md").read_text(encoding="utf-8")
    return {key: float(value) for key, value in re.findall(r"^(\w+_minutes) = (\S+)$", text, re.MULTILINE)}


def instance(toml, **csv):
    """An instance of one printer, one part in an hour and one kit, but for the tables given."""
    base = {
        "printers": "printer,group\nP1,g\n",
        "parts": "part,material\na,PLA\n",
        "plates": "plate,group,part,copies,minutes\na-1,g,a,1,60\n",
        "kits": "kit,item,quantity\nk,a,1\n",
        "shipments": "shipment,kit,quantity\ns,k,1\n",
    }
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "farm.toml").write_text('name = "t"\n' + toml)
        for table, text in {**base, **csv}.items():
            (Path(folder) / f"{table}.csv").write_text(text)
        return tables.read(folder)


def random_farm(kind, seed):
    """The generator's instance of a kind and seed."""
    with tempfile.TemporaryDirectory() as folder:
        generate.generate(kind, seed, folder)
        return tables.read(folder)


def every_order(farm):
    """The least makespan of a farm of one group, one material, one crew and one shipment without stock, by trying every
    order of the operators' tasks.

    Tasks are placed in order of their start, each as early as the one before, its printer and an operator allow. Every
    feasible plan has such an order, and no task gets later by that, so the best of all orders is the optimum.
    """
    (shipment,) = farm.shipments
    plates = sorted(farm.plates.values(), key=lambda p: p.plate)
    runs = []
    for plate in plates:
        (part,) = plate.copies
        runs.append(-(-shipment.needs[part] // plate.copies[part]))
    spans = sorted({(s.start, s.end) for s in farm.stretches})
    crew = Counter((s.start, s.end) for s in farm.stretches)
    operators = min(crew.values())
    assert operators == max(crew.values()), "one size of crew"
    best = NEVER
    seen = {}

    def start_of(earliest, length, busy):
        """The first minute from `earliest` at which one operator has time for the task, and who."""
        free = min(busy)
        at = max(earliest, free)
        for a, b in spans:
            if max(at, a) + length <= b:
                return max(at, a)
        return NEVER

    def visit(now, busy, printers, left, done):
        """`printers`: for each the plate on it (or None) and when that is ready (or the printer free)."""
        nonlocal best
        if done >= best:
            return
        if not any(left) and all(plate is None for plate, _ in printers):
            best = done
            return
        state = (tuple(sorted(busy)), tuple(sorted(printers, key=str)), left)
        if any(n <= now and d <= done for n, d in seen.get(state, [])):
            return
        seen.setdefault(state, []).append((now, done))
        moves = []
        for index, (plate, at) in enumerate(printers):
            if plate is not None:
                moves.append((plates[plate].harvest, max(now, at), index, plate, True))
            elif index == printers.index((plate, at)):
                moves += [(plates[q].load, max(now, at), index, q, False) for q, count in enumerate(left) if count]
        for length, earliest, index, plate, harvest in moves:
            at = start_of(earliest, length, busy)
            if at >= NEVER:
                continue
            end = at + length
            after = list(busy)
            after[after.index(min(after))] = end
            after_printers, after_left, after_done = list(printers), left, done
            if harvest:
                after_printers[index] = (None, end)
                (part,) = plates[plate].copies
                after_done = max(done, end + farm.finish[part])
            else:
                after_printers[index] = (plate, end + plates[plate].minutes + plates[plate].cool)
                after_left = tuple(n - (i == plate) for i, n in enumerate(left))
            visit(at, after, after_printers, after_left, after_done)

    visit(0, [0] * operators, [(None, 0)] * len(farm.groups), tuple(runs), 0)
    return best


class Oracle(unittest.TestCase):
    def test_agrees_with_the_optima_reasoned_by_hand(self):
        folders = sorted(INSTANCES.glob("tiny-*"))
        self.assertGreaterEqual(len(folders), 6)
        for folder in folders:
            with self.subTest(folder.name):
                farm = tables.read(folder)
                result, plan = oracle.optimum(farm, 30)
                self.assertEqual(result["status"], "optimal")
                claims = stated(folder)
                for figure in ("makespan_minutes", "late_minutes"):
                    self.assertEqual(result[figure], claims[figure])
                self.assertEqual(verify.verify(farm, plan), [])

    def test_agrees_with_a_search_of_every_order(self):
        tried = 0
        for seed in range(200):
            with self.subTest(seed=seed):
                farm = random_farm("split", seed)
                runs = sum(
                    -(-farm.shipments[0].needs[p] // n) for q in farm.plates.values() for p, n in q.copies.items()
                )
                if runs > 5:
                    continue
                tried += 1
                result, _ = oracle.optimum(farm, 30)
                self.assertEqual(result["status"], "optimal")
                self.assertEqual(result["makespan_minutes"], every_order(farm))
        self.assertGreater(tried, 20)

    def test_a_run_that_gives_nothing_may_carry_a_changeover(self):
        """The second shift is too short for a changeover, and the order is released after the first one's end: only a
        run of the new material in the first shift, all surplus, lets the order's run load in the second."""
        farm = instance(
            'time_zone = "Europe/Lisbon"\nstart = "2026-03-02T08:00"\nhorizon_days = 3\n'
            "[handling]\nload = 5\nharvest = 5\nchangeover = 30\n",
            printers="printer,group,material\nP1,g,PETG\n",
            shipments="shipment,kit,quantity,release\ns,k,1,2026-03-02T12:00\n",
            shifts="crew,days,from,to,operators\nd,daily,08:00,10:00,1\nd,daily,14:00,14:20,1\n",
        )
        result, plan = oracle.optimum(farm, 30)
        # Loaded 370-375 in the second shift after a harvest 360-365 or so, printed by 430, harvested 1440-1445.
        self.assertEqual((result["status"], result["makespan_minutes"]), ("optimal", 1445))
        self.assertEqual((len(plan.runs), verify.verify(farm, plan)), (2, []))


class Verifier(unittest.TestCase):
    """Each damage to a valid plan is found under its rule's code."""

    @classmethod
    def setUpClass(cls):
        cls.plans = {}
        for name in (
            "tiny-one-operator",
            "tiny-changeover",
            "tiny-packing",
            "tiny-release",
            "tiny-first-lot",
            "tiny-stock-running",
            "tiny-no-night",
            "tiny-alternatives",
        ):
            farm = tables.read(INSTANCES / name)
            cls.plans[name] = (farm, oracle.optimum(farm, 30)[1])

    def damaged(self, name, change):
        farm, plan = self.plans[name]
        plan = dataclasses.replace(
            plan,
            runs=list(plan.runs),
            tasks=list(plan.tasks),
            shipments=list(plan.shipments),
            allocation=Counter(plan.allocation),
            spares=Counter(plan.spares),
        )
        change(plan)
        return {code for code, _ in verify.verify(farm, plan)}

    def expect(self, code, name, change):
        with self.subTest(code=code, instance=name):
            self.assertIn(code, self.damaged(name, change))

    @staticmethod
    def run_to(index, tasks=True, **fields):
        """Changes a run and, to match, its tasks."""

        def change(plan):
            old = plan.runs[index]
            new = dataclasses.replace(old, **fields)
            plan.runs[index] = new
            if tasks:
                swap = {
                    ("load", old.name): (new.load_from, new.print_from, new.loader),
                    ("harvest", old.name): (new.harvest_from, new.harvest_to, new.harvester),
                }
                plan.tasks = [
                    dataclasses.replace(
                        t,
                        start=swap[t.task, t.run][0],
                        end=swap[t.task, t.run][1],
                        operator=swap[t.task, t.run][2],
                        printer=new.printer,
                    )
                    if (t.task, t.run) in swap
                    else t
                    for t in plan.tasks
                ]

        return change

    def test_counts_the_chance_that_parts_suffice(self):
        """Starts for 95 % by the binomial distribution, whether plates fail or copies are rejected; and lots that are lost
        together."""
        for good, yields, starts in [(100, 0.97, 106), (100, 0.95, 109), (60, 0.90, 71), (1000, 0.98, 1028), (20, 0.95, 23)]:
            for fails, rejects in [(1 - yields, 0.0), (0.0, 1 - yields)]:
                self.assertGreaterEqual(verify.suffices(good, 0, [(1, fails)] * starts, rejects), 0.95)
                self.assertLess(verify.suffices(good, 0, [(1, fails)] * (starts - 1), rejects), 0.95)
        self.assertAlmostEqual(verify.suffices(20, 0, [(10, 0.1)] * 3, 0.0), 0.972)
        self.assertAlmostEqual(verify.suffices(21, 1, [(10, 0.1)] * 3, 0.0), 0.972)
        farm, plan = self.plans["tiny-one-operator"]
        plates = {key: dataclasses.replace(plate, failure_rate=0.2) for key, plate in farm.plates.items()}
        risky = dataclasses.replace(farm, confidence=0.9, plates=plates)
        self.assertEqual({code for code, _ in verify.verify(risky, plan)}, {"SPARES"})
        self.assertEqual(verify.verify(dataclasses.replace(risky, confidence=0.0), plan), [])

    def test_finds_each_damage(self):
        one, change = "tiny-one-operator", "tiny-changeover"
        runs = self.plans[one][1].runs
        shift_end = 720
        self.expect("HANDLING", one, self.run_to(-1, harvest_from=shift_end - 5, harvest_to=shift_end + 5))
        self.expect("HANDLING", one, self.run_to(-1, harvest_to=runs[-1].harvest_to + 1))
        self.expect("HANDLING", one, self.run_to(-1, harvester="day-2"))
        self.expect("HANDLING", one, lambda plan: plan.tasks.pop())
        self.expect("HANDLING", one, self.run_to(0, tasks=False, loader="night-1"))
        self.expect(
            "OPERATOR",
            one,
            self.run_to(1, load_from=runs[1].load_from - 1, print_from=runs[1].print_from - 1, ready=runs[1].ready - 1),
        )
        self.expect("PRINTER", one, self.run_to(2, load_from=0, print_from=10, ready=110))
        self.expect("PRINTER", one, lambda plan: plan.runs.append(plan.runs[0]))
        self.expect("READY", one, self.run_to(0, ready=runs[0].ready - 1))
        self.expect("READY", one, self.run_to(0, harvest_from=runs[0].ready - 1, harvest_to=runs[0].ready + 9))
        self.expect("GROUP", "tiny-alternatives", self.run_to(0, tasks=False, plate="louvre-3", printer="S1"))
        self.expect("MATERIAL", change, lambda plan: self.run_to(1, load_from=plan.runs[1].load_from + 30)(plan))
        self.expect(
            "DOWNTIME", "tiny-stock-running", lambda plan: self.run_to(1, load_from=15, print_from=20, ready=120)(plan)
        )
        self.expect(
            "UNATTENDED", "tiny-no-night", lambda plan: self.run_to(1, load_from=300, print_from=305, ready=545)(plan)
        )
        self.expect(
            "RELEASE",
            "tiny-release",
            lambda plan: plan.allocation.update({("R0001", "hub", "new-order"): 1, ("R0002", "hub", "new-order"): -1}),
        )
        self.expect(
            "AFTER",
            "tiny-first-lot",
            lambda plan: self.run_to(1, load_from=186, print_from=189, ready=249)(plan),
        )
        self.expect("SPARES", one, lambda plan: plan.spares.update({("R0001", "hub", "lot"): 1}))
        self.expect("ALLOCATION", one, lambda plan: plan.allocation.subtract({("R0001", "clip", "lot"): 1}))
        self.expect("ALLOCATION", one, lambda plan: plan.allocation.update({("R0009", "clip", "lot"): 1}))
        self.expect(
            "ALLOCATION",
            "tiny-stock-running",
            lambda plan: plan.allocation.update({("stock", "wind-cup", "lot"): 1, ("R0001", "wind-cup", "lot"): -1}),
        )
        self.expect(
            "PACK", "tiny-packing", lambda plan: plan.tasks.remove(next(t for t in plan.tasks if t.task == "pack"))
        )
        self.expect(
            "READINESS", one, lambda plan: plan.shipments.append(dataclasses.replace(plan.shipments.pop(), ready=259))
        )
        self.expect(
            "CLAIM", change, lambda plan: plan.shipments.__setitem__(0, dataclasses.replace(plan.shipments[0], late=1))
        )

    def test_finds_a_box_packed_too_early(self):
        farm, plan = self.plans["tiny-packing"]
        usable = min(r.harvest_to for r in plan.runs) + farm.finish["vane"]

        def change(plan):
            index, first = min(((i, t) for i, t in enumerate(plan.tasks) if t.task == "pack"), key=lambda p: p[1].start)
            plan.tasks[index] = dataclasses.replace(first, start=usable - 1, end=usable - 1 + farm.pack_box)

        self.expect("PACK", "tiny-packing", change)

    def test_finds_a_plate_that_closes_no_bag(self):
        farm = tables.read(INSTANCES / "tiny-bag")
        plan = oracle.optimum(farm, 30)[1]
        plan.runs[0] = dataclasses.replace(plan.runs[0], plate="clip-4", ready=plan.runs[0].print_from + 60)
        self.assertIn("BAG", {code for code, _ in verify.verify(farm, plan)})

    def test_finds_false_figures(self):
        farm, plan = self.plans["tiny-one-operator"]
        true = {
            **verify.figures(verify.Room(farm, plan)),
            "objective": "soonest",
            "outcome": "optimal",
            "value_minutes": 260,
            "bound_minutes": 260,
            "late_bound_minutes": 0,
            "gap": 0,
        }
        self.assertEqual(verify.verify(farm, plan, true), [])
        for key, value in {
            "makespan_minutes": 261,
            "idle_printer_minutes": 1,
            "surplus_parts": 1,
            "runs": 5,
            "gap": 0.1,
            "operator_minutes": 79,
            "bound_minutes": 261,
            "late_minutes": 1,
            "late_bound_minutes": 1,
        }.items():
            with self.subTest(key):
                self.assertIn("CLAIM", {code for code, _ in verify.verify(farm, plan, {**true, key: value})})
        self.assertIn(
            "CLAIM", {c for c, _ in verify.verify(farm, plan, {**true, "bound_minutes": 250, "gap": 10 / 260})}
        )


class Reading(unittest.TestCase):
    """Calendars, kits and boxes, by instances written for the purpose."""

    def spans(self, farm):
        return [(s.operator, s.start, s.end) for s in farm.stretches]

    def test_a_night_across_the_spring_change_is_an_hour_shorter(self):
        farm = instance(
            'time_zone = "Europe/Lisbon"\nstart = "2026-03-28T20:00"\nhorizon_days = 1\n',
            shifts="crew,days,from,to,operators\nn,Sat,22:00,06:00,1\n",
        )
        self.assertEqual(self.spans(farm), [("n-1", 120, 540)])

    def test_a_night_across_the_autumn_change_is_an_hour_longer(self):
        farm = instance(
            'time_zone = "Europe/Lisbon"\nstart = "2026-10-24T20:00"\nhorizon_days = 1\n',
            shifts="crew,days,from,to,operators\nn,Sat,22:00,06:00,1\n",
        )
        self.assertEqual(self.spans(farm), [("n-1", 120, 660)])

    def test_a_skipped_wall_time_moves_forward(self):
        # 01:30 does not exist on that night: it is 02:30, half an hour after 00:59's next minute.
        farm = instance(
            'time_zone = "Europe/Lisbon"\nstart = "2026-03-29T00:00"\nhorizon_days = 1\n',
            shifts="crew,days,from,to,operators\nn,Sun,01:30,06:00,1\n",
        )
        self.assertEqual(self.spans(farm), [("n-1", 90, 300)])

    def test_stretches_that_adjoin_at_midnight_are_one(self):
        farm = instance(
            'time_zone = "Europe/Lisbon"\nstart = "2026-03-02T00:00"\nhorizon_days = 3\n',
            shifts="crew,days,from,to,operators\nr,daily,18:00,24:00,1\nr,daily,00:00,02:00,1\n",
        )
        self.assertEqual(
            self.spans(farm), [("r-1", 0, 120), ("r-1", 1080, 1560), ("r-1", 2520, 3000), ("r-1", 3960, 4320)]
        )

    def test_overlapping_rows_of_a_crew_number_on(self):
        farm = instance(
            'time_zone = "Europe/Lisbon"\nstart = "2026-03-02T00:00"\nhorizon_days = 1\n',
            shifts="crew,days,from,to,operators\nd,daily,06:00,10:00,1\nd,daily,08:00,12:00,2\nd,daily,10:00,14:00,1\n",
        )
        self.assertEqual(self.spans(farm), [("d-1", 360, 840), ("d-2", 480, 720), ("d-3", 480, 720)])

    def test_closures_and_days_and_clipping(self):
        farm = instance(
            'time_zone = "Europe/Lisbon"\nstart = "2026-03-02T07:00"\nhorizon_days = 3\n',
            shifts="crew,days,from,to,operators\nd,Mon-Fri,06:00,08:00,1\nx,2026-03-04,09:00,10:00,1\n",
            closures="date,note\n2026-03-03,holiday\n",
        )
        self.assertEqual(
            self.spans(farm), [("d-1", 0, 60), ("d-1", 2820, 2940), ("x-1", 3000, 3060), ("d-1", 4260, 4320)]
        )
        self.assertEqual(farm.unattended, [(60, 2820), (2940, 3000), (3060, 4260)])

    def test_kits_in_kits_and_partial_boxes(self):
        farm = instance(
            'time_zone = "Europe/Lisbon"\nstart = "2026-03-02T07:00"\n',
            kits="# a comment\nkit,item,quantity\n\ntop,k,2\ntop,a,1\nk,a,3\n",
            shipments="shipment,kit,quantity,per_box,weight\ns,top,5,2,0.5\n",
            shifts="crew,days,from,to,operators\nd,daily,06:00,08:00,1\n",
        )
        (shipment,) = farm.shipments
        self.assertEqual(dict(shipment.needs), {"a": 35})
        self.assertEqual(shipment.lines[0].boxes, (2, 2, 1))
        self.assertEqual(shipment.weight, 500)


class Files(unittest.TestCase):
    def test_a_plan_written_and_read_back_is_the_same(self):
        farm = tables.read(INSTANCES / "tiny-stock-running")
        plan = oracle.optimum(farm, 30)[1]
        with tempfile.TemporaryDirectory() as folder:
            planfiles.write(farm, plan, folder)
            again = planfiles.read(farm, folder)
        self.assertEqual(
            (again.runs, again.tasks, again.allocation, again.shipments),
            (plan.runs, plan.tasks, plan.allocation, plan.shipments),
        )


if __name__ == "__main__":
    unittest.main()
