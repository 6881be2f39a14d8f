"""The rules of a valid plan as a constraint-programming model, minute by minute (OR-Tools CP-SAT).

The model is one of positions: printer p has positions 0, 1, ...; each present one holds a plate, and its load, its
printing, its harvest and what it gives to each shipment follow. Positions are filled from the front, so runs that are
alike are not told apart, and alike printers are put in order of their first load.

Why the positions suffice: a run that gives nothing to any shipment can be taken out without harm, unless it carries a
changeover for the run right after it, which then gives something. The runs that give something are bounded by
`most_useful_runs`.
"""

from collections import Counter, defaultdict
from dataclasses import dataclass, field
from itertools import pairwise

from ortools.sat.python import cp_model

import oracle_room
import oracle_spares
from oracle_room import Task
from windows import Windows, intervals


def most_useful_runs(farm):
    """An upper bound on the loaded runs that give a part to a shipment, in some best plan.

    Stock is used first (it is always usable). With the runs' times fixed, what is left is a transportation problem per
    part, from runs to shipments; a basic solution is a forest in which each tree has at most one run that gives less
    than its whole yield, so at most one such run per shipment, and the others give at least `least` copies each.
    """
    total = 0
    for part in {p for s in farm.shipments for p in s.needs}:
        need = sum(s.needs[part] for s in farm.shipments) - farm.stock.get(part, 0)
        copies = [q.copies[part] for p in farm.groups for q in farm.plates_for(p) if part in q.copies]
        if need > 0 and copies:
            least, partial = min(copies), sum(part in s.needs for s in farm.shipments)
            total += max((need - u) // least + u for u in range(min(partial, need) + 1))
    return total


@dataclass
class Source:
    """A run in the model: what a shipment may get it from, with its times as expressions."""

    printer: str
    present: object
    load: object
    harvest: object
    end: object
    yields: dict
    # Each plate with the condition that it is this run's.
    plates: dict
    # For each material, the literals of its plates with a changeover and without one.
    changed: dict = field(default_factory=dict)
    print_from: object = None
    # For each plate, its literals, with a changeover and without.
    literals: dict = field(default_factory=dict)
    # Literals: it gives something to a shipment.
    gives: list = field(default_factory=list)


class Model:
    """The whole of the rules for one farm: loaded runs and boxes done by `end`, running plates harvested by
    `running_end`."""

    def __init__(self, farm, end, running_end, enough=None):
        self.farm, self.end = farm, end
        self.m = cp_model.CpModel()
        self.windows = Windows(farm, end)
        self.long_windows = Windows(farm, running_end)
        # Parts may be finished after the last harvest.
        self.latest = end + max(farm.finish.values())
        self.tasks = []
        self.prints = []
        self.busy = defaultdict(list)
        self.packs = defaultdict(list)
        self.sources = []
        self.allocated = {}
        self.from_stock = {}
        self.released = {}
        self.shipment = {s.name: s for s in farm.shipments}
        self.ready = {s.name: self.m.new_int_var(0, self.latest, "ready") for s in farm.shipments}
        # Where a confidence is asked for, the numbers of runs that reach it.
        self.enough = enough
        self.useful = most_useful_runs(farm) if self.enough is None else self.enough.most_runs()
        self.materials = sorted({*farm.material.values(), *(m for m in farm.loaded.values() if m)})
        for printer in farm.groups:
            self._printer(printer)
        self._order_alike_printers()
        self._allocation()
        if self.enough is None:
            self._earliest_first()
        else:
            oracle_spares.suffice(self)
        self._useless_runs()
        for shipment in farm.shipments:
            self._boxes(shipment)
        oracle_room.operators(self)
        oracle_room.unattended(self)
        self._objectives()

    # -- runs on printers -------------------------------------------------------------------------------------------

    def _printer(self, printer):
        farm = self.farm
        held, last_end = farm.loaded[printer], None
        running = farm.running.get(printer)
        if running:
            at = self._window_var(self.long_windows.harvest_from(printer, running.plate.harvest), max(0, running.ready))
            end = at + running.plate.harvest
            yields = dict(running.plate.copies)
            self.sources.append(Source(printer, 1, None, at, end, yields, {running.plate: 1}))
            self._task("harvest", self.sources[-1], at, end, [(running.plate.harvest, 1)], 1)
            held, last_end = running.plate.material, end
        options = [
            (plate, change)
            for plate in farm.plates_for(printer)
            for change in ((0, 1) if farm.changeover else (0,))
            if self.windows.print_from(printer, plate, change * farm.changeover).any()
        ]
        if not options:
            return
        cycle = min(p.load + p.minutes + p.cool + p.harvest for p, _ in options)
        room = self.end // cycle
        enablers = self.useful if farm.changeover and len(self.materials) > 1 else 0
        before = None
        for _ in range(min(self.useful + enablers, room)):
            run = self._position(printer, options)
            self._follow(run, before, held, last_end)
            before, last_end = run, None
            self.sources.append(run)

    def _position(self, printer, options):
        m, farm = self.m, self.farm
        z = {option: m.new_bool_var("z") for option in options}
        present = m.new_bool_var("present")
        m.add_exactly_one([*z.values(), present.negated()])
        load, print_from, harvest, end = (m.new_int_var(0, self.end, n) for n in ("load", "print", "harvest", "end"))
        for absent in (load, print_from, harvest, end):
            m.add(absent == self.end).only_enforce_if(present.negated())

        def total(minutes):
            return sum(minutes(q, c) * lit for (q, c), lit in z.items())

        m.add(print_from == load + total(lambda q, c: q.load + c * farm.changeover))
        m.add(end == harvest + total(lambda q, c: q.harvest))
        m.add(harvest >= print_from + total(lambda q, c: q.minutes + q.cool))
        loads, harvests, prints = defaultdict(list), defaultdict(list), defaultdict(list)
        for (plate, change), lit in z.items():
            loads[plate.load + change * farm.changeover].append(lit)
            harvests[plate.harvest].append(lit)
            prints[plate.minutes].append(lit)
            self._in_window(print_from, self.windows.print_from(printer, plate, change * farm.changeover), lit)
        loads, harvests, prints = (self._lengths(lengths) for lengths in (loads, harvests, prints))
        for minutes, lit in harvests:
            self._in_window(harvest, self.windows.harvest_from(printer, minutes), lit)
        parts = {p for q, _ in options for p in q.copies}
        self.busy[printer].append(total(lambda q, c: q.load + c * farm.changeover + q.minutes + q.cool + q.harvest))
        run = Source(
            printer,
            present,
            load,
            harvest,
            end,
            yields={part: total(lambda q, c, part=part: q.copies.get(part, 0)) for part in parts},
            plates={q: sum(lit for (other, _), lit in z.items() if other is q) for q, _ in options},
            changed={
                material: (
                    [lit for (q, c), lit in z.items() if q.material == material and c],
                    [lit for (q, c), lit in z.items() if q.material == material and not c],
                )
                for material in self.materials
            },
            print_from=print_from,
            literals={q: [lit for (other, _), lit in z.items() if other is q] for q, _ in options},
        )
        self._task("load", run, load, print_from, loads, present)
        self._task("harvest", run, harvest, end, harvests, present)
        self.prints += [(print_from, minutes, lit) for minutes, lit in prints]
        return run

    def _follow(self, run, before, held, last_end):
        """Order and material after the run before, or after what was on the printer at the start."""
        m = self.m
        if before is not None:
            m.add_implication(run.present, before.present)
            m.add(run.load >= before.end)
        elif last_end is not None:
            m.add(run.load >= last_end).only_enforce_if(run.present)
        for material in self.materials if self.farm.changeover else []:
            changed, same = run.changed[material]
            if before is None:
                for lit in changed if held is None or held == material else same:
                    m.add(lit == 0)
            else:
                was = [lit for lits in before.changed[material] for lit in lits]
                for lit in same:
                    m.add_bool_or([*was, lit.negated()])
                for lit in changed:
                    for other in was:
                        m.add_bool_or([lit.negated(), other.negated()])

    def _order_alike_printers(self):
        first, alike = {}, defaultdict(list)
        for run in self.sources:
            first.setdefault(run.printer, run)
        for printer, group in self.farm.groups.items():
            if printer in first and printer not in self.farm.running:
                key = (group, self.farm.loaded[printer], tuple(self.farm.downtime[printer]))
                alike[key].append(first[printer])
        for runs in alike.values():
            for a, b in pairwise(runs):
                self.m.add(a.load <= b.load)
                self.m.add_implication(b.present, a.present)

    # -- who gets what ----------------------------------------------------------------------------------------------

    def _allocation(self):
        m, farm = self.m, self.farm
        spares = self.enough is not None
        for shipment in farm.shipments:
            for part, need in shipment.needs.items():
                stock = farm.stock.get(part, 0)
                stock = stock if spares else min(need, stock)
                self.from_stock[shipment.name, part] = m.new_int_var(0, stock, "stock")
                given = [self.from_stock[shipment.name, part]]
                for index, run in enumerate(self.sources):
                    if part not in run.yields or (run.load is None and not shipment.admits_running()):
                        continue
                    most = max(q.copies.get(part, 0) for q in run.plates)
                    count = m.new_int_var(0, most if spares else min(need, most), "give")
                    gives = m.new_bool_var("gives")
                    m.add(count >= 1).only_enforce_if(gives)
                    if spares:
                        # What gives gives all it has.
                        m.add(count >= run.yields[part]).only_enforce_if(gives)
                    m.add(count == 0).only_enforce_if(gives.negated())
                    if shipment.release is not None and run.load is not None:
                        m.add(run.load >= shipment.release).only_enforce_if(gives)
                    # Where lateness is bounded without the first lot, the rest does not wait.
                    if shipment.after in self.ready and run.load is not None:
                        m.add(run.load >= self.ready[shipment.after] + shipment.hold).only_enforce_if(gives)
                    if run.load is not None:
                        m.add_implication(gives, run.present)
                    run.gives.append(gives)
                    given.append(count)
                    self.allocated[shipment.name, part, index] = (count, gives)
                m.add(sum(given) >= need if spares else sum(given) == need)
        for part, stock in farm.stock.items():
            m.add(sum(v for (_, p), v in self.from_stock.items() if p == part) <= stock)
        for index, run in enumerate(self.sources):
            for part, count in run.yields.items():
                m.add(sum(c for (_, p, i), (c, _) in self.allocated.items() if (p, i) == (part, index)) <= count)

    def _useless_runs(self):
        """A run that gives nothing only carries the changeover of the next one; see the module's text."""
        m, useful = self.m, []
        loaded = [r for r in self.sources if r.load is not None]
        for run, after in pairwise([*loaded, None]):
            if after is not None and after.printer != run.printer:
                after = None
            used = m.new_bool_var("used")
            m.add_max_equality(used, run.gives or [0])
            useful.append(used)
            if after is None or not self.farm.changeover:
                m.add_implication(run.present, used)
                continue
            changed = [lit for lits, _ in run.changed.values() for lit in lits]
            m.add_bool_or([*changed, used, run.present.negated()])
            unchanged = [lit for _, lits in after.changed.values() for lit in lits]
            m.add_bool_or([*unchanged, used, run.present.negated()])
        if useful:
            m.add(sum(useful) <= self.useful)

    def _earliest_first(self):
        """Of two runs on one printer, a shipment that may take a part from either takes from the later one only when
        the earlier one has none left: giving it the earlier copies instead harms nothing."""
        for (name, part, later), (_, gives) in list(self.allocated.items()):
            for (other, p, earlier), (_, _) in list(self.allocated.items()):
                run = self.sources[earlier]
                if (other, p) != (name, part) or earlier >= later or run.printer != self.sources[later].printer:
                    continue
                release = self.shipment[name].release
                if self.shipment[name].after is not None:
                    # The earlier one may have been loaded too early.
                    continue
                given = sum(c for (_, q, i), (c, _) in self.allocated.items() if (q, i) == (part, earlier))
                when = [gives]
                if release is not None and run.load is not None:
                    when.append(self._released(earlier, release))
                self.m.add(given == run.yields[part]).only_enforce_if(when)

    def _released(self, index, release):
        """Whether a loaded run is loaded at the release or later."""
        if (index, release) not in self.released:
            lit = self.released[index, release] = self.m.new_bool_var("released")
            self.m.add(self.sources[index].load >= release).only_enforce_if(lit)
            self.m.add(self.sources[index].load < release).only_enforce_if(lit.negated())
        return self.released[index, release]

    def _boxes(self, shipment):
        """Boxes and readiness of a shipment."""
        m, farm = self.m, self.farm
        ready = self.ready[shipment.name]
        for (name, part, index), (_, gives) in self.allocated.items():
            if name == shipment.name:
                m.add(ready >= self.sources[index].end + farm.finish[part]).only_enforce_if(gives)
        if not farm.pack_box:
            return
        boxes = []
        for line in shipment.lines:
            for kits in line.boxes:
                at = self._window_var(self.windows.staffed(farm.pack_box), 0, farm.pack_box)
                if boxes and boxes[-1][0] is line:
                    m.add(at >= boxes[-1][1])
                boxes.append((line, at, kits))
                self.packs[shipment.name].append((line.kit, at))
                m.add(ready >= at + farm.pack_box)
                self._task("pack", (shipment.name, line.kit), at, at + farm.pack_box, [(farm.pack_box, 1)], 1)
        for index, (line, at, _) in enumerate(boxes):
            started = []
            for other, (line2, at2, kits2) in enumerate(boxes):
                if line2 is line:
                    started.append((line2, kits2, int(other <= index)))
                else:
                    before = m.new_bool_var("before")
                    m.add(at2 >= at + 1).only_enforce_if(before.negated())
                    started.append((line2, kits2, before))
            for part in line.per_kit:
                needed = sum(begun.per_kit.get(part, 0) * kits * lit for begun, kits, lit in started)
                there = [self.from_stock[shipment.name, part]]
                for (name, p, i), (count, _) in self.allocated.items():
                    if name == shipment.name and p == part:
                        most = max(q.copies.get(part, 0) for q in self.sources[i].plates)
                        usable, share = m.new_bool_var("usable"), m.new_int_var(0, most, "share")
                        m.add(self.sources[i].end + farm.finish[part] <= at).only_enforce_if(usable)
                        m.add(share <= count)
                        m.add(share <= most * usable)
                        there.append(share)
                m.add(sum(there) >= needed)

    # -- what is minimised ------------------------------------------------------------------------------------------

    def _objectives(self):
        m, farm = self.m, self.farm
        self.makespan = m.new_int_var(0, self.latest, "makespan")
        m.add_max_equality(self.makespan, list(self.ready.values()))
        for busy in self.busy.values():
            m.add(self.makespan >= sum(busy))
        late = []
        for shipment in farm.shipments:
            if shipment.due is not None:
                by = m.new_int_var(0, max(0, self.latest - shipment.due), "late")
                m.add(by >= self.ready[shipment.name] - shipment.due)
                late.append(shipment.weight * by)
        self.late = sum(late) if late else 0

    # -- starts for the search --------------------------------------------------------------------------------------

    def runs(self, solver):
        """(printer, plate, load, harvest) of each run of a solution."""
        value = solver.value
        return [
            (
                r.printer,
                next(q for q, lit in r.plates.items() if value(lit)),
                None if r.load is None else value(r.load),
                value(r.harvest),
            )
            for r in self.sources
            if value(r.present)
        ]

    def choices(self):
        """The literals that say which plate is where, position by position over all printers."""
        positions = defaultdict(list)
        loaded = Counter()
        for run in self.sources:
            if run.load is not None:
                positions[loaded[run.printer]] += [lit for lits in run.literals.values() for lit in lits]
                loaded[run.printer] += 1
        return [lit for index in sorted(positions) for lit in positions[index]]

    def hint(self, runs):
        """Starts the search from these runs."""
        by_printer = defaultdict(list)
        for printer, plate, load, harvest in runs:
            by_printer[printer].append((-1 if load is None else load, harvest, plate))
        for found in by_printer.values():
            found.sort(key=lambda r: r[:2])
        for source in self.sources:
            found = by_printer[source.printer]
            if source.load is None:
                if found:
                    self.m.add_hint(source.harvest, found.pop(0)[1])
                continue
            self.m.add_hint(source.present, bool(found))
            if found:
                load, harvest, plate = found.pop(0)
                self.m.add_hint(source.load, load)
                self.m.add_hint(source.harvest, harvest)
                for other, lits in source.literals.items():
                    if other != plate:
                        for lit in lits:
                            self.m.add_hint(lit, False)
                    elif len(lits) == 1:
                        self.m.add_hint(lits[0], True)

    # -- small things -----------------------------------------------------------------------------------------------

    def _window_var(self, ok, earliest, length=0):
        spans = [[max(a, earliest), b] for a, b in intervals(ok[: len(ok) - length]) if b >= earliest]
        if not spans:
            # No minute at all: a variable that makes the model infeasible, as it should be.
            at = self.m.new_int_var(0, 0, "never")
            self.m.add(at == 1)
            return at
        return self.m.new_int_var_from_domain(cp_model.Domain.from_intervals(spans), "at")

    def _in_window(self, var, ok, lit):
        domain = cp_model.Domain.from_intervals(intervals(ok))
        self.m.add_linear_expression_in_domain(var, domain).only_enforce_if(lit)

    def _lengths(self, lengths):
        """(minutes, literal) with one literal for each length."""
        out = []
        for minutes, lits in sorted(lengths.items()):
            if len(lits) == 1:
                out.append((minutes, lits[0]))
            else:
                any_of = self.m.new_bool_var("length")
                self.m.add(sum(lits) == any_of)
                out.append((minutes, any_of))
        return out

    def _task(self, kind, what, start, end, lengths, present):
        self.tasks.append(Task(kind, what, start, end, lengths, present))
