"""A first plan by dispatching runs in random orders: a value for the oracle to beat, a start for its search.

Nothing is proven here and nothing depends on it but speed: the oracle's models hold this plan and better ones.
"""

import math
import random
from collections import Counter, defaultdict
from dataclasses import dataclass

import numpy as np

from farm import touches
from windows import Windows


@dataclass
class Placed:
    """A run placed on a printer; `load` is None for a plate that was there at the start."""

    printer: str
    plate: object
    load: int | None
    print_from: int | None
    harvest: int
    left: Counter

    @property
    def end(self):
        return self.harvest + self.plate.harvest


class Crew:
    """Who is busy when: tasks by stretch, each stretch one operator."""

    def __init__(self, farm):
        self.farm = farm
        self.tasks = defaultdict(list)

    def free(self, start, end):
        """A stretch whose operator can take the task, or None."""
        for s in self.farm.stretches:
            if s.start > start:
                return None
            if end <= s.end and not any(touches(start, end, a, b) for a, b in self.tasks[s]):
                return s
        return None

    def take(self, start, end):
        """Books the task and gives its operator; the caller knows that somebody is free."""
        stretch = self.free(start, end)
        self.tasks[stretch].append((start, end))
        return stretch.operator


class Dispatcher:
    """One pass: runs placed one after the other, each as early as it can be."""

    def __init__(self, farm, windows, rng):
        self.farm, self.windows, self.rng = farm, windows, rng
        self.crew = Crew(farm)
        self.runs = []
        self.free = {p: 0 for p in farm.groups}
        self.held = dict(farm.loaded)
        self.printing = np.zeros(windows.end, dtype=np.int64)
        self.nobody = np.zeros(windows.end, dtype=bool)
        for a, b in farm.unattended:
            self.nobody[a:b] = True
        self.ready = {}
        self.given = Counter()

    def plan(self):
        """Weighted lateness and makespan, or None where the pass did not fit everything in."""
        farm = self.farm
        for run in farm.running.values():
            self.printing[0 : max(0, run.print_end)] += 1
        for run in farm.running.values():
            at = self._harvest(run.printer, run.plate, max(0, run.ready))
            if at is None:
                return None
            self._book(Placed(run.printer, run.plate, None, None, at, Counter(run.plate.copies)))
        order = sorted(farm.shipments, key=lambda s: (s.due is None, s.due or 0, s.release or 0))
        if self.rng.random() < 0.4:
            self.rng.shuffle(order)
        order = _first_lots_first(order)
        stock = Counter(farm.stock)
        for shipment in order:
            need = Counter(shipment.needs)
            sources = []
            for part in need:
                used = min(need[part], stock[part])
                stock[part] -= used
                need[part] -= used
                if used:
                    sources.append((0, part, used))
            for run in sorted(self.runs, key=lambda r: r.end):
                self._give(run, shipment, need, sources)
            while +need:
                run = self._next_run(shipment, +need)
                if run is None:
                    return None
                self._give(run, shipment, need, sources)
            if not self._pack(shipment, sources):
                return None
        late = sum(s.weight * max(0, self.ready[s.name] - s.due) for s in farm.shipments if s.due is not None)
        return late, max(self.ready.values())

    def _give(self, run, shipment, need, sources):
        if run.load is None and not shipment.admits_running():
            return
        if run.load is not None and run.load < self._opens(shipment):
            return
        for part in run.left:
            used = min(run.left[part], need[part])
            if used:
                run.left[part] -= used
                need[part] -= used
                sources.append((run.end + self.farm.finish[part], part, used))

    def _opens(self, shipment):
        """The first minute from which loads may go into a shipment."""
        release = shipment.release if shipment.release is not None else -math.inf
        return max(release, self.ready.get(shipment.after, -math.inf) + shipment.hold)

    def _next_run(self, shipment, need):
        part = self.rng.choice(sorted(need))
        choices = []
        for printer in self.farm.groups:
            for plate in self.farm.plates_for(printer):
                if part in plate.copies:
                    found = self._place(printer, plate, max(0, self._opens(shipment)))
                    if found:
                        gain = sum(min(n, need[p]) for p, n in plate.copies.items())
                        choices.append((found.end * (0.7 + 0.6 * self.rng.random()) / gain**0.3, printer, found))
        if not choices:
            return None
        run = min(choices, key=lambda c: c[:2])[2]
        self._book(run)
        return run

    def _place(self, printer, plate, earliest):
        held = self.held[printer]
        change = self.farm.changeover if held is not None and held != plate.material else 0
        length = plate.load + change
        ok = self.windows.print_from(printer, plate, change)
        for at in np.flatnonzero(ok[max(self.free[printer], earliest) + length :]):
            start = int(at) + max(self.free[printer], earliest)
            at = start + length
            if self.farm.max_printers is not None:
                span = slice(at, at + plate.minutes)
                if (self.printing[span][self.nobody[span]] >= self.farm.max_printers).any():
                    continue
            if self.crew.free(start, at):
                harvest = self._harvest(printer, plate, at + plate.minutes + plate.cool)
                return harvest and Placed(printer, plate, start, at, harvest, Counter(plate.copies))
        return None

    def _harvest(self, printer, plate, ready):
        for at in np.flatnonzero(self.windows.harvest_from(printer, plate.harvest)[ready:]):
            start = int(at) + ready
            if self.crew.free(start, start + plate.harvest):
                return start
        return None

    def _book(self, run):
        if run.load is not None:
            self.crew.take(run.load, run.print_from)
            self.printing[run.print_from : run.print_from + run.plate.minutes] += 1
        self.crew.take(run.harvest, run.end)
        self.free[run.printer] = run.end
        self.held[run.printer] = run.plate.material
        self.runs.append(run)

    def _pack(self, shipment, sources):
        ready = max([0] + [t for t, _, _ in sources])
        if self.farm.pack_box:
            needed, at = Counter(), 0
            for line in shipment.lines:
                for kits in line.boxes:
                    for part, count in line.per_kit.items():
                        needed[part] += count * kits
                    at = max(at, _when(needed, sources))
                    while at <= self.windows.end and not self.crew.free(at, at + self.farm.pack_box):
                        at += 1
                    if at > self.windows.end:
                        return False
                    self.crew.take(at, at + self.farm.pack_box)
                    ready = max(ready, at + self.farm.pack_box)
        self.ready[shipment.name] = ready
        return True


def _first_lots_first(order):
    """The same order, each shipment after the one it waits for."""
    left, done = list(order), []
    while left:
        names = {s.name for s in left}
        done.append(left.pop(next(i for i, s in enumerate(left) if s.after not in names)))
    return done


def _when(needed, sources):
    """The first minute at which the sources hold what is needed."""
    times = [0]
    for part, count in needed.items():
        for t, _, n in sorted(s for s in sources if s[1] == part):
            if count <= 0:
                break
            count -= n
            times.append(t)
    return max(times)


def best(farm, passes=60):
    """The best (weighted lateness, makespan, runs) of several passes, or None; a run is (printer, plate, load, harvest)
    in minutes."""
    windows, found = Windows(farm, farm.horizon), None
    for seed in range(passes):
        dispatcher = Dispatcher(farm, windows, random.Random(seed))
        value = dispatcher.plan()
        if value is not None and (found is None or value < found[:2]):
            found = (*value, [(r.printer, r.plate, r.load, r.harvest) for r in dispatcher.runs])
    return found
