"""Measures the engines on the larger example instances.

    bench.py --binary PATH [--table FILE] [--repeat N]

Plans each case in a process of its own, verifies the plan with verify.py, and prints a table: runs, value, bound, gap,
wall seconds and the process's peak memory. With --repeat the seconds are the least of N calls, and their plans must be
the same. With --table the table is written to that file too, with the machine's cores. Exits 1 where a plan breaks a
rule or two calls differ.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import farm as tables
import planfiles
import verify

INSTANCES = Path(__file__).parents[2] / "instances"
CASES = [
    ("kit-run", []),
    ("kit-run", ["--engine", "quick"]),
    ("harbour-week", []),
    ("harbour-week", ["--objective", "least-idle"]),
    ("harbour-week", ["--engine", "quick"]),
]
COLUMNS = ["case", "runs", "value", "bound", "gap", "late", "seconds", "peak memory"]

OPENING = """# Measured

Written by `make bench` on a machine with {cores} cores. A value is a makespan, or idle printer time where least idle was
asked for; late is the weighted lateness past due dates. Each plan was verified by a program apart from the planner.
Seconds and memory depend on the machine and on what else it does, the other columns do not.

"""


@dataclass
class Call:
    """What one call of the planner gave."""

    said: dict
    files: dict
    seconds: float
    peak_mib: float


def call(binary, folder, options):
    """Plans an instance into a folder that is gone afterwards; the plan is verified before anything is said of it."""
    with tempfile.TemporaryDirectory() as out:
        command = [str(binary), "plan", str(folder), "--out", out, "--json", *options]
        begun = time.monotonic()
        process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        printed = process.stdout.read()
        # wait4 gives the peak of this very process, which subprocess's own wait does not.
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        seconds = time.monotonic() - begun
        if process.returncode != 0:
            raise SystemExit(f"{' '.join(command)} exits {process.returncode}")
        said = json.loads(printed)
        farm = tables.read(folder)
        breaches = list(verify.verify(farm, planfiles.read(farm, Path(out)), said))
        if breaches:
            raise SystemExit("\n".join([f"{' '.join(command)}:", *(f"  {code}: {words}" for code, words in breaches)]))
        files = {file.name: file.read_bytes() for file in Path(out).iterdir()}
        # Bytes on macOS, kibibytes elsewhere.
        per_mib = 1024 * 1024 if sys.platform == "darwin" else 1024
        return Call(said, files, seconds, usage.ru_maxrss / per_mib)


def length(minutes):
    """Minutes as days, hours and minutes."""
    days, rest = divmod(round(minutes), 1440)
    parts = [(days, "d"), (rest // 60, "h"), (rest % 60, "min")]
    return " ".join(f"{n} {unit}" for n, unit in parts if n) or "0 min"


def row(name, options, calls):
    """One row of the table."""
    said = calls[0].said
    proven = said["bound_minutes"] > 0 or said["value_minutes"] == 0
    return [
        " ".join([name, *(option.removeprefix("--") for option in options)]),
        str(said["runs"]),
        length(said["value_minutes"]),
        length(said["bound_minutes"]) if proven else "none",
        f"{100 * said['gap']:.2f} %" if proven else "-",
        length(said["late_minutes"]),
        f"{min(c.seconds for c in calls):.1f}",
        f"{max(c.peak_mib for c in calls):.0f} MiB",
    ]


def text_of(rows):
    """A table that reads well as text and as Markdown."""
    widths = [max(len(r[c]) for r in [COLUMNS, *rows]) for c in range(len(COLUMNS))]
    lean = [str.ljust] + [str.rjust] * (len(COLUMNS) - 1)
    line = lambda cells: "| " + " | ".join(lean[c](cell, widths[c]) for c, cell in enumerate(cells)) + " |\n"
    rule = "| " + " | ".join("-" * w if c == 0 else "-" * (w - 1) + ":" for c, w in enumerate(widths)) + " |\n"
    return line(COLUMNS) + rule + "".join(line(r) for r in rows)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--binary", required=True)
    parser.add_argument("--table", help="a file to write the table to")
    parser.add_argument("--repeat", type=int, default=1)
    args = parser.parse_args()
    rows = []
    for name, options in CASES:
        print(f"planning {' '.join([name, *options])}", file=sys.stderr, flush=True)
        calls = [call(Path(args.binary).resolve(), INSTANCES / name, options) for _ in range(args.repeat)]
        if any(c.files != calls[0].files for c in calls):
            print(f"{name} {options}: two calls gave different files")
            return 1
        rows.append(row(name, options, calls))
    table = text_of(rows)
    print(table, end="")
    if args.table:
        Path(args.table).write_text(OPENING.format(cores=os.cpu_count()) + table, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
