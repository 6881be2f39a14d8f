"""Which rules bind in an instance: without them something better is possible.

An instance whose best plan would be the same without a rule shows nothing about that rule. So for each rule that an
instance's tables speak of, the tables are written again without it, the planner plans those, and the rule is said to bind
if that plan, verified like any other, is less late or sooner than what the oracle proved to be the best with the rule. A
plan that is in hand is evidence whoever found it; where the planner misses one, a rule is counted as not binding.

What adds possibilities (stock, a second plate for a part) binds the other way: without it, the planner's bound lies above
what the oracle proved. Where the clocks change, it is the same tables in a zone without changes that must differ.
"""

import csv
import json
import tempfile
import tomllib
from pathlib import Path

import farm as tables
import planfiles
import verify


class Sheets:
    """The tables of an instance as text, to be changed and written."""

    def __init__(self, folder):
        self.toml = tomllib.loads((folder / "farm.toml").read_text(encoding="utf-8"))
        self.rows = {}
        for path in sorted(folder.glob("*.csv")):
            with path.open(encoding="utf-8", newline="") as file:
                self.rows[path.stem] = list(csv.DictReader(file))

    def has(self, table, column):
        """Whether some row of a table says something in a column."""
        return any(row.get(column) not in (None, "", "0") for row in self.rows.get(table, []))

    def blank(self, table, *columns):
        for row in self.rows.get(table, []):
            row.update({c: "" for c in columns if c in row})

    def write(self, folder):
        folder.mkdir()
        top = [f"{k} = {json.dumps(v)}" for k, v in self.toml.items() if not isinstance(v, dict)]
        for name, section in self.toml.items():
            if isinstance(section, dict):
                top += [f"[{name}]", *(f"{k} = {json.dumps(v)}" for k, v in section.items())]
        (folder / "farm.toml").write_text("\n".join(top) + "\n", encoding="utf-8")
        for name, rows in self.rows.items():
            if rows:
                with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
                    writer = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
                    writer.writeheader()
                    writer.writerows(rows)


# Each takes a rule out of the sheets, and says whether they speak of it.


def column(of, name, *more):
    """What a column of a table says, and those that go with it."""

    def without(s):
        said = s.has(of, name)
        s.blank(of, name, *more)
        return said

    return without


def table(name):
    """A whole table."""

    def without(s):
        return s.rows.pop(name, None) is not None

    return without


def part_of_toml(*path):
    """A section of farm.toml, or a key in one."""
    *sections, last = path

    def without(s):
        of = s.toml
        for name in sections:
            of = of.get(name, {})
        return of.pop(last, None) is not None

    return without


def handling(s):
    """Nobody works outside a shift: as many people round the clock."""
    people = sum(int(r["operators"]) for r in s.rows["shifts"])
    s.rows["shifts"] = [{"crew": "all", "days": "daily", "from": "00:00", "to": "24:00", "operators": people}]
    s.rows.pop("closures", None)
    # Nobody is ever away then; these rules are counted by themselves.
    return "unattended" not in s.toml


def operator(s):
    """One task at a time: ten times the people."""
    for row in s.rows["shifts"]:
        row["operators"] = str(10 * int(row["operators"]))
    return True


def printer(s):
    """One run at a time: a second printer beside each."""
    s.rows["printers"] += [{**r, "printer": r["printer"] + "b"} for r in s.rows["printers"]]
    s.rows["downtime"] = [
        d for r in s.rows.get("downtime", []) for d in (r, {**r, "printer": r["printer"] + "b"})
    ]
    # A group's downtime is already that of its new printers.
    names = {r["printer"] for r in s.rows["printers"]}
    s.rows["downtime"] = [d for d in s.rows["downtime"] if d["printer"] in names or not d["printer"].endswith("b")]
    return True


def ready(s):
    """Cooling."""
    return column("plates", "cool_minutes")(s) and "running" not in s.rows


def group(s):
    """Each plate on every group, with the least of its minutes."""
    groups, plates = {r["group"] for r in s.rows["printers"]}, {}
    for row in s.rows["plates"]:
        plates.setdefault(row["plate"], {}).setdefault(row["group"], []).append(row)
    said = False
    for on in plates.values():
        quickest = min(on.values(), key=lambda rows: int(rows[0]["minutes"]))
        for other in sorted(groups - on.keys()):
            said = True
            s.rows["plates"] += [{**row, "group": other} for row in quickest]
    return said


def material(s):
    return bool(s.toml["handling"].pop("changeover", 0)) and len({r["material"] for r in s.rows["parts"]}) > 1


def allocation(s):
    """No run gives more than it yields: ten times the copies."""
    for row in s.rows["plates"]:
        row["copies"] = str(10 * int(row["copies"]))
    return "counting" not in s.toml


def pack(s):
    said = bool(s.toml["handling"].pop("pack_box", 0)) and s.has("shipments", "per_box")
    s.blank("shipments", "per_box")
    return said


def alternatives(s):
    """One plate for each part, on the groups that it lists first."""
    kept, first = {}, []
    for row in s.rows["plates"]:
        if kept.setdefault(row["part"], row["plate"]) == row["plate"]:
            first.append(row)
    whole = {r["plate"] for r in s.rows["plates"]} - {r["plate"] for r in first}
    s.rows["plates"] = first
    return bool(whole) and "running" not in s.rows and "counting" not in s.toml


def clocks(s):
    s.toml["time_zone"] = "Etc/UTC"
    return True


LOOSER = {
    "HANDLING in shifts": handling,
    "OPERATOR one task at a time": operator,
    "PRINTER one run at a time": printer,
    "READY cooling": ready,
    "GROUP": group,
    "MATERIAL changeover": material,
    "DOWNTIME": table("downtime"),
    "UNATTENDED not allowed": part_of_toml("unattended", "allowed"),
    "UNATTENDED max_printers": part_of_toml("unattended", "max_printers"),
    "UNATTENDED max_minutes": part_of_toml("unattended", "max_minutes"),
    "RELEASE": column("shipments", "release"),
    "AFTER": column("shipments", "after", "hold_hours"),
    "ALLOCATION whole yields": allocation,
    "PACK": pack,
    "READINESS finishing": column("parts", "finish_minutes"),
    "BAG": part_of_toml("counting"),
    "SPARES": part_of_toml("spares"),
    # The makespan alone then counts.
    "due dates": column("shipments", "due"),
}
TIGHTER = {"stock": table("stock"), "a part on several plates": alternatives}
NAMES = [*LOOSER, *TIGHTER, "clocks that change"]


def said_of(plan, sheets, folder, seconds):
    """What the planner says of changed tables, its plan verified; None where it cannot use them."""
    sheets.write(folder)
    done = plan(folder, "--time-limit", seconds)
    if done.returncode == 2:
        return None
    if done.returncode not in (0, 3):
        raise AssertionError(f"plan exits {done.returncode}: {done.stderr.strip()[-800:]}")
    said = json.loads(done.stdout)
    if done.returncode == 0:
        farm = tables.read(folder)
        breaches = verify.verify(farm, planfiles.read(farm, folder / "plan"), said)
        if breaches:
            raise AssertionError(f"a plan that breaks rules: {breaches[:5]}")
    return said


def binding(plan, folder, truth, seconds=3):
    """The names of the rules that bind, and of those that the tables speak of; `truth` is the oracle's proven best, `plan`
    calls the planner on a folder, with options, and gives the finished process."""
    best = (truth["late_minutes"], truth["makespan_minutes"])
    spoken, bind = [], []

    def tried(name, change):
        sheets = Sheets(folder)
        if not change(sheets):
            return None
        spoken.append(name)
        with tempfile.TemporaryDirectory() as temporary:
            return said_of(plan, sheets, Path(temporary) / "without", seconds)

    def value(said):
        return (said["late_minutes"], said["makespan_minutes"])

    for name, change in LOOSER.items():
        said = tried(name, change)
        if said and said["outcome"] in ("optimal", "feasible"):
            if name == "due dates":
                better = best[0] > 0 or said["makespan_minutes"] < best[1]
            else:
                better = value(said) < best
            if better:
                bind.append(name)
    for name, change in TIGHTER.items():
        said = tried(name, change)
        if said and (said["outcome"] == "infeasible" or _proves_more(said, best)):
            bind.append(name)
    if _clocks_change(folder, best[1]):
        said = tried("clocks that change", clocks)
        if said and said["outcome"] == "optimal" and value(said) != best:
            bind.append("clocks that change")
    return bind, spoken


def _proves_more(said, best):
    """Whether bounds exclude what the oracle found: on lateness, or on the makespan of plans no later than that."""
    if said["outcome"] not in ("optimal", "feasible"):
        return False
    late = said["late_bound_minutes"]
    return late > best[0] or (late >= best[0] == said["late_minutes"] and said["bound_minutes"] > best[1])


def _clocks_change(folder, until):
    farm = tables.read(folder)
    return farm.stamp(0)[-6:] != farm.stamp(until)[-6:]
