"""Writes a random small instance, small enough for the oracle.

    generate.py --seed S --kind split|rules|waits|spares OUT_DIR

`split`: 2 or 3 printers, up to 9 runs, shifts with a break, one shipment, one material.
`rules`: up to 3 printers and 10 runs; groups, materials, alternatives, mixed plates, downtime, unattended limits, bags,
release, due dates, weights, stock, running plates, packing, sub-kits, several crews and a clock change, each at random.
`waits`: the same with every shipment after the first one, and a hold.
`spares`: the same rooms with one shipment without boxes, failures and rejects, and a confidence.

The same seed gives the same files everywhere.
"""

import argparse
import csv
import random
import sys
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo


class Writer:
    """Collects the tables of one instance and writes them."""

    def __init__(self, name, zone, start, days):
        self.start, self.zone = datetime.fromisoformat(start), ZoneInfo(zone)
        self.toml = [f'name = "{name}"', f'time_zone = "{zone}"', f'start = "{start}"', f"horizon_days = {days}"]
        self.tables = {}

    def section(self, name, **values):
        """A section of farm.toml."""
        self.toml += ["", f"[{name}]"]
        self.toml += [f"{k} = {str(v).lower() if isinstance(v, bool) else v}" for k, v in values.items()]

    def row(self, table, **values):
        """A row; its first one sets the table's columns."""
        self.tables.setdefault(table, []).append(values)

    def wall(self, minutes):
        """Wall time, counted on the clock from the start; an hour later where the clocks skip it."""
        wall = self.start + timedelta(minutes=minutes)
        there = wall.replace(tzinfo=self.zone).astimezone(ZoneInfo("UTC")).astimezone(self.zone)
        return there.replace(tzinfo=None).isoformat(timespec="minutes")

    def write(self, folder):
        folder = Path(folder)
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "farm.toml").write_text("\n".join(self.toml) + "\n", encoding="utf-8")
        for table, rows in self.tables.items():
            with (folder / f"{table}.csv").open("w", encoding="utf-8", newline="") as file:
                writer = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
                writer.writeheader()
                writer.writerows(rows)


def split(rng, seed):
    """A split shift, one shipment, one material, one group, 4 to 9 runs."""
    first = rng.choice([6, 7, 8])
    out = Writer(f"split {seed}", "Europe/Lisbon", f"2026-03-02T{first:02}:00", 10)
    load, harvest = rng.randint(0, 12), rng.randint(0, 12)
    out.section("handling", load=load, harvest=harvest)
    for number in range(rng.choice([2, 2, 3])):
        out.row("printers", printer=f"P{number + 1}", group="bench")
    noon, after = rng.choice([11, 12]), rng.choice([13, 14, 15])
    operators = rng.choice([1, 1, 1, 2])
    out.row(
        "shifts",
        crew="day",
        days="daily",
        **{"from": f"{first:02}:00", "to": f"{noon}:{rng.choice(['00', '30'])}"},
        operators=operators,
    )
    out.row(
        "shifts",
        crew="day",
        days="daily",
        **{"from": f"{after}:00", "to": f"{rng.randint(after + 2, 22)}:00"},
        operators=operators,
    )
    left, kits, number = rng.randint(4, 9), rng.choice([2, 3, 4, 6]), 0
    # Some farms print short plates only: then the operator binds, not the night.
    spans = rng.choice([[(40, 160), (120, 420), (400, 780)], [(15, 90)], [(60, 260)]])
    while left:
        number += 1
        part, per_kit = f"part{number}", rng.choice([1, 1, 2, 3])
        # Copies that need so many runs, not more than are left.
        copies = next(
            c for c in range(-(-per_kit * kits // rng.randint(1, min(left, 4))), 99) if -(-per_kit * kits // c) <= left
        )
        left -= -(-per_kit * kits // copies)
        out.row("parts", part=part, material="PLA", finish_minutes=rng.choice([0, 0, 0, 15, 60]))
        out.row(
            "plates",
            plate=f"{part}-{copies}",
            group="bench",
            part=part,
            copies=copies,
            minutes=rng.randint(*rng.choice(spans)),
        )
        out.row("kits", kit="kit", item=part, quantity=per_kit)
    out.row("shipments", shipment="lot", kit="kit", quantity=kits)
    return out


class Rules:
    """Everything at random."""

    def __init__(self, rng, seed):
        self.rng = rng
        zone, start = rng.choice(
            [
                ("Europe/Lisbon", "2026-03-02T07:00"),
                ("Europe/Lisbon", "2026-03-02T07:00"),
                ("Europe/Berlin", "2026-03-28T09:00"),
                ("Europe/Lisbon", "2026-10-24T08:00"),
                ("America/New_York", "2026-03-07T06:30"),
            ]
        )
        self.out = Writer(f"rules {seed}", zone, start, rng.randint(5, 7))
        self.zero = self.chance(0.12)
        self.materials = ["PLA", "PETG"][: rng.choice([1, 2, 2])]
        self.parts = []
        self.packs = self.chance(0.45)
        self.farm()
        self.room()
        self.crews()
        self.catalogue()
        self.orders()

    def chance(self, share):
        return self.rng.random() < share

    def farm(self):
        rng, out = self.rng, self.out
        few = (lambda: rng.choice([0, 0, 4])) if self.zero else (lambda: rng.randint(2, 12))
        out.section(
            "handling",
            load=few(),
            harvest=few(),
            changeover=rng.choice([0, 5, 15, 30]),
            pack_box=rng.randint(3, 20) if self.packs else 0,
        )
        limits = {}
        if self.chance(0.06):
            limits["allowed"] = False
        if self.chance(0.3):
            limits["max_printers"] = rng.randint(1, 2)
        if self.chance(0.3):
            limits["max_minutes"] = rng.randint(240, 600)
        if limits:
            out.section("unattended", **limits)
        self.bags = self.chance(0.25)
        if self.bags:
            out.section("counting", whole_plates_per_bag=True)

    def room(self):
        rng, out = self.rng, self.out
        groups = ["small", "large"] if self.chance(0.5) else ["small"]
        self.printers = [(f"P{i + 1}", groups[i % len(groups)]) for i in range(rng.randint(len(groups), 3))]
        self.groups = groups
        for name, group in self.printers:
            out.row("printers", printer=name, group=group, material=rng.choice([*self.materials, ""]))
        for _ in range(rng.choice([0, 0, 1, 2])):
            a = rng.randint(0, 1800)
            name = rng.choice([p for p, _ in self.printers] + groups)
            out.row("downtime", printer=name, **{"from": out.wall(a), "to": out.wall(a + rng.randint(60, 600))})

    def crews(self):
        rng, out = self.rng, self.out

        def shift(crew, days, start, end, operators):
            out.row("shifts", crew=crew, days=days, **{"from": start, "to": end}, operators=operators)

        shape = rng.choice(["day", "split", "overlap", "round", "night", "weekend"])
        if shape == "day":
            shift("day", "daily", "07:00", rng.choice(["16:00", "19:30", "22:00"]), rng.choice([1, 1, 2]))
        elif shape == "split":
            shift("day", "daily", "07:00", "12:00", 1)
            shift("day", "daily", "14:00", "19:00", rng.choice([1, 2]))
        elif shape == "overlap":
            shift("early", "daily", "06:00", "14:30", 1)
            shift("late", "daily", rng.choice(["14:00", "14:30", "12:00"]), "21:00", rng.choice([1, 1, 2]))
        elif shape == "round":
            shift("day", "daily", "06:00", "18:00", 1)
            shift("day", "daily", "18:00", rng.choice(["06:00", "24:00"]), 1)
        elif shape == "night":
            shift("day", "Mon-Fri", "08:00", "17:00", 1)
            shift("owl", "daily", "22:00", "02:00", 1)
        else:
            shift("week", "Mon-Fri", "07:00", "20:00", rng.choice([1, 2]))
            shift("weekend", "Sat,Sun", "09:00", "13:00", 1)
        if self.chance(0.2):
            out.row("closures", date=(out.start + timedelta(days=rng.randint(1, 2))).date().isoformat())

    def catalogue(self):
        """Parts and their plates; `least` is the fewest copies of a part on any plate that may be used."""
        rng, out = self.rng, self.out
        self.least = {}
        override = self.chance(0.3)
        for number in range(rng.randint(1, 4)):
            part = f"part{number + 1}"
            bag = rng.choice([4, 6, 12]) if self.bags and self.chance(0.6) else ""
            out.row(
                "parts",
                part=part,
                material=rng.choice(self.materials),
                finish_minutes=rng.choice([0, 0, 10, 45]),
                per_bag=bag,
            )
            self.parts.append(part)
            for plate in range(rng.choice([1, 1, 2])):
                copies = rng.choice([1, 2, 3, 4, 6])
                while bag and plate == 0 and bag % copies:
                    copies = rng.choice([1, 2, 3, 4, 6])
                for group in self.groups if plate == 0 else rng.sample(self.groups, 1):
                    self.plate(f"{part}-{plate + 1}", group, [(part, copies)], override)
                if not bag or bag % copies == 0:
                    self.least[part] = min(copies, self.least.get(part, copies))
        by_material = {}
        for row in out.tables["parts"]:
            by_material.setdefault(row["material"], []).append(row["part"])
        pairs = [parts for parts in by_material.values() if len(parts) > 1]
        if pairs and self.chance(0.5):
            mixed = rng.sample(rng.choice(pairs), 2)
            self.plate("mixed", rng.choice(self.groups), [(p, rng.choice([1, 2])) for p in mixed], override)
            self.least.update((p, 1) for p in mixed if self.chance(0.5))

    def plate(self, name, group, copies, override):
        rng = self.rng
        minutes = rng.choice([rng.randint(40, 160), rng.randint(120, 420), rng.randint(400, 700)])
        cool = rng.choice([0, 0, 10, 40])
        load, harvest = (rng.randint(0, 9), rng.randint(1, 15)) if override and self.chance(0.5) else ("", "")
        for part, count in copies:
            self.out.row(
                "plates",
                plate=name,
                group=group,
                part=part,
                copies=count,
                minutes=minutes,
                cool_minutes=cool,
                load_minutes=load,
                harvest_minutes=harvest,
            )

    def orders(self):
        """Kits, shipments of together at most ten runs, stock and what is running."""
        rng, out, runs = self.rng, self.out, 10
        names = []
        for number in range(rng.choice([1, 2, 2])):
            kit = f"kit{number + 1}"
            names.append(kit)
            for part in rng.sample(self.parts, rng.randint(1, min(3, len(self.parts)))):
                out.row("kits", kit=kit, item=part, quantity=rng.choice([1, 1, 2]))
        if len(names) == 2 and self.chance(0.3):
            out.row("kits", kit="kit2", item="kit1", quantity=1)
        per_kit = self.per_kit(out.tables["kits"])
        for number in range(2):
            shipment = f"lot{number + 1}"
            release = out.wall(rng.randint(30, 900)) if self.chance(0.3) else ""
            due = out.wall(rng.randint(200, 2600)) if self.chance(0.85) else ""
            weight = rng.choice([1, 1, 2, 3, 0.5])
            for kit in rng.sample(names, rng.choice([1, 1, len(names)])):
                quantity = rng.randint(1, 6)

                def cost(kits):
                    return sum(-(-n * kits // self.least.get(p, 1)) for p, n in per_kit[kit].items())

                while quantity > 1 and cost(quantity) > min(runs, 5):
                    quantity -= 1
                if cost(quantity) > runs:
                    continue
                runs -= cost(quantity)
                per_box = rng.randint(1, 3) if self.packs and self.chance(0.7) else ""
                if per_box:
                    per_box = max(per_box, -(-quantity // 3))
                out.row(
                    "shipments",
                    shipment=shipment,
                    kit=kit,
                    quantity=quantity,
                    release=release,
                    due=due,
                    weight=weight,
                    per_box=per_box,
                )
        if "shipments" not in out.tables:
            kit = min(names, key=lambda k: sum(per_kit[k].values()))
            out.row("shipments", shipment="lot1", kit=kit, quantity=1)
        for part in self.parts:
            if self.chance(0.15):
                out.row("stock", part=part, quantity=rng.randint(1, 3))
        down = {row["printer"] for row in out.tables.get("downtime", [])}
        for printer, group in self.printers:
            if self.chance(0.2) and not down & {printer, group}:
                plate = rng.choice([r for r in out.tables["plates"] if r["group"] == group])
                # Printing or cooling, loaded before the start; or blocked since before it.
                whole = plate["minutes"] + plate["cool_minutes"]
                ready = rng.choice([rng.randint(1, whole), rng.randint(1, whole), -rng.randint(0, 60)])
                out.row("running", printer=printer, plate=plate["plate"], ready=out.wall(ready))

    @staticmethod
    def per_kit(rows):
        """Parts in each kit, a kit that is an item counted in full."""
        parts = {}
        for row in rows:
            inner = parts.get(row["item"], {row["item"]: 1}) if row["item"] != row["kit"] else {}
            for part, count in inner.items():
                of = parts.setdefault(row["kit"], {})
                of[part] = of.get(part, 0) + count * row["quantity"]
        return parts


def waits(rng, seed):
    """As `rules`, with a first lot before the rest."""
    out = Rules(rng, seed).out
    rows, hold = out.tables["shipments"], rng.choice([0, 0.5, 2, 12])
    for row in rows:
        later = row["shipment"] != rows[0]["shipment"]
        row["after"], row["hold_hours"] = (rows[0]["shipment"], hold) if later else ("", "")
    return out


def spares(rng, seed):
    """As `rules`, with one small shipment that must suffice with a stated chance."""
    out = Rules(rng, seed).out
    for index, line in enumerate(out.toml):
        if line.startswith("pack_box"):
            out.toml[index] = "pack_box = 0"
    out.section("spares", confidence=rng.choice([0.5, 0.8, 0.9, 0.95]))
    first = out.tables["shipments"][0]["shipment"]
    rows = out.tables["shipments"] = [r for r in out.tables["shipments"] if r["shipment"] == first]
    for row in rows:
        row["quantity"], row["per_box"] = min(row["quantity"], 2 // len(rows)), ""
    # Few kinds of plates: the oracle lists all numbers of runs of them that suffice.
    mixed = rng.random() < 0.5
    keep = lambda r: r["plate"].endswith("-1") or (mixed and r["plate"] == "mixed")
    on = {row["plate"] for row in out.tables.get("running", [])}
    out.tables["plates"] = [r for r in out.tables["plates"] if keep(r) or r["plate"] in on]
    plates = {}
    for row in out.tables["plates"]:
        rate = plates.setdefault((row["plate"], row["group"]), rng.choice(["", "", 0.05, 0.2]))
        row["failure_rate"] = rate
    for row in out.tables["parts"]:
        row["reject_rate"] = rng.choice(["", "", "", 0.1])
    return out


KINDS = {"split": split, "rules": lambda rng, seed: Rules(rng, seed).out, "waits": waits, "spares": spares}


def generate(kind, seed, folder):
    """Writes the instance of a kind and seed."""
    KINDS[kind](random.Random(f"{kind} {seed}"), seed).write(folder)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--kind", choices=sorted(KINDS), required=True)
    parser.add_argument("folder")
    args = parser.parse_args()
    generate(args.kind, args.seed, args.folder)
    return 0


if __name__ == "__main__":
    sys.exit(main())
