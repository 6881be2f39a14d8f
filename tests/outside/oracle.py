"""The exact optimum of a small instance, at minute resolution, by constraint programming (OR-Tools CP-SAT).

    oracle.py DIR [--seconds N] [--plan-out PLAN_DIR]

Minimises the weighted lateness, then the makespan, and prints one JSON object: status (optimal, feasible, infeasible,
unknown), late_minutes, late_bound, makespan_minutes, makespan_bound (among plans no later than late_minutes). Meant for
up to 3 printers and 10 runs. The plan found is verified before anything is said of it.
"""

import argparse
import json
import sys
from collections import Counter, defaultdict

from ortools.sat.python import cp_model

import farm as tables
import firstplan
import planfiles
import verify
from oracle_model import Model
from windows import Windows

FOUND = (cp_model.OPTIMAL, cp_model.FEASIBLE)


def search(model, objective, seconds):
    """Runs CP-SAT with a fixed seed and two workers; the solver with its status."""
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.random_seed = 1
    solver.parameters.num_workers = 2
    model.m.minimize(objective)
    return solver, solver.solve(model.m)


def optimum(farm, seconds):
    """The result object and the plan, which is None where none was found."""
    unknown = {"status": "unknown", "late_minutes": None, "late_bound": 0, "makespan_minutes": None, "makespan_bound": 0}
    first = firstplan.best(farm)
    late, makespan, runs = (first[0], first[1], first[2].runs) if first else (None, None, [])
    late_bound = 0
    if late != 0:
        model = Model(farm, latest_end(farm, late), farm.horizon)
        if late is not None:
            model.m.add(model.late <= late)
        model.hint([(r.printer, r.plate, r.load, r.harvest) for r in runs])
        solver, status = search(model, model.late, seconds)
        if status == cp_model.INFEASIBLE and late is None:
            return {**unknown, "status": "infeasible", "late_bound": None, "makespan_bound": None}, None
        if status == cp_model.UNKNOWN and late is None:
            return unknown, None
        if status == cp_model.INFEASIBLE:
            raise AssertionError("the first plan is no plan of the model")
        late_bound = round(solver.best_objective_bound)
        if status in FOUND:
            found = (round(solver.value(model.late)), solver.value(model.makespan))
            if late is None or found < (late, makespan):
                late, makespan = found
                runs = model.runs(solver)
    if runs and not isinstance(runs[0], tuple):
        runs = [(r.printer, r.plate, r.load, r.harvest) for r in runs]
    model = Model(farm, makespan, running_end(farm, makespan))
    model.m.add(model.late <= late)
    model.m.add(model.makespan <= makespan)
    model.hint(runs)
    solver, status = search(model, model.makespan, seconds)
    if status == cp_model.INFEASIBLE:
        raise AssertionError("the incumbent is no plan of the model")
    plan = plan_of(model, solver) if status in FOUND else None
    makespan_bound = round(solver.best_objective_bound)
    if plan:
        makespan = solver.value(model.makespan)
        figures = verify.figures(verify.Room(farm, plan))
        breaches = verify.verify(farm, plan)
        if breaches or figures["makespan_minutes"] != makespan or figures["late_minutes"] * 1000 > late:
            raise AssertionError(f"the oracle's plan is not valid: {breaches} {figures} {late} {makespan}")
    else:
        return {**unknown, "late_bound": late_bound / 1000, "makespan_bound": makespan_bound}, None
    proven = status == cp_model.OPTIMAL and late_bound == late
    return {
        "status": "optimal" if proven else "feasible",
        "late_minutes": late / 1000,
        "late_bound": late_bound / 1000,
        "makespan_minutes": makespan,
        "makespan_bound": makespan_bound,
    }, plan


def latest_end(farm, late):
    """When the last useful task of a plan that is no later than `late` may end."""
    if late is None or any(s.due is None or not s.weight for s in farm.shipments):
        return farm.horizon
    return min(farm.horizon, max(max(0, s.due) + late // s.weight for s in farm.shipments))


def running_end(farm, makespan):
    """When the running plates can all be off, at the latest, if nothing else is done after the makespan."""
    windows, at = Windows(farm, farm.horizon), makespan
    for run in farm.running.values():
        ok = windows.harvest_from(run.printer, run.plate.harvest)
        later = [t for t in range(max(at, run.ready), farm.horizon + 1) if ok[t]]
        at = later[0] + run.plate.harvest if later else farm.horizon
    return at


def operators(model, solver):
    """Names an operator for each task: within a class of alike stretches, whoever is free.

    First the tasks that take time, by start, which a class of n operators can always share out when no minute has more
    than n of them; then those of no length.
    """
    value = solver.value
    alike = defaultdict(list)
    for stretch in model.farm.stretches:
        alike[stretch.start, stretch.end].append(stretch)
    busy, named = defaultdict(list), []
    tasks = [(value(t.start), value(t.end), t) for t in model.tasks if value(t.present)]
    for start, end, task in sorted(tasks, key=lambda t: (t[0] == t[1], t[0])):
        key = next(key for key, lit in task.classes if value(lit))
        keys = [key] if key else [k for k in alike if k[0] <= start and end <= k[1]]
        stretch = next(
            s for k in keys for s in alike[k] if not any(tables.touches(start, end, a, b) for a, b in busy[s])
        )
        busy[stretch].append((start, end))
        named.append((start, end, task, stretch.operator))
    return named


def plan_of(model, solver):
    """The plan that a solution is."""
    farm, value = model.farm, solver.value
    sources = [r for r in model.sources if value(r.present)]
    sources.sort(key=lambda r: (-1 if r.load is None else value(r.load), r.printer))
    names = {id(run): f"R{number:04}" for number, run in enumerate(sources, 1)}
    named = operators(model, solver)
    who = {(t.kind, id(t.what)): operator for _, _, t, operator in named if t.kind != "pack"}
    runs = []
    for run in sources:
        plate = next(q for q, lit in run.plates.items() if value(lit))
        load = print_from = None
        ready = farm.running[run.printer].ready if run.load is None else 0
        if run.load is not None:
            load, print_from = value(run.load), value(run.print_from)
            ready = print_from + plate.minutes + plate.cool
        runs.append(planfiles.Run(
            names[id(run)], run.printer, plate.plate, load, print_from, ready, value(run.harvest), value(run.end),
            who.get(("load", id(run)), ""), who["harvest", id(run)],
        ))
    tasks = []
    for start, end, task, operator in sorted(named, key=lambda n: (n[0], n[3], n[1])):
        if task.kind == "pack":
            tasks.append(planfiles.Task(operator, "pack", start, end, shipment=task.what[0], kit=task.what[1]))
        else:
            tasks.append(planfiles.Task(operator, task.kind, start, end, task.what.printer, names[id(task.what)]))
    allocation = Counter()
    for (shipment, part, index), (count, _) in model.allocated.items():
        if value(count):
            allocation[names[id(model.sources[index])], part, shipment] = value(count)
    for (shipment, part), count in model.from_stock.items():
        if value(count):
            allocation[planfiles.STOCK, part, shipment] = value(count)
    plan = planfiles.Plan(runs, tasks, allocation, [])
    room = verify.Room(farm, plan)
    plan.shipments = [planfiles.Ready(s.name, room.ready(s.name), s.due, room.late(s)) for s in farm.shipments]
    return plan


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder")
    parser.add_argument("--seconds", type=float, default=60, help="limit for each of the two searches")
    parser.add_argument("--plan-out", help="write the plan's four tables into this folder")
    args = parser.parse_args()
    farm = tables.read(args.folder)
    result, plan = optimum(farm, args.seconds)
    if plan and args.plan_out:
        planfiles.write(farm, plan, args.plan_out)
    print(json.dumps(result))
    return 0


if __name__ == "__main__":
    sys.exit(main())
