"""Solves the model that `export --mps` writes with SCIP, which knows nothing of this program, and compares.

    countmodel.py --binary PROGRAM [--slots 1,30] [--kind rules --seeds 0-9] [DIR...]

At every slot length the model's optimum is no more than the value of any plan; at slots of one minute it is the value of
the plan that the program calls optimal, but for first lots and spares, of which the model does not know. Besides folders it
takes instances of the generator. Prints a line for each folder and exits 0, or says what differs and exits 1.
"""

import argparse
import csv
import json
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from zoneinfo import ZoneInfo

import farm as tables
import generate
import pyscipopt


def run(binary, *words):
    ran = subprocess.run([binary, *map(str, words)], capture_output=True, text=True, encoding="utf-8", check=False)
    if ran.returncode not in (0, 3):
        raise SystemExit(f"{words}: exit {ran.returncode}\n{ran.stdout}{ran.stderr}")
    return ran


def solved(mps):
    """SCIP's status, optimum and proven bound."""
    model = pyscipopt.Model()
    model.hideOutput()
    model.readProblem(str(mps))
    model.setParam("limits/gap", 0.0)
    # Probing costs most of the time here and finds next to nothing.
    model.setParam("propagating/probing/maxprerounds", 0)
    model.optimize()
    status = model.getStatus()
    return status, round(model.getObjVal(), 6) if status == "optimal" else None


def price(mps):
    """What a weighted minute of lateness costs in the objective, as the remarks say."""
    text = mps.read_text(encoding="ascii")
    unit_cost = int(re.search(r"plus (\d+) for each unit of lateness", text)[1])
    unit = Fraction(re.search(r"A unit is (\S+) weighted minutes", text)[1])
    return unit_cost / unit


def shorten(folder):
    """Cuts the farm's horizon to the days that its plan takes: the plan is still one, and no better one is lost if it is
    the best, so that there is less to solve and as much to compare."""
    with open(folder / "plan" / "tasks.csv", encoding="utf-8", newline="") as file:
        ends = [datetime.fromisoformat(row["to"]) for row in csv.DictReader(file)]
    with open(folder / "plan" / "shipments.csv", encoding="utf-8", newline="") as file:
        ends += [datetime.fromisoformat(row["ready"]) for row in csv.DictReader(file)]
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8")
    farm = tomllib.loads(text)
    start = datetime.fromisoformat(farm["start"]).replace(tzinfo=ZoneInfo(farm["time_zone"]))
    # A task of no minutes may stand at the very end: the horizon is to lie behind it.
    days = (max(ends) - start.astimezone(UTC)) // timedelta(days=1) + 1
    path.write_text(re.sub(r"(?m)^horizon_days = \d+", f"horizon_days = {days}", text), encoding="utf-8")


def knows(folder):
    """Whether the model knows every rule that the tables speak of."""
    farm = tables.read(folder)
    return farm.confidence is None and not any(s.after for s in farm.shipments)


def compare(binary, folder, slots):
    planned = json.loads(run(binary, "plan", folder, "--out", folder / "plan", "--json", "--engine", "exact").stdout)
    if planned["outcome"] in ("optimal", "feasible"):
        shorten(folder)
    exact, said = knows(folder), []
    for slot in sorted(slots, reverse=True):
        mps = folder / f"slot{slot}.mps"
        run(binary, "export", folder, "--mps", mps, "--slot", slot)
        status, optimum = solved(mps)
        if planned["outcome"] not in ("optimal", "feasible"):
            if exact and slot == 1 and planned["outcome"] == "infeasible" and status != "infeasible":
                raise SystemExit(f"{folder.name}: no plan exists, and at slots of 1 min SCIP says {status}")
            said.append(f"{slot} min {status}")
            continue
        if optimum is None:
            raise SystemExit(f"{folder.name}: there is a plan, and at slots of {slot} min SCIP says {status}")
        value = planned["makespan_minutes"] + price(mps) * Fraction(str(planned["late_minutes"]))
        if optimum > value + Fraction(1, 1000):
            raise SystemExit(
                f"{folder.name}: at slots of {slot} min no plan is below {optimum}, ours has {float(value)}"
            )
        if exact and slot == 1 and planned["outcome"] == "optimal" and abs(optimum - value) > Fraction(1, 1000):
            raise SystemExit(f"{folder.name}: SCIP finds {optimum}, ours is called optimal with {float(value)}")
        said.append(f"{slot} min {optimum:g}")
    figures = f"{planned['outcome']}, makespan {planned.get('makespan_minutes')}, late {planned.get('late_minutes')}"
    print(f"{folder.name}: {figures}; {', '.join(said)}", flush=True)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--binary", required=True)
    parser.add_argument("--slots", default="1,10,30")
    parser.add_argument("--kind", choices=sorted(generate.KINDS), help="random instances of this kind")
    parser.add_argument("--seeds", default="0-4", help="A-B, both included")
    parser.add_argument("folders", type=Path, nargs="*")
    options = parser.parse_args()
    slots = [int(slot) for slot in options.slots.split(",")]
    with tempfile.TemporaryDirectory() as temporary:
        if options.kind:
            first, last = map(int, options.seeds.split("-"))
            for seed in range(first, last + 1):
                folder = Path(temporary) / f"{options.kind}-{seed}"
                generate.generate(options.kind, seed, folder)
                compare(options.binary, folder, slots)
        for folder in options.folders:
            copy = Path(temporary) / folder.name
            shutil.copytree(folder, copy, ignore=shutil.ignore_patterns("plan"))
            compare(options.binary, copy, slots)


if __name__ == "__main__":
    sys.exit(main())
