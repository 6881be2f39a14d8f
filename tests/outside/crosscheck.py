"""Compares the planner with the oracle on random instances, and each one's checker with the other's plans.

    crosscheck.py --binary PATH [--jobs N] [--seconds N] [--least N] [--binding N] [--cache DIR] [--keep DIR]
        KIND:A-B[,A-B] ...

For each seed of a kind: writes the instance, finds its optimum with the oracle, runs `PATH plan DIR --json`, and asserts
that

- the planner ends in good order, with a plan or with the word that it has none, and never says that its checker refused
  a plan;
- neither finds a plan where the other proves that none exists, and the planner finds one where the oracle does;
- the planner's bounds do not exceed the oracle's values, and its values are not below the oracle's bounds;
- where both prove, lateness and makespan are equal;
- of the kinds `split` and `rules`, what the oracle proves, an optimum or that no plan exists, the planner proves too;
- the planner's plan breaks no rule and states no false figure (verify.py), and the planner's checker accepts its files;
- the planner's checker accepts the oracle's plan.

Then, where the oracle proved an optimum and nothing failed, it looks which rules bind (binding.py): one that never does was
not tried. The plans made for that end in good order, break no rule and are refused by no checker either. Exits 1 where an
assertion failed, naming kind and seed; where fewer than --least instances were proven by both; where one of the rules bound
in fewer than --binding instances. --cache keeps what the oracle found, keyed by the instance and the oracle's own source;
it belongs outside the project.
"""

import argparse
import functools
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import traceback
from collections import Counter
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass, field
from pathlib import Path

import binding
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
    "oracle_spares.py",
    "oracle.py",
    "planfiles.py",
]
LIMIT = 600
PROOFS = {"optimal", "infeasible"}
# Of first lots and spares the planner bounds the parts apart, and need not meet its bound.
TO_PROVE = {"split", "rules"}
# "refused" in the notes and where no plan is left, "refuses" where the plan to be written is asked about once more.
REFUSED = "the checker refuse"


@dataclass
class Found:
    """What came of one instance."""

    name: str
    faults: list = field(default_factory=list)
    oracle: str = "unknown"
    both: bool = False
    bind: list = field(default_factory=list)
    spoken: list = field(default_factory=list)


def optimum(folder, seconds, cache):
    """The oracle's result and whether there is a plan; its tables are then in `folder`/oracle."""
    out, kept = folder / "oracle", None
    if cache:
        digest = hashlib.sha256(str(seconds).encode())
        for file in [*sorted(folder.glob("*.*")), *(HERE / s for s in ORACLE_SOURCES)]:
            digest.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
        kept = Path(cache) / f"{digest.hexdigest()}.json"
    if kept and kept.exists():
        result, files = json.loads(kept.read_text())
        for name, text in files.items():
            out.mkdir(exist_ok=True)
            (out / name).write_text(text)
        return result, bool(files)
    farm = tables.read(folder)
    result, plan = oracle.optimum(farm, seconds)
    if plan:
        planfiles.write(farm, plan, out)
    if kept:
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_text(json.dumps([result, {f.name: f.read_text() for f in out.glob("*.csv")} if plan else {}]))
    return result, plan is not None


def run(command):
    """A finished process with its output; a planner that never ends is a failure like any other."""
    try:
        return subprocess.run([str(c) for c in command], capture_output=True, text=True, timeout=LIMIT, check=False)
    except subprocess.TimeoutExpired:
        return subprocess.CompletedProcess(command, -1, "", f"no end after {LIMIT} seconds")


def plan(binary, folder, *options):
    """The planner, finished, its plan in `folder`/plan. That its checker refused a plan, whatever stands in for it, is a
    fault; the program says so on standard error or in the plan's notes."""
    done = run([binary, "plan", folder, "--out", folder / "plan", "--json", *options])
    document = folder / "plan" / "plan.json"
    notes = json.loads(document.read_text(encoding="utf-8"))["notes"] if document.exists() else []
    for said in (done.stderr, *notes):
        if REFUSED in " ".join(said.split()):
            raise AssertionError(f"a plan of its own that its checker refuses: {said.strip()[-800:]}")
    return done


def faults(binary, folder, truth, has_plan, must_prove):
    """What is wrong on one instance, in words, and whether planner and oracle both proved."""
    done = plan(binary, folder)
    if done.returncode not in (0, 3):
        return [f"plan exits {done.returncode}: {done.stderr.strip()[-800:]}"], False
    try:
        ours = json.loads(done.stdout)
    except json.JSONDecodeError:
        return [f"plan --json prints no JSON: {done.stdout[:200]!r} {done.stderr.strip()[-300:]}"], False
    found = []
    if has_plan:
        verdict = run([binary, "check", folder, folder / "oracle"])
        if verdict.returncode != 0:
            found.append(f"check refuses the oracle's plan: {(verdict.stdout + verdict.stderr).strip()[-800:]}")
    if done.returncode == 3:
        if truth["status"] not in ("infeasible", "unknown") or ours["outcome"] not in ("infeasible", "unknown"):
            found.append(f"plan finds nothing ({ours['outcome']}), the oracle says {truth}")
    elif truth["status"] == "infeasible":
        found.append("plan finds a plan, the oracle proves that there is none")
    else:
        found += faults_of_plan(binary, folder, ours, truth)
    proven = ours["outcome"] == truth["status"] and truth["status"] in PROOFS
    if must_prove and truth["status"] in PROOFS and not proven:
        found.append(f"not proven: ours {short(ours)}, oracle {truth}")
    return found, proven


def faults_of_plan(binary, folder, ours, truth):
    """What is wrong with the planner's plan: against the rules, in its figures, beside the oracle's."""
    found, farm = [], tables.read(folder)
    try:
        breaches = verify.verify(farm, planfiles.read(farm, folder / "plan"), ours)
        found += [f"verify: {code}: {words}" for code, words in breaches]
    except (ValueError, KeyError, OSError) as error:
        found.append(f"the plan's files cannot be read: {error!r}")
    verdict = run([binary, "check", folder, folder / "plan"])
    if verdict.returncode != 0:
        found.append(f"check refuses plan's own plan: {(verdict.stdout + verdict.stderr).strip()[-800:]}")
    return [*found, *compare(ours, truth, ours["outcome"] == truth["status"] == "optimal")]


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


def one(kind, seed, binary, seconds, cache, keep, count_binding):
    """One instance, whatever happens."""
    found = Found(f"{kind}:{seed}")
    with tempfile.TemporaryDirectory() as temporary:
        folder = (Path(keep) if keep else Path(temporary)) / f"{kind}-{seed}"
        shutil.rmtree(folder, ignore_errors=True)
        try:
            generate.generate(kind, seed, folder)
            truth, has_plan = optimum(folder, seconds, cache)
            found.oracle = truth["status"]
            found.faults, found.both = faults(binary, folder, truth, has_plan, kind in TO_PROVE)
            if count_binding and truth["status"] == "optimal" and not found.faults:
                found.bind, found.spoken = binding.binding(functools.partial(plan, binary), folder, truth)
        except Exception:  # noqa: BLE001 # an instance that breaks the tools is to be named like any other
            found.faults.append(traceback.format_exc())
    return found


def wanted(texts):
    """(kind, seed) of each of the words KIND:A-B[,A-B]."""
    for text in texts:
        kind, _, ranges = text.partition(":")
        if kind not in generate.KINDS or not ranges:
            raise SystemExit(f"{text}: give one of {', '.join(sorted(generate.KINDS))}, a colon, and seeds as in 0-39")
        for part in ranges.split(","):
            first, _, last = part.partition("-")
            yield from ((kind, seed) for seed in range(int(first), int(last or first) + 1))


def summary(kinds, all_found):
    """What was compared, and which rules bound."""
    for kind in kinds:
        of = [f for f in all_found if f.name.startswith(f"{kind}:")]
        states = Counter(f.oracle for f in of)
        print(
            f"{kind}: {sum(not f.faults for f in of)} of {len(of)} agree, {sum(f.both for f in of)} proven by both; the "
            f"oracle proved {states['optimal']} optima and {states['infeasible']} times that there is no plan"
        )
    bind, spoken = Counter(), Counter()
    if not any(found.spoken for found in all_found):
        return bind
    for found in all_found:
        bind.update(found.bind)
        spoken.update(found.spoken)
    print("how many instances speak of a rule, and in how many it binds:")
    for name in binding.NAMES:
        print(f"  {name:28} {spoken[name]:4} {bind[name]:4}")
    return bind


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--binary", required=True)
    parser.add_argument("instances", nargs="+", metavar="KIND:A-B", help="kinds and seeds, both ends included")
    parser.add_argument("--jobs", type=int, default=os.cpu_count(), help="instances at a time")
    parser.add_argument("--seconds", type=float, default=20, help="limit for each of the oracle's two searches")
    parser.add_argument("--least", type=int, default=0, help="fail where fewer were proven by both")
    parser.add_argument("--binding", type=int, default=0, help="fail where a rule binds in fewer")
    parser.add_argument("--no-binding", action="store_true", help="do not count which rules bind")
    parser.add_argument("--cache", help="a folder, outside the project")
    parser.add_argument("--keep", help="leave the instances and plans in this folder")
    args = parser.parse_args()
    pairs = list(wanted(args.instances))
    all_found = []
    with ProcessPoolExecutor(args.jobs) as pool:
        more = (args.binary, args.seconds, args.cache, args.keep, not args.no_binding)
        for future in as_completed([pool.submit(one, *pair, *more) for pair in pairs]):
            found = future.result()
            all_found.append(found)
            if found.faults:
                print("\n".join([f"{found.name}:", *(f"  {fault}" for fault in found.faults)]), flush=True)
    bind = summary(dict(pairs), all_found)
    failed = sorted(f.name for f in all_found if f.faults)
    both = sum(f.both for f in all_found)
    # Instances without a plan count too: both proved that.
    print(f"{len(all_found)} compared, {both} proven by both, {len(failed)} failed")
    if failed:
        print(f"failed: {' '.join(failed)}")
    if both < args.least:
        print(f"fewer than {args.least} were proven by both")
    never = [name for name in binding.NAMES if bind[name] < args.binding] if not args.no_binding else []
    if never:
        print(f"bound in fewer than {args.binding}: {', '.join(never)}")
    return 1 if failed or never or both < args.least else 0


if __name__ == "__main__":
    sys.exit(main())
