"""Reads what `export` writes with libraries of others, and holds it against the plan's own files.

    exchanged.py --binary PROGRAM DIR PLAN_DIR

The calendar goes through `icalendar` (an RFC 5545 parser), the workbooks through `openpyxl`; the plan's files are read as
they are. Prints one line and exits 0, or says what differs and exits 1.
"""

import argparse
import csv
import json
import re
import subprocess
import sys
import tempfile
import tomllib
from collections import Counter
from datetime import date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import icalendar
import openpyxl

TABLES = ["printers", "downtime", "parts", "plates", "kits", "shipments", "shifts", "closures", "stock", "running", "log"]


def agree(what, ours, theirs):
    if ours != theirs:
        raise SystemExit(f"{what}: {ours!r} in the plan's files, {theirs!r} in the export")


def rows(path):
    with open(path, encoding="utf-8-sig", newline="") as file:
        lines = [line for line in file if not line.lstrip().startswith("#")]
    cells = [[cell.strip() for cell in row] for row in csv.reader(lines)]
    cells = [row for row in cells if any(row)]
    return [dict(zip(cells[0], row, strict=True)) for row in cells[1:]]


def moment(text):
    return datetime.fromisoformat(text)


def calendar(path, plan, zone):
    """Shipments at their moments; each load in the one event of its crew that holds it, with its wall time."""
    parsed = icalendar.Calendar.from_ical(path.read_bytes())
    events = [event for event in parsed.walk("VEVENT")]
    uids = [str(event["UID"]) for event in events]
    agree("events with a UID of their own", len(uids), len(set(uids)))
    for event in events:
        agree("the zone of times", timedelta(0), event.start.utcoffset())
    shipped = {str(event["SUMMARY"]): event for event in events if event.get("TRANSP") == "TRANSPARENT"}
    for row in rows(plan / "shipments.csv"):
        late = ", late" if int(row["late_minutes"]) > 0 else ""
        event = shipped.pop(f"Shipment {row['shipment']} is ready{late}")
        agree(f"{row['shipment']} ready", moment(row["ready"]), event.start)
        if row["due"]:
            agree(f"{row['shipment']} due", moment(row["due"]), shipped.pop(f"Shipment {row['shipment']} is due").start)
    agree("further events", {}, shipped)

    plates = {row["run"]: row["plate"] for row in rows(plan / "runs.csv")}
    shifts = [event for event in events if event.get("TRANSP") != "TRANSPARENT"]
    listed = [
        (line, event.start, event.end, str(event["SUMMARY"]).rsplit(":", 1)[0])
        for event in shifts
        for line in str(event.get("DESCRIPTION", "")).split("\n")[2:]
    ]
    loads = [row for row in rows(plan / "tasks.csv") if row["task"] == "load"]
    agree("loads", len(loads), len(listed))
    found = Counter()
    for row in loads:
        begun = moment(row["from"])
        line = f"{begun:%H:%M} {row['printer']}: {plates[row['run']]} ({row['run']}, {row['operator']})"
        agree("the wall clock", begun.replace(tzinfo=None), begun.astimezone(zone).replace(tzinfo=None))
        crew = row["operator"].rsplit("-", 1)[0]
        within = [entry for entry in listed if entry[0] == line and entry[1] <= begun < entry[2] and entry[3] == crew]
        agree(f"the load {line}", 1, len(within))
        found[line] += 1
    return len(events)


def wall(cell, text, zone, where):
    """A cell is the wall time of a stamp, a real date, marked where the hour comes for the second time."""
    if not text:
        agree(where, None, cell.value)
        return
    stamp = moment(text)
    agree(where, stamp.replace(tzinfo=None), cell.value)
    agree(f"{where}: a real date", "d", cell.data_type)
    second = stamp.astimezone(zone).fold == 1
    agree(f"{where}: the second pass of an hour", second, "again" in cell.number_format)


def table(sheet):
    """Rows as cells by column."""
    head = [cell.value for cell in sheet[1]]
    return [
        dict(zip(head, row, strict=True)) for row in sheet.iter_rows(min_row=2) if any(c.value is not None for c in row)
    ]


def no_formulas(book):
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    raise SystemExit(f"{sheet.title}!{cell.coordinate} is a formula: {cell.value}")


def plan_workbook(path, plan, zone):
    book = openpyxl.load_workbook(path)
    no_formulas(book)
    for sheet in book:
        agree(f"{sheet.title}: frozen header", "A2", sheet.freeze_panes)
    agree("charts", 1, len(book["days"]._charts))
    document = json.loads((plan / "plan.json").read_text(encoding="utf-8"))
    stated = {}
    for row in table(book["plan"]):
        stated.setdefault(row["figure"].value, row["value"].value)
    compared = 0
    for key, value in flat(document):
        if key in stated and key not in ("start", "instance", "note", "seed") and not isinstance(value, list | dict):
            same = abs(stated[key] - value) < 1e-9 if isinstance(value, float) else stated[key] == value
            agree(key, True, same)
            compared += 1
    if compared < 8:
        raise SystemExit(f"only {compared} figures of plan.json are on the sheet plan")

    for name, times in [
        ("runs", ["load_from", "print_from", "ready", "harvest_from", "harvest_to"]),
        ("tasks", ["from", "to"]),
        ("shipments", ["ready", "due"]),
        ("allocation", []),
    ]:
        ours, theirs = rows(plan / f"{name}.csv"), table(book[name])
        agree(f"rows of {name}", len(ours), len(theirs))
        for number, (our, their) in enumerate(zip(ours, theirs, strict=True)):
            for column, text in our.items():
                where = f"{name}, row {number + 2}, {column}"
                if column in times:
                    wall(their[column], text, zone, where)
                else:
                    value = their[column].value
                    agree(where, text, "" if value is None else str(value))
    for row in table(book["runs"]):
        agree("minutes blocked", True, row["blocked_minutes"].value >= 0)
    for our, row in zip(rows(plan / "runs.csv"), table(book["runs"]), strict=True):
        blocked = moment(our["harvest_from"]) - moment(our["ready"])
        agree("minutes blocked", blocked.total_seconds() / 60, row["blocked_minutes"].value)

    given = Counter()
    for row in rows(plan / "allocation.csv"):
        given[row["part"]] += int(row["count"])
    for row in table(book["parts"]):
        figures = {column: cell.value for column, cell in row.items()}
        agree(f"{figures['part']} given", given[figures["part"]], figures["given"])
        agree(f"{figures['part']} needed", figures["needed"], figures["given"])
        agree(f"{figures['part']} left", figures["stock"] + figures["made"] - figures["given"], figures["surplus"])
    surplus = sum(row["surplus"].value for row in table(book["parts"]))
    agree("surplus", stated["surplus_parts"], surplus)
    bagged = Counter()
    for row in table(book["bags"]):
        bagged[row["part"].value] += row["count"].value
    for part, count in given.items():
        agree(f"{part} in bags and trays, at least what is given", True, bagged[part] >= count)
    days = [{column: cell.value for column, cell in row.items()} for row in table(book["days"])]
    for day in days:
        states = [day[state] for state in ("printing", "cooling", "handled", "blocked", "down", "empty")]
        agree(f"printer hours of {day['date']:%Y-%m-%d}", True, abs(sum(states) - day["all"]) < 1e-6)
    agree(
        "loads of all days",
        sum(row["load_from"] != "" for row in rows(plan / "runs.csv")),
        sum(d["loads"] for d in days),
    )
    agree("operator hours", True, abs(sum(d["operator_hours"] for d in days) * 60 - stated["operator_minutes"]) < 1e-6)
    return sum(sheet.max_row - 1 for sheet in book)


def flat(document):
    for key, value in document.items():
        yield key, value
        if isinstance(value, dict):
            yield from flat(value)


def shown(value):
    """A cell of a table's sheet as its table writes it."""
    match value:
        case None:
            return ""
        case bool():
            return "true" if value else "false"
        case datetime():
            return value.strftime("%Y-%m-%dT%H:%M")
        case date():
            return value.isoformat()
        case time():
            return value.strftime("%H:%M")
        case timedelta():
            minutes = round(value.total_seconds() / 60)
            return f"{minutes // 60:02}:{minutes % 60:02}"
        case float():
            return repr(value).removesuffix(".0")
        case _:
            return str(value)


def same(text, value):
    """Whether a cell says what its table does, figures by their value."""
    if text == value or text.zfill(5) == value or f"{text}T00:00" == value:
        return True
    try:
        return float(text) == float(value)
    except ValueError:
        return False


def tables_workbook(path, folder):
    book = openpyxl.load_workbook(path)
    no_formulas(book)
    for name in TABLES:
        source = folder / f"{name}.csv"
        ours = rows(source) if source.exists() else []
        theirs = table(book[name])
        agree(f"rows of {name}", len(ours), len(theirs))
        for number, (our, their) in enumerate(zip(ours, theirs, strict=True)):
            for column, text in our.items():
                if column and not same(text, shown(their[column].value)):
                    agree(f"{name}, row {number + 2}, {column}", text, shown(their[column].value))
    listed = {
        name: {str(validation.sqref)[0] for validation in book[name].data_validations.dataValidation} for name in TABLES
    }
    agree("columns of plates with lists", {"B", "C"}, listed["plates"])
    agree("columns of kits with lists", {"B"}, listed["kits"])
    agree("columns of running with lists", {"A", "B"}, listed["running"])
    return book


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--binary", required=True)
    parser.add_argument("folder", type=Path)
    parser.add_argument("plan", type=Path)
    options = parser.parse_args()
    farm = tomllib.loads((options.folder / "farm.toml").read_text(encoding="utf-8-sig"))
    zone = ZoneInfo(farm["time_zone"])

    def run(*words, code=0):
        ran = subprocess.run(
            [options.binary, *map(str, words)], capture_output=True, text=True, encoding="utf-8", check=False
        )
        if ran.returncode != code:
            raise SystemExit(f"{words}: exit {ran.returncode}, not {code}\n{ran.stdout}{ran.stderr}")
        return ran.stdout + ran.stderr

    with tempfile.TemporaryDirectory() as temporary:
        out = Path(temporary)
        both = []
        for once in ["one", "two"]:
            names = [out / f"{once}{end}" for end in (".ics", "-plan.xlsx", ".xlsx")]
            words = ["--calendar", names[0], "--plan-workbook", names[1], "--workbook", names[2]]
            run("export", options.folder, options.plan, *words)
            both.append([name.read_bytes() for name in names])
        agree("the same bytes twice", both[0], both[1])
        events = calendar(out / "one.ics", options.plan, zone)
        cells = plan_workbook(out / "one-plan.xlsx", options.plan, zone)
        book = tables_workbook(out / "one.xlsx", options.folder)

        # Back again: the plan's digest ties it to the tables, so that `check` knows whether they are the same.
        run("import", out / "one.xlsx", out / "back")
        run("check", out / "back", options.plan)
        # Saved by another program, it is still the same.
        book.save(out / "saved.xlsx")
        run("import", out / "saved.xlsx", out / "back", "--replace")
        run("check", out / "back", options.plan)
        # A formula that nobody has worked out is told by its cell, and so is a name that is not there.
        book["kits"]["C2"] = "=1+1"
        book["plates"]["C2"] = "nothing"
        book.save(out / "formula.xlsx")
        told = run("import", out / "formula.xlsx", out / "never", code=2)
        agree("the cell of a formula", True, bool(re.search(r"sheet kits, cell C2\b.*T220", told)))
        agree("the cell of an unknown part", True, bool(re.search(r"sheet plates, cell C2, part +\[T303\]", told)))
        agree("a folder is made", False, (out / "never").exists())
    print(f"{options.folder.name}: {events} events and {cells} rows agree")


if __name__ == "__main__":
    sys.exit(main())
