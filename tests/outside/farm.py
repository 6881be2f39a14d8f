"""An instance folder as minutes from the farm's start: the reading that the oracle and the verifier share.

Written from the rules of the tables alone, apart from the planner's own code, so that a misreading there shows as a
difference here. Readings of the rules that the tables leave open are marked INTERPRETATION.
"""

import csv
import math
import tomllib
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

DAY = 1440
UTC = ZoneInfo("UTC")
WEEKDAYS = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]


@dataclass(frozen=True)
class PlateOn:
    """A plate on one group of printers; all times in minutes."""

    plate: str
    group: str
    material: str
    copies: dict
    minutes: int
    cool: int
    load: int
    harvest: int
    closes_bag: bool
    failure_rate: float = 0.0

    def __hash__(self):
        return hash((self.plate, self.group))


@dataclass(frozen=True)
class Line:
    """A row of shipments.csv: `boxes` holds the kits in each box, in order; the last may be partial."""

    kit: str
    quantity: int
    per_kit: dict
    boxes: tuple


@dataclass
class Shipment:
    """A shipment; `weight` in thousandths, times in minutes from the start."""

    name: str
    release: int | None
    due: int | None
    weight: int
    lines: list = field(default_factory=list)
    # The shipment that comes first, and the minutes from when it is ready.
    after: str | None = None
    hold: int = 0

    @property
    def needs(self):
        """How many of each part the whole shipment takes."""
        total = Counter()
        for line in self.lines:
            for part, count in line.per_kit.items():
                total[part] += count * line.quantity
        return total

    def admits_running(self):
        """INTERPRETATION: a running plate was loaded before the start, at an unknown minute: any release from the
        start on excludes it."""
        return self.after is None and (self.release is None or self.release < 0)


@dataclass(frozen=True)
class Running:
    printer: str
    plate: PlateOn
    ready: int

    @property
    def print_end(self):
        """When it stops printing and only cools."""
        return self.ready - self.plate.cool


@dataclass(frozen=True)
class Stretch:
    """One operator's unbroken time on shift, half-open."""

    crew: str
    number: int
    start: int
    end: int

    @property
    def operator(self):
        return f"{self.crew}-{self.number}"


@dataclass
class Farm:
    """The instance, typed. Everything is a minute from the start or a count."""

    zone: ZoneInfo
    start: datetime
    horizon: int
    changeover: int
    pack_box: int
    unattended_allowed: bool
    max_printers: int | None
    max_minutes: int | None
    whole_plates: bool
    groups: dict
    loaded: dict
    downtime: dict
    material: dict
    finish: dict
    plates: dict
    shipments: list
    stock: dict
    running: dict
    stretches: list
    unattended: list
    confidence: float | None = None
    reject_rate: dict = field(default_factory=dict)

    def minute(self, stamp):
        """Minutes from the start of an RFC 3339 time."""
        minutes = (datetime.fromisoformat(stamp).astimezone(UTC) - self.start).total_seconds() / 60
        if minutes != int(minutes):
            raise ValueError(f"{stamp} is not a whole minute")
        return int(minutes)

    def stamp(self, minute):
        """RFC 3339 with the offset in force."""
        return (self.start + timedelta(minutes=minute)).astimezone(self.zone).isoformat()

    def plates_for(self, printer):
        """The plates that may be loaded on a printer."""
        group = self.groups[printer]
        return [p for (_, g), p in self.plates.items() if g == group and (p.closes_bag or not self.whole_plates)]


def read(folder):
    """Reads an instance folder that is known to be sound; it does not look for faults."""
    folder = Path(folder)
    toml = tomllib.loads((folder / "farm.toml").read_text(encoding="utf-8-sig"))
    zone = ZoneInfo(toml["time_zone"])
    start = _utc(zone, datetime.fromisoformat(toml["start"]))
    horizon = toml.get("horizon_days", 60) * DAY
    handling, limits = toml.get("handling", {}), toml.get("unattended", {})

    def at(text):
        return _minutes(start, _utc(zone, datetime.fromisoformat(text))) if text else None

    printers = _table(folder, "printers")
    groups = {row["printer"]: row["group"] for row in printers}
    parts = {row["part"]: row for row in _table(folder, "parts")}
    plates = _plates(_table(folder, "plates"), parts, handling)
    stretches = _stretches(folder, zone, start, horizon)
    return Farm(
        zone=zone,
        start=start,
        horizon=horizon,
        changeover=handling.get("changeover", 0),
        pack_box=handling.get("pack_box", 0),
        unattended_allowed=limits.get("allowed", True),
        max_printers=limits.get("max_printers"),
        max_minutes=limits.get("max_minutes"),
        whole_plates=toml.get("counting", {}).get("whole_plates_per_bag", False),
        groups=groups,
        loaded={row["printer"]: row.get("material") or None for row in printers},
        downtime=_downtime(folder, groups, at),
        material={name: row["material"] for name, row in parts.items()},
        finish={name: int(row.get("finish_minutes") or 0) for name, row in parts.items()},
        plates=plates,
        shipments=_shipments(folder, at),
        stock={row["part"]: int(row["quantity"]) for row in _table(folder, "stock")},
        running={
            row["printer"]: Running(row["printer"], plates[row["plate"], groups[row["printer"]]], at(row["ready"]))
            for row in _table(folder, "running")
        },
        stretches=stretches,
        unattended=gaps([(s.start, s.end) for s in stretches], 0, horizon),
        confidence=toml.get("spares", {}).get("confidence"),
        reject_rate={name: float(row.get("reject_rate") or 0) for name, row in parts.items()},
    )


def merged(intervals):
    """The union of half-open intervals, as disjoint intervals in order."""
    out = []
    for a, b in sorted(i for i in intervals if i[0] < i[1]):
        if out and a <= out[-1][1]:
            out[-1] = (out[-1][0], max(b, out[-1][1]))
        else:
            out.append((a, b))
    return out


def gaps(intervals, start, end):
    """What of [start, end) no interval covers."""
    out, at = [], start
    for a, b in merged(intervals):
        if a > at:
            out.append((at, min(a, end)))
        at = max(at, b)
    if at < end:
        out.append((at, end))
    return [(a, b) for a, b in out if a < b]


def overlap(a, b, c, d):
    """How many minutes two half-open intervals share."""
    return max(0, min(b, d) - max(a, c))


def touches(a, b, c, d):
    """Whether two intervals conflict; one of no length conflicts only strictly inside the other."""
    return a < d and c < b


def _table(folder, name):
    path = folder / f"{name}.csv"
    if not path.exists():
        return []
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = [r for r in csv.reader(file) if r and any(r) and not r[0].startswith("#")]
    header = [h.strip() for h in rows[0]]
    return [dict(zip(header, (cell.strip() for cell in row))) for row in rows[1:]]


def _utc(zone, wall):
    """INTERPRETATION: a wall time that is skipped moves forward by the gap, one that comes twice is the first. Both are
    what fold=0 means."""
    return wall.replace(tzinfo=zone, fold=0).astimezone(UTC)


def _minutes(start, instant):
    return int((instant - start).total_seconds() // 60)


def _plates(rows, parts, handling):
    found = {}
    for row in rows:
        found.setdefault((row["plate"], row["group"]), []).append(row)
    plates = {}
    for key, group in found.items():

        def first(column, default):
            return next((int(r[column]) for r in group if r.get(column)), default)

        copies = {r["part"]: int(r["copies"]) for r in group}
        bags = {p: parts[p].get("per_bag") for p in copies}
        plates[key] = PlateOn(
            plate=key[0],
            group=key[1],
            material=parts[group[0]["part"]]["material"],
            copies=copies,
            minutes=int(group[0]["minutes"]),
            cool=first("cool_minutes", 0),
            load=first("load_minutes", handling.get("load", 0)),
            harvest=first("harvest_minutes", handling.get("harvest", 0)),
            failure_rate=next((float(r["failure_rate"]) for r in group if r.get("failure_rate")), 0.0),
            closes_bag=all(not bags[p] or int(bags[p]) % n == 0 for p, n in copies.items()),
        )
    return plates


def _downtime(folder, groups, at):
    spans = defaultdict(list)
    for row in _table(folder, "downtime"):
        name = row["printer"]
        for printer in [name] if name in groups else [p for p, g in groups.items() if g == name]:
            spans[printer].append((at(row["from"]), at(row["to"])))
    return {printer: merged(spans[printer]) for printer in groups}


def _shipments(folder, at):
    kits = defaultdict(list)
    for row in _table(folder, "kits"):
        kits[row["kit"]].append((row["item"], int(row["quantity"])))

    def expand(kit):
        total = Counter()
        for item, quantity in kits[kit]:
            for part, count in expand(item).items() if item in kits else [(item, 1)]:
                total[part] += count * quantity
        return total

    shipments = {}
    for row in _table(folder, "shipments"):
        shipment = shipments.setdefault(row["shipment"], Shipment(row["shipment"], None, None, None))
        quantity, per_box = int(row["quantity"]), int(row.get("per_box") or 0)
        full = quantity // per_box if per_box else 0
        boxes = (per_box,) * full + ((quantity % per_box,) if per_box and quantity % per_box else ())
        shipment.lines.append(Line(row["kit"], quantity, dict(expand(row["kit"])), boxes))
        # A shipment's rows agree on these; a blank one says nothing.
        shipment.release = at(row.get("release")) if shipment.release is None else shipment.release
        shipment.due = at(row.get("due")) if shipment.due is None else shipment.due
        shipment.after = shipment.after or row.get("after") or None
        if row.get("hold_hours"):
            shipment.hold = int((Decimal(row["hold_hours"]) * 60).to_integral_value(ROUND_HALF_UP))
        if shipment.weight is None and row.get("weight"):
            shipment.weight = int((Decimal(row["weight"]) * 1000).to_integral_value())
    for shipment in shipments.values():
        shipment.weight = 1000 if shipment.weight is None else shipment.weight
    return list(shipments.values())


def _on_days(days, day):
    """Whether `days` (Mon-Fri, Sat,Sun, daily or a date) names the date."""
    for word in (w.strip() for w in days.split(",")):
        if word == "daily" or word == day.isoformat() or word == WEEKDAYS[day.weekday()]:
            return True
        ends = word.split("-")
        if len(ends) == 2 and all(e in WEEKDAYS for e in ends):
            a, b = (WEEKDAYS.index(e) for e in ends)
            if (day.weekday() - a) % 7 <= (b - a) % 7:
                return True
    return False


def _wall(day, text):
    if text == "24:00":
        return datetime.combine(day + timedelta(days=1), time())
    return datetime.combine(day, time.fromisoformat(text))


def _stretches(folder, zone, start, horizon):
    """Operator stretches.

    INTERPRETATION: each (row, date) occurrence of a crew, in order of start, then of row, takes the smallest operator
    numbers that no overlapping occurrence of the crew holds; stretches of one operator that adjoin are one; everything
    is clipped to the farm's start and to the horizon's end, which is start + horizon_days x 1440 elapsed minutes.
    """
    closed = {row["date"] for row in _table(folder, "closures")}
    first = start.astimezone(zone).date() - timedelta(days=2)
    occurrences = defaultdict(list)
    for index, row in enumerate(_table(folder, "shifts")):
        for offset in range(math.ceil(horizon / DAY) + 4):
            day: date = first + timedelta(days=offset)
            if day.isoformat() in closed or not _on_days(row["days"], day):
                continue
            a, b = _wall(day, row["from"]), _wall(day, row["to"])
            if b <= a:
                b += timedelta(days=1)
            a, b = (_minutes(start, _utc(zone, wall)) for wall in (a, b))
            if a < b:
                occurrences[row["crew"]].append((a, index, b, int(row["operators"])))
    stretches = []
    for crew, found in occurrences.items():
        taken = defaultdict(list)
        for a, _, b, operators in sorted(found):
            number = 0
            for _ in range(operators):
                number += 1
                while any(touches(a, b, c, d) for c, d in taken[number]):
                    number += 1
                taken[number].append((a, b))
        for number in sorted(taken):
            for a, b in merged(taken[number]):
                if max(a, 0) < min(b, horizon):
                    stretches.append(Stretch(crew, number, max(a, 0), min(b, horizon)))
    return sorted(stretches, key=lambda s: (s.start, s.end, s.crew, s.number))
