"""Compares the planner with the oracle on random instances, and each one's checker with the other's plans.

    crosscheck.py --binary PATH --kind split|rules|waits --seeds A-B [--seconds N] [--cache FILE] [--keep DIR] [--optimal]

For each seed: writes the instance, finds its optimum with the oracle, runs `PATH plan DIR --json`, and asserts that

- the planner's bounds do not exceed the oracle's values, and its values are not below the oracle's bounds;
- where both prove, lateness and makespan are equal;
- the planner's plan breaks no rule and states no false figure (verify.py);
- the planner's checker accepts the oracle's plan;
- with --optimal: the planner proves every optimum that the oracle proves.

Exits 1 where an assertion failed, naming the seeds; lists the seeds that the oracle did not prove. --cache keeps what
the oracle found, keyed by the instance and the oracle's own source; it belongs outside the project.
"""

import argparse
import hashlib
import json
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import farm as tables
import generate
import oracle
import planfiles
import verify

HERE = Path(__file__).parent
ORACLE_SOURCES = [
    "farm.py",
    "windows.py",
    "firstplan.py",
    "oracle_model.py",
    "oracle_room.py",
    "oracle.py",
    "planfiles.py",
]
LIMIT = 600


class Cache:
    """What the oracle found, and its plan's files, by a digest of instance and oracle."""

    def __init__(self, path):
        self.path = Path(path) if path else None
        self.found = json.loads(self.path.read_text()) if self.path and self.path.exists() else {}

    def optimum(self, folder, seconds):
        """The oracle's result; its plan's tables are in `folder`/oracle where there is one."""
        digest = hashlib.sha256(str(seconds).encode())
        for file in [*sorted(folder.glob("*.*")), *(HERE / s for s in ORACLE_SOURCES)]:
            digest.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
        key, out = digest.hexdigest(), folder / "oracle"
        if key not in self.found:
            farm = tables.read(folder)
            result, plan = oracle.optimum(farm, seconds)
            if plan:
                planfiles.write(farm, plan, out)
            self.found[key] = [result, {f.name: f.read_text() for f in out.glob("*.csv")} if plan else {}]
            if self.path:
                self.path.write_text(json.dumps(self.found))
        result, files = self.found[key]
        if files:
            out.mkdir(exist_ok=True)
            for name, text in files.items():
                (out / name).write_text(text)
        return result, bool(files)


def run(command):
    """A finished process with its output; a planner that never ends is a failure like any other."""
    try:
        return subprocess.run([str(c) for c in command], capture_output=True, text=True, timeout=LIMIT, check=False)
    except subprocess.TimeoutExpired:
        return subprocess.CompletedProcess(command, -1, "", f"no end after {LIMIT} seconds")


def faults(binary, folder, truth, has_plan, checks, must_prove):
    """What is wrong on one instance, in words, and whether planner and oracle both proved."""
    done = run([binary, "plan", folder, "--out", folder / "plan", "--json"])
    if done.returncode not in (0, 3):
        return [f"plan exits {done.returncode}: {done.stderr.strip()[-800:]}"], False
    try:
        ours = json.loads(done.stdout)
    except json.JSONDecodeError:
        return [f"plan --json prints no JSON: {done.stdout[:200]!r} {done.stderr.strip()[-300:]}"], False
    found = []
    if checks and has_plan:
        verdict = run([binary, "check", folder, folder / "oracle"])
        if verdict.returncode != 0:
            found.append(f"check refuses the oracle's plan: {(verdict.stdout + verdict.stderr).strip()[-800:]}")
    if done.returncode == 3:
        if truth["status"] not in ("infeasible", "unknown") or ours["outcome"] not in ("infeasible", "unknown"):
            found.append(f"plan finds nothing ({ours['outcome']}), the oracle says {truth}")
        return found, ours["outcome"] == truth["status"] == "infeasible"
    if truth["status"] == "infeasible":
        return [*found, "plan finds a plan, the oracle proves that there is none"], False
    farm = tables.read(folder)
    try:
        breaches = verify.verify(farm, planfiles.read(farm, folder / "plan"), ours)
        found += [f"verify: {code}: {words}" for code, words in breaches]
    except (ValueError, KeyError, OSError) as error:
        found.append(f"the plan's files cannot be read: {error!r}")
    if checks:
        verdict = run([binary, "check", folder, folder / "plan"])
        if verdict.returncode != 0:
            found.append(f"check refuses plan's own plan: {(verdict.stdout + verdict.stderr).strip()[-800:]}")
    proven = ours["outcome"] == truth["status"] == "optimal"
    found += compare(ours, truth, proven)
    if must_prove and truth["status"] == "optimal" and not proven:
        found.append(f"not proven: ours {short(ours)}, oracle {truth}")
    return found, proven


def compare(ours, truth, proven):
    """Values against bounds, both ways."""
    late, makespan = ours["late_minutes"], ours["makespan_minutes"]
    if late < truth["late_bound"] - 1e-6:
        yield f"lateness {late} below the oracle's bound {truth['late_bound']}"
    if truth["makespan_minutes"] is None:
        return
    if ours["late_bound_minutes"] > truth["late_minutes"] + 1e-6:
        yield f"lateness bound {ours['late_bound_minutes']} above the oracle's value {truth['late_minutes']}"
    # Makespan bounds hold among plans that are no later past due than the plan they belong to.
    if truth["late_minutes"] <= late + 1e-6 and ours["bound_minutes"] > truth["makespan_minutes"]:
        yield f"bound {ours['bound_minutes']} above the oracle's makespan {truth['makespan_minutes']}"
    if late <= truth["late_minutes"] + 1e-6 and makespan < truth["makespan_bound"]:
        yield f"makespan {makespan} below the oracle's bound {truth['makespan_bound']}"
    if proven and (abs(late - truth["late_minutes"]) > 1e-6 or makespan != truth["makespan_minutes"]):
        yield f"both prove, ours {late} and {makespan}, oracle {truth['late_minutes']} and {truth['makespan_minutes']}"


def short(ours):
    keys = ("outcome", "engine", "late_minutes", "late_bound_minutes", "makespan_minutes", "bound_minutes")
    return {k: ours.get(k) for k in keys}


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--binary", required=True)
    parser.add_argument("--kind", choices=sorted(generate.KINDS), required=True)
    parser.add_argument("--seeds", required=True, help="A-B, both included")
    parser.add_argument("--seconds", type=float, default=30, help="limit for each of the oracle's two searches")
    parser.add_argument("--cache", help="a file, outside the project")
    parser.add_argument("--keep", help="leave the instances and plans in this folder")
    parser.add_argument("--optimal", action="store_true", help="fail where the oracle proves and the planner does not")
    args = parser.parse_args()
    first, last = (int(n) for n in args.seeds.split("-"))
    cache = Cache(args.cache)
    checks = run([args.binary, "check", "--help"]).returncode == 0
    if not checks:
        print("this binary has no `check`: the oracle's plans are not tried on it")
    failed, unproven, both = [], [], 0
    for seed in range(first, last + 1):
        with tempfile.TemporaryDirectory() as temporary:
            folder = (Path(args.keep) if args.keep else Path(temporary)) / f"{args.kind}-{seed}"
            shutil.rmtree(folder, ignore_errors=True)
            generate.generate(args.kind, seed, folder)
            truth, has_plan = cache.optimum(folder, args.seconds)
            if truth["status"] in ("feasible", "unknown"):
                unproven.append(seed)
            found, proven = faults(args.binary, folder, truth, has_plan, checks, args.optimal)
            both += proven
            if found:
                failed.append(seed)
                print(f"{args.kind} seed {seed}:")
                print("".join(f"  {fault}\n" for fault in found), end="", flush=True)
    count = last - first + 1
    print(f"{args.kind} {args.seeds}: {count - len(failed)} of {count} agree, {both} proven by both")
    if unproven:
        print(f"not proven by the oracle in {args.seconds} s: seeds {unproven}")
    if failed:
        print(f"failed: seeds {failed}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
