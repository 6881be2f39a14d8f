"""What a room does without a planner: one part at a time on all printers.

    byhand.py DIR --plan-out PLAN_DIR

The parts of the shipment due first are loaded one after the other, each on every printer that can take it and comes free,
until enough copies of it are on their way; then the next part. Whoever is free walks to the printer that has waited
longest, takes the plate off and loads the next one. Nobody looks ahead to the night. Every rule of a valid plan is obeyed
except first lots and spares, which farms with those have to do without here. Prints one JSON object: late_minutes,
makespan_minutes, runs.
"""

import argparse
import bisect
import json
import sys
from collections import Counter, defaultdict

import numpy as np

import farm as tables
import planfiles
import verify
from windows import Windows


class Person:
    """One operator's stretch of work, task after task."""

    def __init__(self, stretch):
        self.stretch, self.free = stretch, stretch.start
        self.tasks = []

    def work(self, kind, start, end, **what):
        self.tasks.append(planfiles.Task(self.stretch.operator, kind, start, end, **what))
        self.free = max(self.free, end)


class Room:
    """The room as the shift lives it, minute by minute."""

    def __init__(self, farm):
        self.farm = farm
        self.windows = Windows(farm, farm.horizon)
        self.people = [Person(s) for s in farm.stretches]
        self.queue = self._queue()
        self.missing = Counter({(s.name, p): n for s in farm.shipments for p, n in s.needs.items()})
        self.stock = Counter(farm.stock)
        self.on = {printer: None for printer in farm.groups}
        self.free_since = {printer: 0 for printer in farm.groups}
        self.held = dict(farm.loaded)
        self.runs, self.waiting, self.given = [], [], Counter()
        self.printing = np.zeros(farm.horizon + 1, dtype=np.int32)
        self.nobody = np.zeros(farm.horizon + 1, dtype=bool)
        for a, b in farm.unattended:
            self.nobody[a:b] = True
        for run in farm.running.values():
            self.printing[: max(0, run.print_end)] += 1
            self.on[run.printer] = (None, run.plate, None, None, run.ready)
        self._give_stock()

    def _queue(self):
        """The parts in the order in which they are loaded, each for a shipment."""
        order = sorted(self.farm.shipments, key=lambda s: (s.due is None, s.due or 0))
        return [(s, part) for s in order for part in s.needs]

    def _give_stock(self):
        for shipment, part in self.queue:
            self._give(planfiles.STOCK, {part: self.stock[part]}, shipment, part)
            self.stock[part] -= self.given[planfiles.STOCK, part, shipment.name]

    def _give(self, source, left, shipment, part):
        count = min(left[part], self.missing[shipment.name, part])
        if count > 0:
            self.given[source, part, shipment.name] += count
            self.missing[shipment.name, part] -= count
        return count

    def live(self):
        """Lives until everything is off the printers; false where the horizon comes first."""
        for number, run in enumerate(self.farm.running.values()):
            self._give_run(f"R{number:05}", run.plate, None)
        self.names = {p: f"R{n:05}" for n, p in enumerate(self.farm.running)}
        self.count = len(self.names)
        for at in range(self.farm.horizon):
            here = [p for p in self.people if p.stretch.start <= at < p.stretch.end and p.free <= at]
            for person in here:
                while person.free <= at and self._act(person, at):
                    pass
            if not any(self.missing.values()) and not any(self.on.values()):
                return True
        return False

    def _act(self, person, at):
        """One task of a person, at that minute; false where there is none to do."""
        ready = [(on[4], p) for p, on in self.on.items() if on and on[4] <= at]
        for _, printer in sorted(ready):
            if self._harvest(person, printer, at):
                if person.free == person.tasks[-1].end:
                    self._load(person, printer, person.free)
                return True
        for _, printer in sorted((since, p) for p, since in self.free_since.items() if not self.on[p] and since <= at):
            if self._load(person, printer, at):
                return True
        return False

    def _harvest(self, person, printer, at):
        name, (load, plate, print_from, loader, ready) = self.names[printer], self.on[printer]
        end = at + plate.harvest
        if end > person.stretch.end or not self.windows.harvest_from(printer, plate.harvest)[at]:
            return False
        who = person.stretch.operator
        self.runs.append(planfiles.Run(name, printer, plate.plate, load, print_from, ready, at, end, loader or "", who))
        person.work("harvest", at, end, printer=printer, run=name)
        self.on[printer], self.free_since[printer], self.held[printer] = None, end, plate.material
        return True

    def _load(self, person, printer, at):
        """Loads the first part of the queue that is missing; the next one only where the printer cannot take it."""
        for shipment, part in self.queue:
            if self.missing[shipment.name, part] <= 0 or (shipment.release or 0) > at:
                continue
            able = [q for q in self.farm.plates_for(printer) if part in q.copies]
            for plate in able:
                if self._can_load(person, printer, plate, at):
                    self._start(person, printer, plate, at)
                    return True
            if able:
                return False
        return False

    def _change(self, printer, plate):
        held = self.held[printer]
        return self.farm.changeover if held is not None and held != plate.material else 0

    def _can_load(self, person, printer, plate, at):
        change = self._change(printer, plate)
        begin = at + change + plate.load
        if begin > person.stretch.end or begin >= self.farm.horizon:
            return False
        if not self.windows.print_from(printer, plate, change)[begin]:
            return False
        if self.farm.max_printers is None:
            return True
        span = slice(begin, begin + plate.minutes)
        return not (self.printing[span][self.nobody[span]] >= self.farm.max_printers).any()

    def _start(self, person, printer, plate, at):
        begin = at + self._change(printer, plate) + plate.load
        name = self.names[printer] = f"R{self.count:05}"
        self.count += 1
        person.work("load", at, begin, printer=printer, run=name)
        self.printing[begin : begin + plate.minutes] += 1
        self.on[printer] = (at, plate, begin, person.stretch.operator, begin + plate.minutes + plate.cool)
        self._give_run(name, plate, at)

    def _give_run(self, name, plate, load):
        for part, copies in plate.copies.items():
            left = {part: copies}
            for shipment, wanted in self.queue:
                early = not shipment.admits_running() if load is None else load < (shipment.release or 0)
                if wanted == part and not early:
                    left[part] -= self._give(name, left, shipment, part)

    def plan(self):
        """The plan, boxes packed in what time is left; None where that is not enough."""
        plan = planfiles.Plan(self.runs, [t for p in self.people for t in p.tasks], self.given, [])
        room = verify.Room(self.farm, plan)
        for shipment in sorted(self.farm.shipments, key=lambda s: room.ready(s.name)):
            if self.farm.pack_box and not self._pack(room, plan, shipment):
                return None
        plan.tasks.sort(key=lambda t: (t.start, t.operator))
        room = verify.Room(self.farm, plan)
        plan.shipments = [
            planfiles.Ready(s.name, room.ready(s.name), s.due, room.late(s)) for s in self.farm.shipments
        ]
        return plan

    def _pack(self, room, plan, shipment):
        """Packs the boxes of a shipment one after the other, each as soon as its parts are there."""
        usable = defaultdict(list)
        for (source, part, to), count in self.given.items():
            if to == shipment.name:
                usable[part] += [room.usable(source, part)] * count
        for times in usable.values():
            times.sort()
        taken, at = Counter(), 0
        for line in shipment.lines:
            for kits in line.boxes:
                for part, count in line.per_kit.items():
                    taken[part] += count * kits
                    at = max(at, usable[part][taken[part] - 1])
                task = self._gap(at, self.farm.pack_box, shipment.name, line.kit)
                if task is None:
                    return False
                plan.tasks.append(task)
                at = task.start
        return True

    def _gap(self, at, length, shipment, kit):
        """The first time from a minute on that somebody has for a box."""
        best = None
        for person in self.people:
            begin = max(at, person.stretch.start)
            tasks = sorted(person.tasks, key=lambda t: t.start)
            for task in tasks[bisect.bisect([t.end for t in tasks], begin) :]:
                if begin + length <= task.start:
                    break
                begin = max(begin, task.end)
            if begin + length <= person.stretch.end and (best is None or begin < best[0]):
                best = (begin, person)
            if best and person.stretch.start > best[0]:
                break
        if best is None:
            return None
        best[1].work("pack", best[0], best[0] + length, shipment=shipment, kit=kit)
        return best[1].tasks[-1]


def by_hand(farm):
    """The plan, or None where it does not come to an end within the horizon."""
    room = Room(farm)
    return room.plan() if room.live() else None


def written(farm, plan, folder):
    """Writes a plan that obeys every rule; what there is to say of it."""
    breaches = verify.verify(farm, plan)
    if breaches:
        raise AssertionError(f"a plan that breaks rules: {breaches[:5]}")
    planfiles.write(farm, plan, folder)
    figures = verify.figures(verify.Room(farm, plan))
    return {key: figures[key] for key in ("late_minutes", "makespan_minutes", "runs")}


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder")
    parser.add_argument("--plan-out", required=True)
    args = parser.parse_args()
    farm = tables.read(args.folder)
    plan = by_hand(farm)
    if plan is None:
        print("by hand it does not come to an end within the horizon", file=sys.stderr)
        return 3
    print(json.dumps(written(farm, plan, args.plan_out)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
