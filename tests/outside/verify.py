"""Verifies a plan against every rule of a valid plan, from the tables alone.

    verify.py DIR PLAN_DIR [--result FILE]

Prints each breach with its rule's code and exits 1, or prints nothing and exits 0. With --result, the object that
`plan --json` printed is held against the plan too.

A plan made anew in mid-week says `since` when. What it has before is held to log.csv, and no rule about doing judges what
was over by then; who gets what is judged over the whole week, with the copies that were counted.
"""

import argparse
import dataclasses
import itertools
import json
import math
import sys
from collections import Counter, defaultdict
from itertools import pairwise

import farm as tables
import floorlog
import planfiles
from farm import overlap, touches
from planfiles import STOCK

RULES = []


def rule(code):
    """Registers a rule's function, which yields the breaches it finds in words."""

    def register(function):
        RULES.append((code, function))
        return function

    return register


class Room:
    """A plan beside its farm, with what several rules ask for."""

    def __init__(self, farm, plan, past=None):
        self.farm, self.plan = farm, plan
        # Everything is still to come where the plan begins at the start.
        self.past = past or floorlog.Past(-1)
        if past:
            self.farm = farm = with_past(farm, past)
        self.runs = {r.name: r for r in plan.runs}
        self.on_printer = defaultdict(list)
        for run in plan.runs:
            self.on_printer[run.printer].append(run)
        for runs in self.on_printer.values():
            runs.sort(key=lambda r: (not r.running, r.load_from or 0, r.harvest_to))
        self.lines = {(s.name, line.kit): line for s in farm.shipments for line in s.lines}
        self.shipments = {s.name: s for s in farm.shipments}

    def plate(self, run):
        """The plate on the run's group, or None where it is not listed there."""
        return self.farm.plates.get((run.plate, self.farm.groups.get(run.printer)))

    def over(self, minute):
        """Whether what ends then is past, and not for rules about doing to judge."""
        return minute <= self.past.since

    def fate(self, run):
        """What the log says of a run."""
        return self.past.fates.get(run.name)

    def counted(self, run):
        """Whether a run is off its printer by the log."""
        return self.fate(run) is not None and self.fate(run).ended is not None

    def found(self, run):
        """Whether a run was not planned, but found on its printer."""
        return run.running or (self.fate(run) is not None and self.fate(run).loaded is not None)

    def printing(self, run):
        """The minutes in which a run prints."""
        plate = self.plate(run)
        a, b = (0, max(0, run.ready - plate.cool)) if run.running else (run.print_from, run.print_from + plate.minutes)
        return (a, max(a, min(b, self.fate(run).ended))) if self.counted(run) else (a, b)

    def yields(self, run):
        """The copies that a run gives: those counted, or else all on its plate."""
        plate = self.plate(run)
        if plate is None:
            return {}
        return self.fate(run).good(plate.copies) if self.counted(run) else plate.copies

    def materials(self):
        """Each loaded run with the material its printer held before."""
        for printer, runs in self.on_printer.items():
            held = self.farm.loaded.get(printer)
            for run in runs:
                plate = self.plate(run)
                if plate is None:
                    continue
                if not run.running:
                    yield run, plate, held
                held = plate.material

    def usable(self, source, part):
        """When a source's parts are usable."""
        # A source that is no run is ALLOCATION's to report.
        return self.runs[source].harvest_to + self.farm.finish.get(part, 0) if source in self.runs else 0

    def packs(self, shipment):
        """The pack tasks of a shipment in order of start."""
        return sorted(
            (t for t in self.plan.tasks if t.task == "pack" and t.shipment == shipment), key=lambda t: t.start
        )

    def ready(self, shipment):
        """When a shipment is ready: its parts usable and its boxes packed."""
        times = [0] + [t.end for t in self.packs(shipment)]
        times += [self.usable(src, part) for (src, part, to) in self.plan.allocation if to == shipment]
        return max(times)

    def late(self, shipment):
        return max(0, self.ready(shipment.name) - shipment.due) if shipment.due is not None else 0


def with_past(farm, past):
    """The farm with the log's downtime and absences."""
    down = {p: tables.merged(spans + past.down.get(p, [])) for p, spans in farm.downtime.items()}
    stretches = []
    for s in farm.stretches:
        for a, b in tables.gaps(past.absent.get(s.operator, []), s.start, s.end):
            stretches.append(dataclasses.replace(s, start=a, end=b))
    unattended = tables.gaps([(s.start, s.end) for s in stretches], 0, farm.horizon)
    return dataclasses.replace(farm, downtime=down, stretches=stretches, unattended=unattended)


@rule("LOG")
def log(room):
    """What a plan made anew has before its moment is what the log says."""
    if room.past.since < 0:
        return
    for name, fate in room.past.fates.items():
        run = room.runs.get(name)
        if run is None or run.printer != fate.printer:
            yield f"the log has {name} on {fate.printer}, the plan {'nowhere' if run is None else f'on {run.printer}'}"
    for run in room.plan.runs:
        fate = room.fate(run)
        # INTERPRETATION: a task of no minutes at the very moment is still to come.
        for what, begun, planned, logged in [
            ("loaded", run.load_from, run.print_from, fate and fate.loaded),
            ("taken off", run.harvest_from, run.harvest_to, fate and fate.ended),
        ]:
            if planned is not None and logged is not None and planned != logged:
                yield f"{run.name} is {what} at {planned}, by the log at {logged}"
            elif planned is not None and logged is None and room.over(planned) and begun < room.past.since:
                yield f"{run.name} is {what} at {planned}, and the log does not say so"


@rule("HANDLING")
def handling(room):
    """Each load and harvest is one task of one operator, of the right length, inside one of that operator's shifts."""
    farm, tasks = room.farm, Counter(room.plan.tasks)
    for run, plate, held in room.materials():
        if room.over(run.print_from):
            continue
        change = farm.changeover if held is not None and held != plate.material else 0
        if run.print_from - run.load_from < change + plate.load:
            code = "MATERIAL" if run.print_from - run.load_from >= plate.load else "HANDLING"
            yield f"run {run.name}: load of {run.print_from - run.load_from} minutes, needs {change + plate.load}", code
        elif run.print_from - run.load_from > change + plate.load:
            yield f"run {run.name}: load of {run.print_from - run.load_from} minutes, takes {change + plate.load}"
    expected = Counter()
    for run in room.plan.runs:
        plate = room.plate(run)
        if plate and not room.over(run.harvest_to) and run.harvest_to - run.harvest_from != plate.harvest:
            yield f"run {run.name}: harvest of {run.harvest_to - run.harvest_from} minutes, takes {plate.harvest}"
        if not run.running:
            expected[planfiles.Task(run.loader, "load", run.load_from, run.print_from, run.printer, run.name)] += 1
        if room.counted(run) and room.fate(run).failed:
            continue
        expected[planfiles.Task(run.harvester, "harvest", run.harvest_from, run.harvest_to, run.printer, run.name)] += 1
    stated = Counter({t: n for t, n in tasks.items() if t.task != "pack"})
    for task in (expected - stated) | (stated - expected):
        yield f"runs.csv and tasks.csv differ: {task}"
    for task in (t for t in tasks if not room.over(t.end)):
        own = [s for s in farm.stretches if s.operator == task.operator]
        if not any(s.start <= task.start and task.end <= s.end for s in own):
            what = f"{task.task} {task.run or task.shipment} {task.start}-{task.end}"
            yield f"{task.operator}: {what} is outside the shift"


@rule("OPERATOR")
def operator(room):
    """An operator does one task at a time."""
    by_operator = defaultdict(list)
    for task in room.plan.tasks:
        by_operator[task.operator].append(task)
    for name, tasks in by_operator.items():
        tasks.sort(key=lambda t: (t.start, t.end))
        for i, a in enumerate(tasks):
            for b in tasks[i + 1 :]:
                if b.start >= a.end:
                    break
                if touches(a.start, a.end, b.start, b.end) and not room.over(min(a.end, b.end)):
                    yield f"{name}: {a.task} {a.run}{a.shipment} {a.start}-{a.end} meets {b.task} {b.start}-{b.end}"


@rule("PRINTER")
def printer(room):
    """Runs on a printer follow each other, and what was on it at the start comes off first."""
    for name, runs in room.on_printer.items():
        if name not in room.farm.groups:
            yield f"no printer {name}"
        for a, b in pairwise(runs):
            if b.running or (b.load_from < a.harvest_to and not room.over(min(a.harvest_to, b.harvest_to))):
                yield f"printer {name}: run {b.name} is loaded before run {a.name} is harvested"
    if len(room.runs) != len(room.plan.runs):
        yield "a run's name is used twice"
    stated = {(r.printer, r.plate, r.ready) for r in room.plan.runs if r.running}
    given = {(r.printer, r.plate.plate, r.ready) for r in room.farm.running.values()}
    for run in stated ^ given:
        yield f"running.csv and the plan differ: {run}"


@rule("READY")
def ready(room):
    """Printing starts when the load ends, takes the plate's minutes and cooling, and only then comes the harvest."""
    for run in room.plan.runs:
        plate = room.plate(run)
        if run.harvest_from < max(0, run.ready) and not room.over(run.harvest_from):
            yield f"run {run.name}: harvested at {run.harvest_from}, ready at {run.ready}"
        if run.harvest_to > room.farm.horizon:
            yield f"run {run.name}: harvested after the horizon"
        if plate and not run.running:
            if run.load_from < 0:
                yield f"run {run.name}: loaded before the start"
            if run.ready != run.print_from + plate.minutes + plate.cool:
                yield (
                    f"run {run.name}: ready at {run.ready}, printed and cooled at "
                    f"{run.print_from + plate.minutes + plate.cool}"
                )


@rule("GROUP")
def group(room):
    """A plate runs on groups it lists."""
    for run in room.plan.runs:
        if room.plate(run) is None:
            yield f"run {run.name}: plate {run.plate} is not for printer {run.printer}"


@rule("DOWNTIME")
def downtime(room):
    """Nothing but waiting happens while a printer is down."""
    for run in room.plan.runs:
        spans = [("harvest", run.harvest_from, run.harvest_to)]
        if not run.running:
            ends = min(run.ready, run.harvest_to) if room.counted(run) else run.ready
            spans += [("load", run.load_from, run.print_from), ("print", run.print_from, ends)]
        for what, a, b in spans:
            for c, d in room.farm.downtime.get(run.printer, []):
                if touches(a, b, c, d) and not room.over(min(b, d)):
                    yield f"run {run.name}: {what} {a}-{b} while printer {run.printer} is down {c}-{d}"


@rule("UNATTENDED")
def unattended(room):
    """The limits on printing with nobody on shift.

    INTERPRETATION: a run from running.csv counts for max_printers until it stops printing, but breaks no limit itself.
    So does one that the log has loaded.
    """
    farm = room.farm
    known = [r for r in room.plan.runs if room.plate(r)]
    fresh = [r for r in known if not room.found(r)]
    for run in fresh:
        for c, d in farm.unattended:
            minutes = overlap(*room.printing(run), c, d)
            if minutes and not farm.unattended_allowed:
                yield f"run {run.name}: prints {minutes} minutes with nobody on shift ({c}-{d})"
            elif farm.max_minutes is not None and minutes > farm.max_minutes:
                yield f"run {run.name}: prints {minutes} minutes of the unattended stretch {c}-{d}"
    if farm.max_printers is None:
        return
    # The number printing rises only where a print or an unattended stretch begins.
    moments = {room.printing(r)[0] for r in fresh} | {c for c, _ in farm.unattended}
    for t in sorted(moments):
        if any(c <= t < d for c, d in farm.unattended):
            printing = [r for r in known if room.printing(r)[0] <= t < room.printing(r)[1]]
            if len(printing) > farm.max_printers and any(not room.found(r) for r in printing):
                yield f"{len(printing)} printers print at {t} with nobody on shift"


@rule("RELEASE")
def release(room):
    """A run loaded before a shipment's release contributes nothing to it."""
    for source, part, to in [*room.plan.allocation, *room.plan.spares]:
        run, shipment = room.runs.get(source), room.shipments.get(to)
        if run is None or shipment is None or shipment.release is None:
            continue
        if shipment.release >= 0 if run.running else run.load_from < shipment.release:
            yield f"run {source} was loaded before the release of shipment {to} and gives it {part}"


@rule("AFTER")
def after(room):
    """Nothing loaded before another shipment is ready, and the hold is over, goes into the one that comes after it."""
    for source, part, to in [*room.plan.allocation, *room.plan.spares]:
        run, shipment = room.runs.get(source), room.shipments.get(to)
        if run is None or shipment is None or shipment.after is None:
            continue
        if run.running or run.load_from < room.ready(shipment.after) + shipment.hold:
            yield f"run {source} was loaded before {shipment.after} was ready and held, and gives {to} {part}"


def losing(copies, failure_rate, reject_rate):
    """The chance of each number of copies that one run loses."""
    chances = [0.0] * (copies + 1)
    for lost in range(copies + 1):
        one_way = reject_rate**lost * (1 - reject_rate) ** (copies - lost)
        chances[lost] = (1 - failure_rate) * math.comb(copies, lost) * one_way
    chances[copies] += failure_rate
    return chances


def suffices(need, certain, runs, reject_rate):
    """The chance that a part suffices; runs as (copies, failure rate)."""
    most = certain + sum(copies for copies, _ in runs) - need
    if most < 0:
        return 0.0
    lost = [1.0]
    for copies, failure_rate in runs:
        both = [0.0] * min(len(lost) + copies, most + 1)
        for a, p in enumerate(lost):
            for b, q in enumerate(losing(copies, failure_rate, reject_rate)):
                if a + b <= most:
                    both[a + b] += p * q
        lost = both
    return sum(lost)


def sufficient(room, shipment):
    """The chance that all parts of a shipment suffice.

    Every way in which the runs that give it several parts fail or not is looked at, up to twelve of them; beyond that
    the parts are taken one by one, which is never more (plates that fail together only help).
    """
    given, stock = defaultdict(Counter), Counter()
    for (source, part, to), count in (room.plan.allocation + room.plan.spares).items():
        # What was counted is there for certain, as stock is.
        if to == shipment.name and (source == STOCK or (source in room.runs and room.counted(room.runs[source]))):
            stock[part] += count
        elif to == shipment.name and source in room.runs:
            given[source][part] += count
    rate = {source: room.plate(room.runs[source]).failure_rate for source in given}
    shared = [source for source, parts in given.items() if len(parts) > 1]
    if len(shared) > 12:
        shared = []
    total = 0.0
    for fate in itertools.product((False, True), repeat=len(shared)):
        fails = dict(zip(shared, fate))
        weight = math.prod(rate[s] if f else 1 - rate[s] for s, f in fails.items())
        for part, need in shipment.needs.items():
            runs = [(n[part], rate[s] if s not in fails else float(fails[s])) for s, n in given.items() if n[part]]
            weight *= suffices(need, stock[part], runs, room.farm.reject_rate[part]) if weight else 0
        total += weight
    return total


@rule("SPARES")
def spares(room):
    """With a confidence, what a shipment is given suffices with that chance, and its spares are there in time."""
    last = {}
    for source, part, to in room.plan.allocation:
        last[part, to] = max(last.get((part, to), 0), room.usable(source, part))
    for source, part, to in room.plan.spares:
        if (part, to) not in last:
            yield f"{source} keeps spares of {part} for {to}, which takes none"
        elif room.usable(source, part) > last[part, to]:
            yield f"{source} keeps spares of {part} for {to} that come after the last it takes"
    for shipment in room.farm.shipments if room.farm.confidence is not None else []:
        chance = sufficient(room, shipment)
        if chance < room.farm.confidence - 1e-7:
            yield f"what {shipment.name} is given suffices with {chance}, asked for is {room.farm.confidence}"


@rule("ALLOCATION")
def allocation(room):
    """Every need is met exactly, and no source gives more than it has."""
    given, got = Counter(), Counter()
    for (source, part, to), count in room.plan.allocation.items():
        given[source, part] += count
        got[to, part] += count
    for (source, part, _), count in room.plan.spares.items():
        given[source, part] += count
    for (source, part), count in given.items():
        if source == STOCK:
            has = room.farm.stock.get(part, 0)
        else:
            has = room.yields(room.runs[source]).get(part, 0) if source in room.runs else 0
        if count > has:
            yield f"{source} gives {count} of {part}, has {has}"
    needs = Counter({(s.name, part): n for s in room.farm.shipments for part, n in s.needs.items()})
    for key in needs.keys() | got.keys():
        if needs[key] != got[key]:
            yield f"shipment {key[0]} gets {got[key]} of {key[1]}, needs {needs[key]}"


@rule("PACK")
def pack(room):
    """Every box is packed, from parts of the shipment that are usable and in no other box.

    INTERPRETATION: the boxes of a shipment started so far, over all its rows, need their parts usable together.
    """
    farm = room.farm
    for task in room.plan.tasks:
        if task.task == "pack":
            if (task.shipment, task.kit) not in room.lines:
                yield f"a box for no row of shipments.csv: {task.shipment} {task.kit}"
            if task.end - task.start != farm.pack_box:
                yield f"a box of {task.shipment} packed in {task.end - task.start} minutes, takes {farm.pack_box}"
    for shipment in farm.shipments:
        packs = [t for t in room.packs(shipment.name) if (shipment.name, t.kit) in room.lines]
        for line in shipment.lines:
            stated, boxes = sum(t.kit == line.kit for t in packs), len(line.boxes) if farm.pack_box else 0
            if stated != boxes:
                yield f"shipment {shipment.name}, {line.kit}: {stated} boxes packed of {boxes}"
        for start in sorted({t.start for t in packs}):
            begun, needed = Counter(t.kit for t in packs if t.start <= start), Counter()
            for line in shipment.lines:
                for part, count in line.per_kit.items():
                    needed[part] += count * sum(line.boxes[: begun[line.kit]])
            for part, count in needed.items():
                there = sum(
                    n
                    for (source, p, to), n in room.plan.allocation.items()
                    if p == part
                    and to == shipment.name
                    and (source == STOCK or source in room.runs)
                    and room.usable(source, part) <= start
                )
                if there < count:
                    yield f"shipment {shipment.name}: boxes begun by {start} hold {count} of {part}, {there} usable"


@rule("READINESS")
def readiness(room):
    """A shipment is ready when its parts are usable and its boxes are packed; no earlier, and not said to be later."""
    stated = {s.shipment: s for s in room.plan.shipments}
    if set(stated) != set(room.shipments) or len(stated) != len(room.plan.shipments):
        yield "shipments.csv does not list each shipment once"
    for name, row in stated.items():
        shipment = room.shipments.get(name)
        if shipment is None:
            continue
        if row.ready != room.ready(name):
            yield f"shipment {name} is said to be ready at {row.ready}, is at {room.ready(name)}"
        if row.due != shipment.due or row.late != room.late(shipment):
            yield f"shipment {name} is said to be {row.late} late on {row.due}, is {room.late(shipment)}", "CLAIM"


@rule("BAG")
def bag(room):
    """Only plates that close the bag are used; what runs at the start was chosen before."""
    for run in room.plan.runs:
        plate = room.plate(run)
        if plate and room.farm.whole_plates and not plate.closes_bag and not room.found(run):
            yield f"run {run.name}: plate {run.plate} does not divide the bag count"


def figures(room):
    """The figures a plan states of itself, computed from its runs, tasks and allocation."""
    farm, plan = room.farm, room.plan
    idle = 0
    for name, runs in room.on_printer.items():
        end = max(r.harvest_to for r in runs)
        busy = tables.merged([room.printing(r) for r in runs if room.plate(r)] + farm.downtime.get(name, []))
        idle += end - sum(overlap(a, b, 0, end) for a, b in busy)
    yields = sum(sum(room.yields(r).values()) for r in plan.runs)
    late = sum(s.weight * room.late(s) for s in farm.shipments)
    return {
        "makespan_minutes": max(room.ready(s.name) for s in farm.shipments),
        "late_minutes": late / 1000,
        "idle_printer_minutes": idle,
        "surplus_parts": sum(farm.stock.values()) + yields - sum(plan.allocation.values()),
        "runs": len(plan.runs),
        "operator_minutes": sum(t.end - t.start for t in plan.tasks),
    }


def claims(room, stated, where):
    """Holds an object of figures (of plan.json, or of `plan --json`) against the plan."""
    found = figures(room)
    for key, value in found.items():
        if isinstance(stated.get(key), (int, float)) and abs(stated[key] - value) > 1e-6:
            yield f"{where}: {key} is said to be {stated[key]}, is {value}"
    value = found["idle_printer_minutes" if stated.get("objective") == "least-idle" else "makespan_minutes"]
    if "value_minutes" in stated and stated["value_minutes"] != value:
        yield f"{where}: value_minutes is said to be {stated['value_minutes']}, is {value}"
    bound, late_bound = stated.get("bound_minutes"), stated.get("late_bound_minutes")
    if bound is not None:
        if bound > value:
            yield f"{where}: bound {bound} above value {value}"
        gap = (value - bound) / value if value else 0
        if "gap" in stated and abs(stated["gap"] - gap) > 1e-6:
            yield f"{where}: gap is said to be {stated['gap']}, is {gap}"
    if late_bound is not None and late_bound > found["late_minutes"] + 1e-9:
        yield f"{where}: lateness bound {late_bound} above {found['late_minutes']}"
    if stated.get("outcome") == "optimal" and (bound != value or late_bound != found["late_minutes"]):
        values = f"{value} and {found['late_minutes']}"
        yield f"{where}: said to be optimal, bounds {bound} and {late_bound}, values {values}"
    for row in stated.get("shipments") or []:
        if isinstance(row, dict) and row.get("shipment") in room.shipments and "ready" in row:
            shipment = room.shipments[row["shipment"]]
            said = (
                room.farm.minute(row["ready"]),
                row.get("due") and room.farm.minute(row["due"]),
                row["late_minutes"],
            )
            true = (room.ready(shipment.name), shipment.due, room.late(shipment))
            if said != true:
                yield f"{where}: shipment {shipment.name} is said to be {said}, is {true}"


def tables_agree(plan):
    """Where plan.json holds the tables too, each row says what the table's row says."""
    for name, rows in plan.texts.items():
        stated = (plan.document or {}).get(name)
        if isinstance(stated, list):
            said = [{k: "" if v is None else str(v) for k, v in row.items()} for row in stated]
            if said != rows:
                yield f"plan.json and {name}.csv differ"
    count = (plan.document or {}).get("run_count")
    if count is not None and count != len(plan.runs):
        yield f"plan.json: run_count is said to be {count}, is {len(plan.runs)}"


def objects_with_figures(document):
    """The objects within plan.json that state figures."""
    if isinstance(document, dict):
        if "makespan_minutes" in document:
            yield document
        for value in document.values():
            yield from objects_with_figures(value)


def verify(farm, plan, result=None, past=None):
    """All breaches, as (code, words); `past` is the log, for a plan made anew."""
    room = Room(farm, plan, past)
    breaches = []
    for code, check in RULES:
        for found in check(room):
            words, found_code = found if isinstance(found, tuple) else (found, code)
            breaches.append((found_code, words))
    if any(code == "GROUP" for code, _ in breaches):
        return breaches
    for where, stated in [("plan.json", s) for s in objects_with_figures(plan.document)] + [("--json", result)]:
        breaches += [("CLAIM", words) for words in claims(room, stated or {}, where)]
    return breaches + [("CLAIM", words) for words in tables_agree(plan)]


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder")
    parser.add_argument("plan")
    parser.add_argument("--result", help="what `plan --json` printed")
    args = parser.parse_args()
    farm = tables.read(args.folder)
    result = None
    if args.result:
        with open(args.result, encoding="utf-8") as file:
            result = json.load(file)
    plan = planfiles.read(farm, args.plan)
    since = (plan.document or {}).get("since")
    past = floorlog.read(args.folder, farm, farm.minute(since)) if since else None
    breaches = verify(farm, plan, result, past)
    for code, words in breaches:
        print(f"{code}: {words}")
    return 1 if breaches else 0


if __name__ == "__main__":
    sys.exit(main())
