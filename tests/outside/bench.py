"""Measures the planner on the larger examples and their relatives, beside what a room would otherwise do.

    bench.py --binary PATH [--table FILE] [--readme FILE] [--quick-look]

Plans each case in a process of its own, verifies the plan with verify.py, and prints three tables: what the planner reaches
(runs, value, bound, gap, seconds, processor seconds, peak memory); beside it, `--engine quick`, one part at a time by hand
(byhand.py) and a constraint-programming model with as many seconds on as many cores (leancp.py), whose plans are verified
and asked of the planner's checker as well; and how cost grows with printers and shipments. With --table they are written to
that file too, and with --readme the first two go between the README's marks. --quick-look measures a few small cases only.
Exits 1 where a plan breaks a rule.
"""

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import farm as tables
import planfiles
import relatives
import verify

HERE = Path(__file__).parent
INSTANCES = HERE.parents[1] / "instances"
RELATIVES = range(1, 5)
MIXED = range(1, 4)
PRINTERS = [25, 50, 100, 200, 400, 1000]
SHIPMENTS = [1, 2, 5, 10]
# A campaign of months must not hold up the rest.
LIMITED = ("--time-limit", "180")

OPENING = """# Measured

Written by `make bench` on a machine with {cores} cores. A value is a makespan, or idle printer time where least idle was
asked for; late is the weighted lateness past due dates. Each plan was verified by a program apart from the planner.
Seconds are of the clock, processor seconds are what the process used on all cores; they and memory depend on the machine
and on what else it does, the other columns do not.

"""
BESIDE = """
## Beside it

What a room would otherwise do with the same tables. *Quick* is `--engine quick`. *By hand* loads one part at a time on all
printers, without a look at the night (`tests/outside/byhand.py`). *CP-SAT* is a model of the same tables in which alike
printers are counted (`tests/outside/leancp.py`), with as many seconds and cores as the planner took. In brackets how much
longer than the planner's plan.

"""
GROWTH = """
## Growth

The kit run with kits and operators in proportion to the printers (20 kits a printer, an operator for 25), and on 50 printers
with one shipment of 1,000 kits after another; no case for longer than three minutes.

"""


@dataclass
class Call:
    """What one call gave; `said` is None where it gave no plan, and `why` says why."""

    said: dict | None
    why: str
    seconds: float
    processor: float
    peak_mib: float


@dataclass
class Case:
    """An instance with a name, and how the planner is called."""

    name: str
    folder: Path
    options: tuple = ()


# Runs a command and tells what it used. A process counts what its parent held in memory as its own peak, and the one that
# verifies plans holds more than the planner does; so a small one is its parent.
LAUNCH = """
import json, os, subprocess, sys, time
begun = time.monotonic()
process = subprocess.Popen(sys.argv[1:], stderr=subprocess.DEVNULL)
# wait4 gives what this very process used, which subprocess's own wait does not.
_, status, usage = os.wait4(process.pid, 0)
used = time.monotonic() - begun, usage.ru_utime + usage.ru_stime, usage.ru_maxrss
print(json.dumps(used), file=sys.stderr)
sys.exit(os.waitstatus_to_exitcode(status) & 0xFF)
"""


def measured(command):
    """Runs a command; its output, exit code and what it used."""
    launcher = [sys.executable, "-I", "-c", LAUNCH, *(str(c) for c in command)]
    done = subprocess.run(launcher, capture_output=True, check=False)
    seconds, processor, peak = json.loads(done.stderr)
    # Bytes on macOS, kibibytes elsewhere.
    per_mib = 1024 * 1024 if sys.platform == "darwin" else 1024
    return done.stdout, done.returncode, seconds, processor, peak / per_mib


def verified(command, folder, out, said):
    """Stops everything where a plan breaks a rule."""
    farm = tables.read(folder)
    breaches = list(verify.verify(farm, planfiles.read(farm, Path(out)), said))
    if breaches:
        words = [" ".join(map(str, command)), *(f"  {code}: {words}" for code, words in breaches[:20])]
        raise SystemExit("\n".join(words))


def planned(binary, case, *options):
    """A call of the planner, its plan verified."""
    with tempfile.TemporaryDirectory() as out:
        command = [binary, "plan", case.folder, "--out", out, "--json", *case.options, *options]
        print(f"{case.name} {' '.join(options)}".strip(), file=sys.stderr, flush=True)
        printed, code, *used = measured(command)
        if code != 0:
            raise SystemExit(f"{' '.join(map(str, command))} exits {code}")
        said = json.loads(printed)
        verified(command, case.folder, out, said)
        return Call(said, "", *used)


def otherwise(binary, case, tool, *options):
    """A call of one of the outside dispatchers, its plan verified and checked by the planner's checker."""
    with tempfile.TemporaryDirectory() as out:
        command = [sys.executable, HERE / tool, case.folder, "--plan-out", out, *options]
        print(f"{case.name} {tool}", file=sys.stderr, flush=True)
        printed, code, *used = measured(command)
        if code == 3:
            return Call(None, json.loads(printed or b"{}").get("status", ""), *used)
        if code != 0:
            raise SystemExit(f"{' '.join(map(str, command))} exits {code}")
        verified(command, case.folder, out, None)
        check = subprocess.run([binary, "check", case.folder, out], capture_output=True, text=True, check=False)
        if check.returncode != 0:
            raise SystemExit(f"{tool} on {case.name}: the checker refuses its plan:\n{check.stdout[-2000:]}")
        return Call(json.loads(printed), "", *used)


def length(minutes):
    """Minutes as days, hours and minutes."""
    days, rest = divmod(round(minutes), 1440)
    parts = [(days, "d"), (rest // 60, "h"), (rest % 60, "min")]
    return " ".join(f"{n} {unit}" for n, unit in parts if n) or "0 min"


REACHED = ["case", "runs", "value", "bound", "gap", "late", "seconds", "processor", "peak memory"]


def reached(case, call):
    """One row of the first table."""
    said = call.said
    proven = said["bound_minutes"] > 0 or said["value_minutes"] == 0
    options = case.options if case.options != LIMITED else ()
    return [
        " ".join([case.name, *(option.removeprefix("--") for option in options)]),
        str(said["runs"]),
        length(said["value_minutes"]),
        length(said["bound_minutes"]) if proven else "none",
        f"{100 * said['gap']:.2f} %" if proven else "-",
        length(said["late_minutes"]),
        f"{call.seconds:.1f}",
        f"{call.processor:.1f}",
        f"{call.peak_mib:.0f} MiB",
    ]


def beside(call, ours):
    """A cell of the second table: makespan, lateness where there is any, and how much longer than ours."""
    if call.said is None:
        return "no plan found" if call.why == "unknown" else call.why
    makespan, late = call.said["makespan_minutes"], call.said["late_minutes"]
    more = 100 * (makespan / ours.said["makespan_minutes"] - 1)
    return f"{length(makespan)} ({more:+.1f} %)" + (f", late {length(late)}" if late else "")


def text_of(columns, rows):
    """A table that reads well as text and as Markdown."""
    widths = [max(len(r[c]) for r in [columns, *rows]) for c in range(len(columns))]
    lean = [str.ljust] + [str.rjust] * (len(columns) - 1)
    line = lambda cells: "| " + " | ".join(lean[c](cell, widths[c]) for c, cell in enumerate(cells)) + " |\n"
    rule = "| " + " | ".join("-" * w if c == 0 else "-" * (w - 1) + ":" for c, w in enumerate(widths)) + " |\n"
    return line(columns) + rule + "".join(line(r) for r in rows)


def cases(folder, quick_look):
    """The cases of the first two tables."""
    found = [Case("kit-run", INSTANCES / "kit-run"), Case("harbour-week", INSTANCES / "harbour-week")]
    for seed in RELATIVES[: 1 if quick_look else None]:
        relatives.kit_run(seed).write(folder / f"kit-run-{seed}")
        found.append(Case(f"kit-run relative, seed {seed}", folder / f"kit-run-{seed}"))
    for seed in MIXED[: 1 if quick_look else None]:
        relatives.mixed(seed).write(folder / f"mixed-{seed}")
        found.append(Case(f"mixed week, seed {seed}", folder / f"mixed-{seed}"))
    return found[2:] if quick_look else found


def due_late(folder):
    """The kit run, due at 1.3 times its makespan of 16,448 minutes."""
    where = folder / "kit-run-due-late"
    shutil.copytree(INSTANCES / "kit-run", where)
    where.joinpath("shipments.csv").write_text(
        "shipment,kit,quantity,due\nthousand,weather-station,1000,2026-03-17T03:22\n", encoding="utf-8"
    )
    return where


def growing(folder, quick_look):
    """The cases of the third table."""
    sizes = [(n, 1) for n in PRINTERS] + [(50, n) for n in SHIPMENTS if n > 1]
    for printers, shipments in sizes[:1] if quick_look else sizes:
        where = folder / f"growth-{printers}-{shipments}"
        relatives.growth(printers, shipments).write(where)
        lots = f"{shipments} shipment{'s' * (shipments > 1)}"
        yield Case(f"{printers} printers, {lots}", where, LIMITED)


def measure(binary, folder, quick_look):
    """The three tables."""
    rows, others = [], []
    for case in cases(folder, quick_look):
        ours = planned(binary, case)
        quick = planned(binary, case, "--engine", "quick")
        hand = otherwise(binary, case, "byhand.py")
        # Up to a second of it is Python's own start.
        rival = otherwise(binary, case, "leancp.py", "--seconds", f"{max(5.0, ours.seconds):.0f}")
        rows.append(reached(case, ours))
        mine = length(ours.said["makespan_minutes"])
        mine += f", late {length(ours.said['late_minutes'])}" if ours.said["late_minutes"] else ""
        others.append([case.name, mine, *(beside(c, ours) for c in (quick, hand, rival)), f"{ours.seconds:.0f}"])
    if not quick_look:
        least_idle = ("--objective", "least-idle")
        rested = [("harbour-week", INSTANCES / "harbour-week"), ("kit-run, due late", due_late(folder))]
        for case in [Case(name, where, least_idle) for name, where in rested]:
            rows.append(reached(case, planned(binary, case)))
    grown = [(case, planned(binary, case)) for case in growing(folder, quick_look)]
    columns = ["case", "planner", "quick", "by hand", "CP-SAT", "seconds"]
    third = text_of(REACHED, [reached(*g) for g in grown]) + "".join(f"\n{words}\n" for words in in_words(grown))
    return text_of(REACHED, rows), text_of(columns, others), third


def in_words(grown):
    """How cost grows, from the first to the last case of each kind."""
    printers = [g for g in grown if g[0].name.endswith("1 shipment")]
    shipments = [g for g in grown if g[0].name.startswith("50 printers")]
    for of in (printers, shipments):
        if len(of) > 1:
            (first, a), (last, b) = of[0], of[-1]
            times = lambda figure: f"{figure(b) / figure(a):.1f}"
            yield (
                f"From {first.name} to {last.name}: {times(lambda c: c.said['runs'])} times the runs, "
                f"{times(lambda c: c.seconds)} times the seconds, {times(lambda c: c.processor)} times the processor seconds, "
                f"{times(lambda c: c.peak_mib)} times the memory."
            )


def show(readme, text):
    """Puts the tables between the README's marks."""
    begin, end = "<!-- measured -->\n", "<!-- /measured -->\n"
    before, rest = readme.read_text(encoding="utf-8").split(begin)
    readme.write_text(before + begin + text + end + rest.split(end)[1], encoding="utf-8")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--binary", required=True)
    parser.add_argument("--table", help="a file to write the tables to")
    parser.add_argument("--readme", help="a file that shows the first two, between its marks")
    parser.add_argument("--quick-look", action="store_true", help="a few small cases, to see that it works")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        first, second, third = measure(Path(args.binary).resolve(), Path(temporary), args.quick_look)
    text = OPENING.format(cores=os.cpu_count()) + first + BESIDE + second + GROWTH + third
    print(text, end="")
    if args.table:
        Path(args.table).write_text(text, encoding="utf-8")
    if args.readme:
        show(Path(args.readme), "\n" + first + "\n" + second + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
