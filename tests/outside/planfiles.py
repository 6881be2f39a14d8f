"""A plan's files, read into minutes from the farm's start and written back."""

import csv
import json
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

COLUMNS = {
    "runs": "run,printer,plate,load_from,print_from,ready,harvest_from,harvest_to,loader,harvester".split(","),
    "tasks": "operator,task,from,to,printer,run,shipment,kit".split(","),
    "allocation": "source,part,shipment,count".split(","),
    "shipments": "shipment,ready,due,late_minutes".split(","),
}
STOCK = "stock"
# Where a plan keeps spares, how many beside each count.
SPARE = "spare"


@dataclass(frozen=True)
class Run:
    """One execution of a plate; a run that was on the printer at the start has no load."""

    name: str
    printer: str
    plate: str
    load_from: int | None
    print_from: int | None
    ready: int
    harvest_from: int
    harvest_to: int
    loader: str
    harvester: str

    @property
    def running(self):
        return self.load_from is None


@dataclass(frozen=True)
class Task:
    """One stretch of one operator's work: load, harvest or pack."""

    operator: str
    task: str
    start: int
    end: int
    printer: str = ""
    run: str = ""
    shipment: str = ""
    kit: str = ""


@dataclass(frozen=True)
class Ready:
    """A row of shipments.csv."""

    shipment: str
    ready: int
    due: int | None
    late: int


@dataclass
class Plan:
    """The four tables; `allocation` and `spares` count by (source, part, shipment)."""

    runs: list
    tasks: list
    allocation: Counter
    shipments: list
    document: dict | None = None
    # The rows as they stand in the files, by table.
    texts: dict = field(default_factory=dict)
    spares: Counter = field(default_factory=Counter)


def read(farm, folder):
    """Reads a plan folder; `document` is plan.json where there is one."""
    folder = Path(folder)

    def at(text):
        return farm.minute(text) if text else None

    texts = {name: _rows(folder, name, columns) for name, columns in COLUMNS.items()}
    allocation, spares = Counter(), Counter()
    for r in texts["allocation"]:
        key, count, spare = (r["source"], r["part"], r["shipment"]), int(r["count"]), int(r.get(SPARE) or 0)
        if min(count, spare) < 0 or count + spare < 1:
            raise ValueError(f"allocation.csv: a count of {r['count']}")
        if count:
            allocation[key] += count
        if spare:
            spares[key] += spare
    document = folder / "plan.json"
    return Plan(
        runs=[
            Run(
                r["run"],
                r["printer"],
                r["plate"],
                at(r["load_from"]),
                at(r["print_from"]),
                at(r["ready"]),
                at(r["harvest_from"]),
                at(r["harvest_to"]),
                r["loader"],
                r["harvester"],
            )
            for r in texts["runs"]
        ],
        tasks=[
            Task(r["operator"], r["task"], at(r["from"]), at(r["to"]), r["printer"], r["run"], r["shipment"], r["kit"])
            for r in texts["tasks"]
        ],
        allocation=allocation,
        shipments=[
            Ready(r["shipment"], at(r["ready"]), at(r["due"]), int(r["late_minutes"] or 0)) for r in texts["shipments"]
        ],
        document=json.loads(document.read_text(encoding="utf-8")) if document.exists() else None,
        texts=texts,
        spares=spares,
    )


def write(farm, plan, folder):
    """Writes the four tables."""
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)

    def stamp(minute):
        return "" if minute is None else farm.stamp(minute)

    _write(
        folder,
        "runs",
        [
            [
                r.name,
                r.printer,
                r.plate,
                stamp(r.load_from),
                stamp(r.print_from),
                stamp(r.ready),
                stamp(r.harvest_from),
                stamp(r.harvest_to),
                r.loader,
                r.harvester,
            ]
            for r in plan.runs
        ],
    )
    _write(
        folder,
        "tasks",
        [[t.operator, t.task, stamp(t.start), stamp(t.end), t.printer, t.run, t.shipment, t.kit] for t in plan.tasks],
    )
    given = sorted({*plan.allocation, *plan.spares})
    if plan.spares:
        _write(folder, "allocation", [[*k, plan.allocation[k], plan.spares[k]] for k in given], [SPARE])
    else:
        _write(folder, "allocation", [[*key, plan.allocation[key]] for key in given])
    _write(folder, "shipments", [[s.shipment, stamp(s.ready), stamp(s.due), s.late] for s in plan.shipments])


def _rows(folder, name, columns):
    with (folder / f"{name}.csv").open(encoding="utf-8-sig", newline="") as file:
        reader = csv.DictReader(file)
        if sorted(set(reader.fieldnames or []) - {SPARE}) != sorted(columns):
            raise ValueError(f"{name}.csv: columns {reader.fieldnames}, not {columns}")
        return list(reader)


def _write(folder, name, rows, more=()):
    with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([*COLUMNS[name], *more])
        writer.writerows(rows)
