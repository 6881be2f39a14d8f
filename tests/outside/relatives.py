"""Writes relatives of the larger examples: what the bench measures beside them.

    relatives.py --kind kit-run|mixed|growth --seed S [--printers N] [--shipments N] OUT_DIR

`kit-run`: 1,000 kits of 6 to 8 parts on 50 alike printers with 2 operators, 07:00 to 22:30 daily; one part is printed one
at a time in 240 to 360 minutes, the others 4 to 50 at a time in 60 to 680.
`growth`: the kits of instances/kit-run on N printers, with kits and operators in proportion, in one shipment or more, each
of as many kits again.
`mixed`: a week of mixed orders on 16 printers in two groups: two materials, plates on both groups and more than one plate
for a part, due dates, limits on the unattended hours, packing.

The same seed gives the same files everywhere.
"""

import argparse
import csv
import random
import sys
from pathlib import Path

from generate import Writer

KIT_RUN = Path(__file__).parents[2] / "instances" / "kit-run"


def shift(out, crew, days, start, end, operators):
    out.row("shifts", crew=crew, days=days, **{"from": start, "to": end}, operators=operators)


def kit_run(seed):
    """A relative of the kit run."""
    rng = random.Random(f"relative {seed}")
    out = Writer(f"Kit run, relative {seed}", "Europe/Lisbon", "2026-03-02T07:00", 90)
    out.section("handling", load=3, harvest=4)
    for number in range(1, 51):
        out.row("printers", printer=f"P{number:02}", group="bench")
    for number in range(rng.randint(6, 8)):
        part = f"part{number + 1}"
        copies, minutes = (rng.randint(4, 50), rng.randint(60, 680)) if number else (1, rng.randint(240, 360))
        out.row("parts", part=part, material="PETG")
        out.row("plates", plate=f"{part}-{copies}", group="bench", part=part, copies=copies, minutes=minutes)
        out.row("kits", kit="kit", item=part, quantity=rng.choice([1, 1, 1, 2, 6]) if number else 1)
    shift(out, "day", "daily", "07:00", "22:30", 2)
    out.row("shipments", shipment="thousand", kit="kit", quantity=1000)
    return out


def growth(printers, shipments):
    """The kit run on so many printers, one shipment after another."""
    if printers % 25 or printers < 25:
        raise SystemExit("the kit run grows by 25 printers and an operator each")
    out = Writer(f"Kit run, {printers} printers, {shipments} shipments", "Europe/Lisbon", "2026-03-02T07:00", 365)
    out.section("handling", load=3, harvest=4)
    for number in range(1, printers + 1):
        out.row("printers", printer=f"P{number:04}", group="bench")
    for table in ("parts", "plates", "kits"):
        with (KIT_RUN / f"{table}.csv").open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(line for line in file if not line.startswith("#")):
                out.row(table, **row)
    shift(out, "day", "daily", "07:00", "22:30", printers // 25)
    for number in range(1, shipments + 1):
        out.row("shipments", shipment=f"lot{number}", kit="weather-station", quantity=20 * printers)
    return out


def mixed(seed):
    """A week of mixed orders."""
    rng = random.Random(f"mixed {seed}")
    out = Writer(f"Mixed week {seed}", "Europe/Lisbon", "2026-03-02T07:00", 30)
    out.section("handling", load=3, harvest=4, changeover=10, pack_box=rng.randint(4, 8))
    out.section("unattended", max_printers=rng.randint(10, 14), max_minutes=rng.randint(700, 1000))
    for number in range(1, 17):
        out.row("printers", printer=f"P{number:02}", group="small" if number <= 10 else "large", material="PLA")
    shift(out, "early", "Mon-Fri", "07:00", "15:00", 1)
    shift(out, "late", "Mon-Fri", "14:30", "22:00", 1)
    shift(out, "weekend", "Sat,Sun", "08:00", "13:00", 1)
    for number in range(rng.randint(7, 9)):
        part = f"part{number + 1}"
        out.row("parts", part=part, material=rng.choice(["PLA", "PLA", "PETG"]), finish_minutes=rng.choice([0, 0, 30]))
        groups = rng.choice([["small", "large"], ["small", "large"], ["small"], ["large"]])
        for copies in sorted(rng.sample([1, 2, 4, 6, 8, 12, 24], rng.choice([1, 2]))):
            minutes = min(660, 40 + copies * rng.randint(20, 90))
            for group in groups:
                faster = minutes if group == "small" else minutes * 9 // 10
                out.row("plates", plate=f"{part}-{copies}", group=group, part=part, copies=copies, minutes=faster)
    parts = [row["part"] for row in out.tables["parts"]]
    for kit in ("station", "lamp"):
        for part in rng.sample(parts, rng.randint(3, 5)):
            out.row("kits", kit=kit, item=part, quantity=rng.choice([1, 1, 2, 4]))
    for number, kit in enumerate(("station", "lamp", "station", "lamp"), 1):
        out.row(
            "shipments",
            shipment=f"lot{number}",
            kit=kit,
            quantity=rng.randint(12, 40),
            due=out.wall(1440 * (number + 1) + 540),
            per_box=rng.choice([4, 6]),
        )
    return out


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kind", choices=["kit-run", "mixed", "growth"], required=True)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--printers", type=int, default=50)
    parser.add_argument("--shipments", type=int, default=1)
    parser.add_argument("folder")
    args = parser.parse_args()
    kinds = {
        "kit-run": lambda: kit_run(args.seed),
        "mixed": lambda: mixed(args.seed),
        "growth": lambda: growth(args.printers, args.shipments),
    }
    kinds[args.kind]().write(args.folder)
    return 0


if __name__ == "__main__":
    sys.exit(main())
