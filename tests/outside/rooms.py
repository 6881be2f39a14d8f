"""Rooms for the tests of pages: one whose names are out to do harm, and one of a thousand printers."""

from pathlib import Path

# Markup, attributes, template and URL tricks, other scripts and directions, emoji, a bidirectional override is refused by the
# tables or replaced on the page and so is not among them; the last has two hundred characters.
HOSTILE = [
    "<script>window.hurt=1</script>",
    "</script><img src=x onerror=window.hurt=1>",
    "\" onmouseover=\"window.hurt=1",
    "'; window.hurt=1; //",
    "{{ 7*7 }}${7*7}<%= 7 %>",
    "javascript:window.hurt=1",
    "&lt;b&gt;&amp;amp;",
    "]]>--><!--",
    "مقياس الريح אבג",
    "🪁👩‍🔧🏽 ñandú 風速計",
    "x" * 200,
]


def csv_cell(text):
    return '"' + str(text).replace('"', '""') + '"'


def table(folder, name, rows):
    lines = [",".join(csv_cell(cell) for cell in row) for row in rows]
    (folder / name).write_text("\n".join(lines) + "\n", encoding="utf-8")


def hostile(folder):
    """Every name of every table is one of the hostile ones; each table begins elsewhere in the list."""
    folder = Path(folder)
    folder.mkdir(parents=True)
    name = lambda at, kind: HOSTILE[at % len(HOSTILE)] if kind is None else HOSTILE[at % len(HOSTILE)][:190] + f" {kind}"
    many = range(len(HOSTILE))
    (folder / "farm.toml").write_text(
        'name = \'<script>window.hurt=1</script> & "Sons"\'\ntime_zone = "Europe/Lisbon"\nstart = "2026-03-02T07:00"\n'
        "[handling]\nload = 3\nharvest = 4\npack_box = 5\nchangeover = 6\n[unattended]\nmax_printers = 5\n",
        encoding="utf-8",
    )
    table(folder, "printers.csv", [["printer", "group", "bay", "material"], *([name(at, None), name(at % 2, "g"), name(at % 3, "bay"), ""] for at in many)])
    table(folder, "downtime.csv", [["printer", "from", "to", "reason"], [name(1, None), "2026-03-02T08:00", "2026-03-02T12:00", HOSTILE[0]]])
    table(folder, "parts.csv", [["part", "material"], *([name(at, None), name(at % 2, "m")] for at in many)])
    table(folder, "plates.csv", [["plate", "group", "part", "copies", "minutes"], *([name(at, None), name(group, "g"), name(at, None), 2, 90] for at in many for group in (0, 1))])
    table(folder, "kits.csv", [["kit", "item", "quantity"], *([name(0, "kit"), name(at, None), 1] for at in many)])
    table(folder, "shipments.csv", [["shipment", "kit", "quantity", "due", "per_box"], *([name(at, None), name(0, "kit"), 1, "2026-03-06T12:00", 1] for at in many)])
    table(folder, "shifts.csv", [["crew", "days", "from", "to", "operators"], *([name(at, None), "daily", "07:00", "16:00", 1] for at in (0, 2, 8))])
    return folder


def large(folder):
    """A thousand alike printers in forty bays, and weather stations that keep them busy for three weeks."""
    folder = Path(folder)
    folder.mkdir(parents=True)
    (folder / "farm.toml").write_text(
        'name = "Harbour Street print hall"\ntime_zone = "Europe/Lisbon"\nstart = "2026-03-16T07:00"\n'
        "horizon_days = 90\n[handling]\nload = 3\nharvest = 4\n",
        encoding="utf-8",
    )
    table(folder, "printers.csv", [["printer", "group", "bay"], *([f"P{at:04}", "bench", f"row {at // 25 + 1}"] for at in range(1000))])
    plates = [("hub", 1, 520), ("louvre", 12, 890), ("funnel", 4, 610), ("cup", 25, 480), ("clip", 50, 660)]
    table(folder, "parts.csv", [["part", "material"], *([part, "PETG"] for part, _, _ in plates)])
    table(folder, "plates.csv", [["plate", "group", "part", "copies", "minutes"], *([f"{part}-{copies}", "bench", part, copies, minutes] for part, copies, minutes in plates)])
    table(folder, "kits.csv", [["kit", "item", "quantity"], *(["station", part, 6 if part == "louvre" else 1] for part, _, _ in plates)])
    table(folder, "shipments.csv", [["shipment", "kit", "quantity"], ["harbour", "station", 7800], ["coast", "station", 17200]])
    table(folder, "shifts.csv", [["crew", "days", "from", "to", "operators"], ["day", "daily", "07:00", "22:30", 40]])
    return folder
