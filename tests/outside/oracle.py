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
from dataclasses import replace

from ortools.sat.python import cp_model

import farm as tables
import firstplan
import oracle_spares
import planfiles
import verify
from oracle_model import Model
from windows import Windows

FOUND = (cp_model.OPTIMAL, cp_model.FEASIBLE)


def search(model, objective, seconds):
    """Runs CP-SAT on one worker with a fixed seed; the solver with its status.

    Tried on forty instances: branching on the plates, position by position, with conflict learning and without the
    linear relaxation (its big-M rows say little) proves three times as often as the default search on two workers. The
    limit counts CP-SAT's own deterministic seconds, so that a busy machine proves what an idle one does.
    """
    solver = cp_model.CpSolver()
    solver.parameters.random_seed = 1
    solver.parameters.num_workers = 1
    solver.parameters.search_branching = cp_model.FIXED_SEARCH
    solver.parameters.linearization_level = 0
    solver.parameters.max_deterministic_time = seconds
    solver.parameters.max_time_in_seconds = 10 * seconds
    model.m.add_decision_strategy(model.choices(), cp_model.CHOOSE_FIRST, cp_model.SELECT_MAX_VALUE)
    model.m.minimize(objective)
    return solver, solver.solve(model.m)


class Search:
    """The two searches, lateness and then makespan, with what is known so far."""

    def __init__(self, farm, seconds, enough):
        self.farm, self.seconds, self.enough = farm, seconds, enough
        first = oracle_spares.first_plan(farm, enough) if enough else firstplan.best(farm)
        self.late, self.makespan, self.runs = first if first else (None, None, [])
        self.late_bound = self.makespan_bound = 0

    def least_late(self):
        """Finds the least weighted lateness; false where there is no plan at all."""
        pressing = [s for s in self.farm.shipments if s.due is not None and s.weight]
        if self.late and len(pressing) < len(self.farm.shipments):
            # What nobody waits for can only add to the lateness of the rest.
            model = Model(replace(self.farm, shipments=pressing), self.latest_end(pressing), self.farm.horizon)
            solver, _ = search(model, model.late, self.seconds)
            self.late_bound = max(0, round(solver.best_objective_bound))
        if self.late is not None and self.late <= self.late_bound:
            return True
        model = Model(self.farm, self.latest_end(self.farm.shipments), self.farm.horizon, self.enough)
        model.m.add(model.late >= self.late_bound)
        if self.late is not None:
            model.m.add(model.late <= self.late)
            model.hint(self.runs)
        solver, status = search(model, model.late, self.seconds)
        if status == cp_model.INFEASIBLE:
            if self.late is not None:
                raise AssertionError("the first plan is no plan of the model")
            return False
        self.late_bound = max(self.late_bound, round(solver.best_objective_bound))
        if status in FOUND:
            found = (round(solver.value(model.late)), solver.value(model.makespan))
            if self.late is None or found < (self.late, self.makespan):
                self.late, self.makespan = found
                self.runs = model.runs(solver)
        return True

    def least_makespan(self):
        """Finds the least makespan among plans no later than the least late one; the plan and whether it is proven."""
        model = Model(self.farm, self.makespan, running_end(self.farm, self.makespan), self.enough)
        model.m.add(model.late <= self.late)
        model.m.add(model.makespan <= self.makespan)
        model.hint(self.runs)
        solver, status = search(model, model.makespan, self.seconds)
        if status == cp_model.INFEASIBLE:
            raise AssertionError("the plan found before is no plan of the model")
        self.makespan_bound = max(0, round(solver.best_objective_bound))
        if status not in FOUND:
            return None, False
        self.makespan = solver.value(model.makespan)
        plan = plan_of(model, solver)
        breaches = verify.verify(self.farm, plan)
        figures = verify.figures(verify.Room(self.farm, plan))
        if breaches or figures["makespan_minutes"] != self.makespan or figures["late_minutes"] * 1000 > self.late:
            raise AssertionError(f"the oracle's plan is not valid: {breaches} {figures} {self.late} {self.makespan}")
        return plan, status == cp_model.OPTIMAL

    def latest_end(self, shipments):
        """When the last useful task of a plan no later than `late` may end."""
        if self.late is None or any(s.due is None or not s.weight for s in shipments):
            return self.farm.horizon
        return min(self.farm.horizon, max(max(0, s.due) + self.late // s.weight for s in shipments))


def optimum(farm, seconds):
    """The result object and the plan, which is None where none was found."""
    result = {"status": "unknown", "late_minutes": None, "late_bound": 0, "makespan_minutes": None, "makespan_bound": 0}
    enough = None
    if farm.confidence is not None:
        enough = oracle_spares.least(farm)
        if enough is None:
            return result, None
    at = Search(farm, seconds, enough)
    if at.late != 0:
        if not at.least_late():
            return {**result, "status": "infeasible", "late_bound": None, "makespan_bound": None}, None
        result["late_bound"] = at.late_bound / 1000
        if at.late is None:
            return result, None
    plan, proven = at.least_makespan()
    result["makespan_bound"] = at.makespan_bound
    if plan is None:
        return result, None
    result["status"] = "optimal" if proven and at.late == at.late_bound else "feasible"
    return {**result, "late_minutes": at.late / 1000, "makespan_minutes": at.makespan}, plan


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
        runs.append(
            planfiles.Run(
                names[id(run)],
                run.printer,
                plate.plate,
                load,
                print_from,
                ready,
                value(run.harvest),
                value(run.end),
                who.get(("load", id(run)), ""),
                who["harvest", id(run)],
            )
        )
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
    if farm.confidence is not None:
        oracle_spares.tell_apart(room)
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
