"""A constraint-programming model that stays small on large rooms (OR-Tools CP-SAT): the planner's rival in the bench.

    leancp.py DIR --seconds N --plan-out PLAN_DIR

The oracle tells printers apart and is for ten runs. Here alike printers are counted, a run is an interval that takes one of
its group, and operators and nights are shared as in the oracle. What it costs: each run gives to one shipment, boxes wait
for all parts of their shipment, and with more than one material every load keeps the time of a changeover free, needed or
not. So its plans are plans, but what it proves is proven for such plans only, and no bound of it is reported. It does not
know downtime, plates on printers at the start, first lots and spares. Its horizon is where loading one part at a time by
hand ends (byhand.py), which makes it no worse than that wherever it finds a plan. Prints one JSON object: status,
late_minutes, makespan_minutes, runs.
"""

import argparse
import json
import sys
import time
from collections import Counter, defaultdict
from itertools import pairwise

from ortools.sat.python import cp_model

import byhand
import farm as tables
import planfiles
import verify
from oracle import operators
from oracle_room import Task, operators as share_operators, unattended
from windows import Windows, intervals


class Unsuited(Exception):
    """The farm has something that the model does not know."""


class Slot:
    """A run that may be made for a part of a shipment."""

    def __init__(self, model, shipment, part):
        m = model.m
        self.shipment, self.part, self.plates = shipment, part, {}
        self.load, self.begin, self.harvest, self.end = (m.new_int_var(0, model.end, n) for n in "lphe")
        for plate, on in model.plates_of(part):
            lit = self.plates[plate] = m.new_bool_var("plate")
            model.within(self.begin, model.windows.print_from(on, plate, model.change), lit)
            model.within(self.harvest, model.windows.harvest_from(on, plate.harvest), lit)
            m.add(self.load == self.begin - plate.load - model.change).only_enforce_if(lit)
            m.add(self.harvest >= self.begin + plate.minutes + plate.cool).only_enforce_if(lit)
            m.add(self.end == self.harvest + plate.harvest).only_enforce_if(lit)
            if shipment.release is not None:
                m.add(self.load >= shipment.release).only_enforce_if(lit)
            held = m.new_int_var(0, model.end, "held")
            model.on[plate.group].append(m.new_optional_interval_var(self.load, held, self.end, lit, "on"))
            model.prints.append((self.begin, plate.minutes, lit))
        self.present = m.new_bool_var("present")
        m.add(sum(self.plates.values()) == self.present)
        by_length = lambda length: list(Counter({length(q): 0 for q in self.plates}))
        loads = [(n, self._any(m, lambda q, n=n: q.load == n)) for n in by_length(lambda q: q.load)]
        harvests = [(n, self._any(m, lambda q, n=n: q.harvest == n)) for n in by_length(lambda q: q.harvest)]
        loads = [(n + model.change, lit) for n, lit in loads]
        model.tasks.append(Task("load", self, self.load, self.begin, loads, self.present))
        model.tasks.append(Task("harvest", self, self.harvest, self.end, harvests, self.present))

    def _any(self, m, wanted):
        lits = [lit for q, lit in self.plates.items() if wanted(q)]
        if len(lits) == 1:
            return lits[0]
        any_of = m.new_bool_var("any")
        m.add(sum(lits) == any_of)
        return any_of


class Model:
    """Slots for every part of every shipment."""

    def __init__(self, farm, end):
        if any(farm.downtime.values()) or farm.running or farm.confidence is not None:
            raise Unsuited("downtime, running plates or spares")
        if any(s.after for s in farm.shipments):
            raise Unsuited("first lots")
        self.farm, self.end, self.m = farm, end, cp_model.CpModel()
        self.windows = self.long_windows = Windows(farm, end)
        self.change = farm.changeover if len(set(farm.material.values())) > 1 else 0
        self.on, self.prints, self.tasks, self.slots = defaultdict(list), [], [], []
        self.stock, left = Counter(), Counter(farm.stock)
        self.ready = {}
        for shipment in farm.shipments:
            self.ready[shipment.name] = self.m.new_int_var(0, end, "ready")
            for part, need in shipment.needs.items():
                used = self.stock[planfiles.STOCK, part, shipment.name] = min(need, left[part])
                left[part] -= used
                self._slots(shipment, part, need - used)
            self._boxes(shipment)
        for group, spans in self.on.items():
            count = sum(g == group for g in farm.groups.values())
            self.m.add_cumulative(spans, [1] * len(spans), count)
        share_operators(self)
        unattended(self)
        self._objective()

    def plates_of(self, part):
        """The plates of a part, each with a printer it may be on; without downtime the printers of a group are alike."""
        found = {q: p for p in self.farm.groups for q in self.farm.plates_for(p) if part in q.copies}
        return sorted(found.items(), key=lambda f: (f[0].plate, f[0].group))

    def within(self, var, ok, lit):
        domain = cp_model.Domain.from_intervals(intervals(ok))
        self.m.add_linear_expression_in_domain(var, domain).only_enforce_if(lit)

    def _slots(self, shipment, part, need):
        if need <= 0:
            return
        least = min(q.copies[part] for q, _ in self.plates_of(part))
        slots = [Slot(self, shipment, part) for _ in range(-(-need // least))]
        self.m.add(sum(q.copies[part] * lit for s in slots for q, lit in s.plates.items()) >= need)
        for slot in slots:
            end = slot.end + self.farm.finish[part]
            self.m.add(self.ready[shipment.name] >= end).only_enforce_if(slot.present)
        for a, b in pairwise(slots):
            self.m.add_implication(b.present, a.present)
            self.m.add(a.load <= b.load).only_enforce_if(b.present)
        self.slots += slots

    def _boxes(self, shipment):
        if not self.farm.pack_box:
            return
        usable = self.m.new_int_var(0, self.end, "usable")
        for slot in self.slots:
            if slot.shipment is shipment:
                self.m.add(usable >= slot.end + self.farm.finish[slot.part]).only_enforce_if(slot.present)
        for line in shipment.lines:
            before = usable
            for _ in line.boxes:
                at = self.m.new_int_var(0, self.end, "pack")
                self.within(at, self.windows.staffed(self.farm.pack_box), True)
                self.m.add(at >= before)
                before = at
                end = at + self.farm.pack_box
                self.m.add(self.ready[shipment.name] >= end)
                length = [(self.farm.pack_box, 1)]
                self.tasks.append(Task("pack", (shipment.name, line.kit), at, end, length, 1))

    def _objective(self):
        makespan, late = self.m.new_int_var(0, self.end, "makespan"), []
        self.m.add_max_equality(makespan, list(self.ready.values()))
        for shipment in self.farm.shipments:
            if shipment.due is not None:
                by = self.m.new_int_var(0, max(0, self.end - shipment.due), "late")
                self.m.add(by >= self.ready[shipment.name] - shipment.due)
                late.append(shipment.weight * by)
        self.m.minimize((self.end + 1) * sum(late) + makespan if late else makespan)


def plan_of(model, solver):
    """The plan that a solution is: printers named, changeovers that are not needed left out."""
    farm, value = model.farm, solver.value
    made = sorted((s for s in model.slots if value(s.present)), key=lambda s: (value(s.load), value(s.end)))
    named = operators(model, solver)
    who = {(t.kind, id(t.what)): operator for _, _, t, operator in named if t.kind != "pack"}
    tasks = [planfiles.Task(o, "pack", a, b, shipment=t.what[0], kit=t.what[1]) for a, b, t, o in named if t.kind == "pack"]
    free, held, runs, given = {p: 0 for p in farm.groups}, dict(farm.loaded), [], +model.stock
    left = Counter({(s.name, p): n - model.stock[planfiles.STOCK, p, s.name] for s in farm.shipments for p, n in s.needs.items()})
    for number, slot in enumerate(made, 1):
        plate = next(q for q, lit in slot.plates.items() if value(lit))
        able = [p for p, g in farm.groups.items() if g == plate.group and free[p] <= value(slot.load)]
        printer = min(able, key=lambda p: (held[p] != plate.material, p))
        change = farm.changeover if held[printer] not in (None, plate.material) else 0
        name, begin, harvest, end = f"R{number:05}", value(slot.begin), value(slot.harvest), value(slot.end)
        load, loader, harvester = begin - change - plate.load, who["load", id(slot)], who["harvest", id(slot)]
        ready = begin + plate.minutes + plate.cool
        runs.append(planfiles.Run(name, printer, plate.plate, load, begin, ready, harvest, end, loader, harvester))
        tasks.append(planfiles.Task(loader, "load", load, begin, printer, name))
        tasks.append(planfiles.Task(harvester, "harvest", harvest, end, printer, name))
        free[printer], held[printer] = end, plate.material
        count = min(plate.copies[slot.part], left[slot.shipment.name, slot.part])
        left[slot.shipment.name, slot.part] -= count
        if count:
            given[name, slot.part, slot.shipment.name] = count
    plan = planfiles.Plan(runs, sorted(tasks, key=lambda t: (t.start, t.operator)), given, [])
    room = verify.Room(farm, plan)
    plan.shipments = [planfiles.Ready(s.name, room.ready(s.name), s.due, room.late(s)) for s in farm.shipments]
    return plan


def search(farm, workers, seconds=None, counted=None):
    """A plan or None, and CP-SAT's word for it. The time to write the model down counts; `counted` is a limit in CP-SAT's own
    deterministic seconds instead."""
    begun = time.monotonic()
    first = byhand.by_hand(farm)
    if first is None:
        raise Unsuited("no horizon: by hand the room does not come to an end")
    end = verify.figures(verify.Room(farm, first))["makespan_minutes"]
    model = Model(farm, max(end, *(r.harvest_to for r in first.runs)))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = 1
    if seconds is not None:
        solver.parameters.max_time_in_seconds = max(1.0, seconds - (time.monotonic() - begun))
    if counted is not None:
        solver.parameters.max_deterministic_time = counted
    status = solver.solve(model.m)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return plan_of(model, solver) if found else None, solver.status_name(status).lower()


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder")
    parser.add_argument("--seconds", type=float, required=True)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--plan-out", required=True)
    args = parser.parse_args()
    farm = tables.read(args.folder)
    try:
        plan, status = search(farm, args.workers, args.seconds)
    except Unsuited as error:
        print(json.dumps({"status": f"does not know {error}"}))
        return 3
    if plan is None:
        print(json.dumps({"status": status}))
        return 3
    print(json.dumps({"status": status, **byhand.written(farm, plan, args.plan_out)}))
    return 0


if __name__ == "__main__":
    sys.exit(main())
