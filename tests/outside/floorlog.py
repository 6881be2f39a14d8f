"""The floor's log, log.csv: what a plan made anew in mid-week has for its past. Written from its description in the
README and not from our code."""

import csv
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from farm import DAY


@dataclass
class Fate:
    """What the log says of one run."""

    printer: str
    loaded: int | None = None
    ended: int | None = None
    failed: bool = False
    # Part (None: the plate's only one, or all) and its good and rejected copies, each of them maybe unsaid.
    counts: list = field(default_factory=list)

    def good(self, copies):
        """The good copies of each part of a plate."""
        if self.failed:
            return dict.fromkeys(copies, 0)
        found = dict(copies)
        for part, good, rejected in self.counts:
            for name in copies if part is None else [part]:
                if good is not None:
                    found[name] = good
                elif rejected is not None:
                    found[name] = copies[name] - rejected
        return found


@dataclass
class Past:
    """The log up to a minute."""

    since: int
    fates: dict = field(default_factory=dict)
    # By printer, minutes in which it was, or is taken to be, down.
    down: dict = field(default_factory=lambda: defaultdict(list))
    # By operator.
    absent: dict = field(default_factory=lambda: defaultdict(list))


def read(folder, farm, since):
    """What log.csv says up to `since`, a minute from the start; a printer that is down, nobody says until when, is
    taken to be down for another day from then."""
    path = Path(folder) / "log.csv"
    past = Past(since)
    if not path.exists():
        return past
    with path.open(encoding="utf-8-sig", newline="") as file:
        lines = [line for line in file if line.strip() and not line.startswith("#")]
    rows = [{k.strip(): (v or "").strip() for k, v in row.items()} for row in csv.DictReader(lines)]

    def minute(text):
        return farm.minute(datetime.fromisoformat(text).replace(tzinfo=farm.zone, fold=0).isoformat()) if text else None

    open_since = {}
    for row in sorted(rows, key=lambda row: minute(row["time"])):
        at = minute(row["time"])
        if at > since:
            break
        event, printer, run = row["event"], row.get("printer", ""), row.get("run", "")
        number = {name: int(row[name]) if row.get(name) else None for name in ("good", "rejected")}
        if event in ("loaded", "harvested", "failed"):
            fate = past.fates.setdefault(run, Fate(printer))
            if event == "loaded":
                fate.loaded = at
            else:
                fate.ended, fate.failed = at, event == "failed"
            if event == "harvested":
                fate.counts.append((row.get("part") or None, number["good"], number["rejected"]))
        elif event == "down":
            if printer in open_since:
                begun, until = open_since[printer]
                past.down[printer].append((begun, at if until is None else until))
            open_since[printer] = (at, minute(row.get("until")))
        elif event == "up":
            past.down[printer].append((open_since.pop(printer)[0], at))
        elif event == "absent":
            past.absent[row["operator"]].append((at, minute(row["until"])))
    for printer, (begun, until) in open_since.items():
        past.down[printer].append((begun, min(since + DAY, farm.horizon) if until is None else until))
    return past
