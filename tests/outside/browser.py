"""The plan's page in a real browser: opens from disk, asks for nothing, says what plan.json says, obeys the keyboard.

    browser.py --binary PROGRAM --axe AXE_MIN_JS [--chromium PROGRAM] [--pictures FOLDER]

Chromium is driven by Playwright over the DevTools protocol. Accessibility is judged by axe-core against WCAG 2.1, levels A
and AA. Figures are recomputed here from the plan's files, with Python's own zone data. Nothing asserts a duration; those that
are of interest are printed. With --pictures the demo is planned as well as can be, and the screenshots are kept, to be looked at.
"""

import csv
import json
import re
import shutil
import subprocess
import sys
import tempfile
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import rooms
from pages import DESK, INSTANCES, PATIENCE, PHONE, arguments, chromium, expect, judge, rows


def plan(binary, instance, out, engine="quick"):
    """Plans an instance; the plan's folder with its page."""
    subprocess.run(
        [binary, "plan", str(instance), "--engine", engine, "--out", str(out), "--quiet"], check=True, timeout=600
    )
    return Path(out)


class Opened:
    """A page in a context of its own, and everything that must not happen on it."""

    def __init__(self, browser, file, size=DESK, scheme="light", touch=False, script=None):
        self.context = browser.new_context(
            viewport=size, color_scheme=scheme, has_touch=touch, reduced_motion="reduce", offline=True
        )
        self.context.set_default_timeout(PATIENCE)
        self.page = self.context.new_page()
        if script:
            self.page.add_init_script(script)
        self.asked, self.said = [], []
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("dialog", lambda dialog: (self.said.append("dialog " + dialog.message), dialog.dismiss()))
        self.url = Path(file).resolve().as_uri()
        self.page.goto(self.url)
        # A selector, since a function to poll would be compiled in the page, which its policy forbids.
        self.page.locator("#floor[data-drawn]").wait_for(state="attached")

    def close(self):
        expect(self.asked == [self.url], "the page asked for", self.asked)
        expect(self.said == [], "the page said", self.said)
        self.context.close()

    def settle(self):
        """Until the next two frames are drawn."""
        self.page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")

    def scale(self):
        self.settle()
        return float(self.page.evaluate("document.getElementById('floor').dataset.scale"))

    def drawn(self):
        self.settle()
        return int(self.page.evaluate("document.getElementById('floor').dataset.drawn"))

    def told(self):
        return self.page.locator("#floor-said").inner_text()


# What the page says, against the plan's own files.


def length(minutes):
    days, hours, minutes = minutes // 1440, minutes // 60 % 24, minutes % 60
    said = [f"{days} d"] if days else []
    if hours or (days and minutes):
        said.append(f"{hours} h")
    if minutes or not said:
        said.append(f"{minutes:02} min" if said else f"{minutes} min")
    return " ".join(said)


def hours(minutes):
    return f"{minutes // 60}:{minutes % 60:02}"


def in_minutes(text):
    whole, minutes = text.split(":")
    return int(whole) * 60 + int(minutes)


def moment(stamp, zone):
    """RFC 3339 as the page says it, by Python's zone data."""
    at = datetime.fromisoformat(stamp).astimezone(ZoneInfo(zone))
    return f"{at:%a} {at.day} {at:%b} {at:%H:%M}"


def figures(opened, folder, instance):
    document = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    zone = re.search(r'time_zone = "(.+)"', (instance / "farm.toml").read_text(encoding="utf-8")).group(1)
    page = opened.page
    stated = page.eval_on_selector_all(
        "data[data-key]", "all => all.map(one => [one.dataset.key, one.value, one.textContent])"
    )
    single = {key: (value, said) for key, value, said in stated if key != "shipment_late_minutes"}
    proven = document["bound_minutes"] > 0 or document["value_minutes"] <= 0
    says = {
        "objective": str, "outcome": str, "value_minutes": length, "bound_minutes": lambda bound: length(bound) if proven else "none", "makespan_minutes": length,
        "gap": lambda gap: f"{gap * 100:.2f} %" if proven else "not known",
        "late_minutes": lambda late: f"{late:g} weighted min",
        "late_bound_minutes": lambda late: f"{late:g} weighted min",
        "idle_printer_minutes": hours, "operator_minutes": hours, "run_count": str, "surplus_parts": str,
    }  # fmt: skip
    expect(set(single) == set(says), "figures on the page:", sorted(single))
    for key, say in says.items():
        value, said = single[key]
        expected = document[key]
        same = value == expected if isinstance(expected, str) else float(value) == float(expected)
        expect(same, key, "is", value, "on the page and", expected, "in plan.json")
        expect(said == say(expected), key, "reads", repr(said), "and is", expected)
    lates = [int(value) for key, value, _ in stated if key == "shipment_late_minutes"]
    shipments = page.eval_on_selector_all(
        "#shipments tbody tr",
        "all => all.map(row => [row.querySelector('th').textContent, [...row.querySelectorAll('time')].map(t => [t.dateTime, t.textContent])])",
    )
    expect(len(shipments) == len(document["shipments"]), "shipments on the page:", shipments)
    for (name, times), late, row in zip(shipments, lates, document["shipments"], strict=True):
        expect((name, late) == (row["shipment"], row["late_minutes"]), name, late, row)
        stamps = [row["ready"]] + ([row["due"]] if row["due"] else [])
        expect(times == [[stamp, moment(stamp, zone)] for stamp in stamps], name, times, stamps)
    recount(opened, folder, instance, document)


def recount(opened, folder, instance, document):
    """Tables of the page that add up to what the plan's tables hold."""
    page = opened.page
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
    table = "caption => { const found = [...document.querySelectorAll('table')].find(t => t.caption?.textContent.startsWith(caption)); return [...found.tBodies[0].rows].map(r => [...r.cells].map(c => c.textContent)) }"
    runs = rows(folder, "runs.csv")
    groups = {row["printer"]: row["group"] for row in tables(instance, "printers.csv")}
    copies = {}
    for row in tables(instance, "plates.csv"):
        copies.setdefault((row["plate"], row["group"]), []).append((row["part"], int(row["copies"])))
    made = {}
    for run in runs:
        for part, count in copies[run["plate"], groups[run["printer"]]]:
            made[part] = made.get(part, 0) + count
    taken = {}
    for row in rows(folder, "allocation.csv"):
        taken[row["part"]] = taken.get(row["part"], 0) + int(row["count"])
    parts = page.evaluate(table, "Parts made and needed")
    for part, _, _, stock, printed, needed, surplus, *_ in parts:
        expect(int(printed) == made.get(part, 0), part, "made", printed, "and by runs.csv", made.get(part, 0))
        expect(int(needed) == taken.get(part, 0), part, "needed", needed, "and by allocation.csv", taken.get(part, 0))
        expect(int(surplus) == int(stock) + int(printed) - int(needed), part, "surplus", surplus)
    expect(sum(int(p[6]) for p in parts) == document["surplus_parts"], "surplus by part adds up to the plan's")
    per_printer = page.evaluate(table, "Hours of every printer")
    expect(sum(int(row[3]) for row in per_printer) == len(runs), "runs by printer add up to all")
    whole = page.evaluate(table, "Printer hours by")[-1]
    for column, name in ((4, "printing"), (5, "cooling"), (7, "handled"), (6, "blocked"), (8, "down"), (9, "empty")):
        by_printer = sum(in_minutes(row[column]) for row in per_printer)
        by_day = in_minutes(whole[["printing", "cooling", "handled", "blocked", "down", "empty"].index(name) + 2])
        expect(by_printer == by_day, name, "by printer", by_printer, "by day", by_day)
    shifts = page.evaluate(table, "Every shift")
    busy = sum(in_minutes(row[6]) for row in shifts)
    expect(busy == document["operator_minutes"], "busy minutes by shift", busy)
    listed = []
    while True:
        listed += [row[0] for row in page.evaluate(table, "Runs, by printer")]
        if len(listed) >= len(runs):
            break
        page.get_by_role("button", name="Later rows").click()
    expect(sorted(listed) == sorted(run["run"] for run in runs), "the table of runs has", len(listed), "of", len(runs))


def tables(folder, name):
    with (folder / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#") and line.strip()))


# What a hand can do.


def keyboard(opened, folder):
    """Tab reaches every control, in the page's order, and leaves it again; arrows go from run to run."""
    page = opened.page
    mine = "a[href], button, input, summary, [tabindex='0']"
    number = "all => { all.forEach((one, at) => { one.dataset.test = at }); return all.filter(one => one.checkVisibility()).map(one => one.dataset.test) }"
    controls = page.eval_on_selector_all(mine, number)
    page.evaluate("document.body.focus(); window.scrollTo(0, 0)")
    reached = []
    for _ in range(len(controls) + 1):
        page.keyboard.press("Tab")
        reached.append(page.evaluate("document.activeElement.dataset.test ?? null"))
    expect(reached[: len(controls)] == controls, "Tab reaches", reached, "of", controls)
    expect(reached[-1] is None, "Tab does not leave the page's last control")
    expect(page.evaluate("document.getElementById('floor').dataset.test") in reached, "Tab does not reach the chart")
    runs = {run["run"]: run for run in rows(folder, "runs.csv")}
    page.locator("#floor").focus()
    page.keyboard.press("Home")
    seen = set()
    for _ in range(200):
        told = opened.told()
        name = told.split(":")[0]
        if name in runs:
            run = runs[name]
            expect(f"{run['plate']} (" in told and f"on {run['printer']}\n" in told, told, run)
            for column, word in (("harvest_from", "harvest"), ("ready", "ready")):
                at = datetime.fromisoformat(run[column])
                expect(f"{word} {at:%a} {at.day} {at:%b} {at:%H:%M}" in told, told, run)
            seen.add(run["printer"])
        else:
            seen.add(re.search("^printer (.+?),", told).group(1))
        before = told
        page.keyboard.press("ArrowDown")
        if opened.told() == before:
            break
    return seen


def zooming(opened, cdp):
    """Buttons, keys, wheel and two fingers zoom; the whole plan comes back; scrolling moves what is drawn."""
    page = opened.page
    floor = page.locator("#floor")
    floor.scroll_into_view_if_needed()
    whole = opened.scale()

    def grows(what):
        expect(opened.scale() > whole * 1.2, what, "does not zoom:", opened.scale(), "after", whole)
        page.keyboard.press("0")
        expect(abs(opened.scale() - whole) < 1e-9, "0 does not show the whole plan after", what)

    page.get_by_role("button", name="Closer").click()
    floor.focus()
    grows("the button")
    page.get_by_role("button", name="One day").focus()
    page.keyboard.press("Enter")
    floor.focus()
    grows("the button by keyboard")
    page.keyboard.press("+")
    grows("+")
    place = floor.bounding_box()
    middle = (place["x"] + place["width"] / 2, place["y"] + place["height"] / 2)
    page.mouse.move(*middle)
    page.keyboard.down("Control")
    page.mouse.wheel(0, -300)
    page.keyboard.up("Control")
    opened.settle()
    left = page.evaluate("document.getElementById('floor').scrollLeft")
    page.mouse.down()
    page.mouse.move(middle[0] - 150, middle[1], steps=5)
    page.mouse.up()
    moved = page.evaluate("document.getElementById('floor').scrollLeft") - left
    expect(abs(moved - 150) < 2, "dragging by 150 moves by", moved)
    grows("the wheel")
    two = lambda apart: [{"x": middle[0] + side * apart, "y": middle[1], "id": n} for n, side in enumerate((-1, 1))]
    cdp.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": two(40)})
    for apart in range(50, 160, 10):
        cdp.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": two(apart)})
    cdp.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    grows("spreading two fingers")


def accessible(opened, axe, about):
    opened.page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
    opened.settle()
    judge(opened.page, axe, 15, about)


def paper(opened, out):
    """On paper: the whole chart, whatever was zoomed to."""
    page = opened.page
    page.get_by_role("button", name="One day").click()
    size = page.evaluate(
        "() => { dispatchEvent(new Event('beforeprint')); const c = document.getElementById('floor-canvas');"
        " const ink = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;"
        " const kinds = new Set(); for (let at = 0; at < ink.length; at += 4 * 97) kinds.add(ink[at] << 16 | ink[at + 1] << 8 | ink[at + 2]);"
        " dispatchEvent(new Event('afterprint')); return [c.width, kinds.size] }"
    )
    expect(size[1] > 8, "the chart on paper has colours", size[1])
    printed = page.pdf(path=out, format="A4", prefer_css_page_size=False)
    pages = len(re.findall(rb"/Type\s*/Page\b", printed))
    expect(2 <= pages <= 12, "the page prints on", pages, "sheets")


# The rooms.


def the_week(browser, args, work):
    engine = "auto" if args.pictures else "quick"
    folder = plan(args.binary, INSTANCES / "harbour-week", work / "week", engine)
    file = folder / "report.html"
    opened = Opened(browser, file)
    seen = keyboard(opened, folder)
    printers = {row["printer"] for row in tables(INSTANCES / "harbour-week", "printers.csv")}
    expect(seen == printers, "arrows reach", sorted(seen))
    paper(opened, work / "week.pdf")
    figures(opened, folder, INSTANCES / "harbour-week")
    opened.close()
    opened = Opened(browser, file, touch=True)
    zooming(opened, opened.context.new_cdp_session(opened.page))
    opened.close()
    axe = Path(args.axe).read_text(encoding="utf-8")
    for about, size, scheme in (("light", DESK, "light"), ("dark", DESK, "dark"), ("phone", PHONE, "light")):
        opened = Opened(browser, file, size, scheme)
        said = answered(opened, folder, f"harbour-week, {about}")
        if args.pictures:
            pictures(opened, Path(args.pictures), about)
        accessible(opened, axe, f"harbour-week, {about}")
        opened.close()
    if args.pictures:
        shutil.copy(work / "week.pdf", Path(args.pictures) / "print.pdf")
    print(f"harbour-week says: {said}")
    print(f"harbour-week: {len(rows(folder, 'runs.csv'))} runs, {file.stat().st_size} bytes")


def pictures(opened, folder, about):
    folder.mkdir(parents=True, exist_ok=True)
    opened.page.locator("#floor").focus()
    for key in ("ArrowDown", "ArrowDown", "ArrowRight", "ArrowRight"):
        opened.page.keyboard.press(key)
    opened.settle()
    opened.page.screenshot(path=folder / f"{about}.png", full_page=True)
    opened.page.locator("figure.floor").screenshot(path=folder / f"{about}-floor.png")


def hostile(browser, args, work):
    """Names that would be markup, scripts, attributes, another direction of writing, or very long."""
    instance = rooms.hostile(work / "hostile")
    opened = Opened(browser, plan(args.binary, instance, work / "hostile-plan") / "report.html")
    page = opened.page
    accessible(opened, Path(args.axe).read_text(encoding="utf-8"), "hostile names")
    expect(page.evaluate("window.hurt") is None, "a name ran as a script")
    expect(page.locator("script").count() == 2, "scripts:", page.locator("script").count())
    text = page.evaluate("document.body.textContent")
    for name in rooms.HOSTILE:
        expect(name in text or len(name) > 150, "not on the page:", name)
    page.locator("#floor").focus()
    for key in ("Home", "ArrowDown", "ArrowRight", "ArrowDown", "End", "+", "0"):
        page.keyboard.press(key)
    for name in rooms.HOSTILE:
        page.locator("#find").fill(name[:40])
        page.keyboard.press("Enter")
    expect(page.evaluate("document.querySelectorAll('#floor-said *:not(bdi):not(br)').length") == 0, opened.told())
    opened.close()
    print(f"hostile names: {len(rooms.HOSTILE)} names in every table")


# Counts what is asked of a canvas within each frame, and how long a frame's script and its drawing take.
COUNTING = """
    window.frames_ = [];
    let calls = 0;
    const drawn = CanvasRenderingContext2D.prototype.drawImage;
    for (const name of ['fillRect', 'strokeRect', 'fill', 'stroke', 'fillText', 'drawImage', 'moveTo', 'lineTo', 'translate', 'setTransform', 'save', 'restore']) {
        const was = CanvasRenderingContext2D.prototype[name];
        CanvasRenderingContext2D.prototype[name] = function (...all) { calls += 1; return was.apply(this, all); };
    }
    // A copy that is made to be read: reading the chart's own canvas would change how it is drawn.
    const copy = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
    window.ink_ = (wide, high) => {
        const canvas = document.getElementById('floor-canvas');
        [copy.canvas.width, copy.canvas.height] = [wide ?? canvas.width, high ?? canvas.height];
        drawn.call(copy, canvas, 0, 0);
        return copy.getImageData(0, 0, copy.canvas.width, copy.canvas.height).data;
    };
    const ask = window.requestAnimationFrame;
    window.requestAnimationFrame = (draw) => ask((time) => {
        const begun = performance.now();
        calls = 0;
        draw(time);
        if (!calls) return;
        const counted = calls;
        window.ink_(1, 1);
        window.frames_.push({ calls: counted, drawn: Number(document.getElementById('floor').dataset.drawn), ms: performance.now() - begun });
    });
    window.frames_of = async (times, act) => {
        const next = () => new Promise((done) => ask(() => setTimeout(done)));
        await next();
        window.frames_.length = 0;
        for (let count = 0; count < times; count += 1) { act(count); await next(); }
        return window.frames_;
    };
"""


def the_large_room(browser, args, work):
    """A thousand printers over three weeks: opens, and a frame paints no more than came into view."""
    instance = rooms.large(work / "large")
    folder = plan(args.binary, instance, work / "large-plan")
    file, runs = folder / "report.html", len(rows(folder, "runs.csv"))
    days = json.loads((folder / "plan.json").read_text(encoding="utf-8"))["makespan_minutes"] / 1440
    expect(days >= 21 and runs >= 40_000, "only", days, "days and", runs, "runs")
    expect(file.stat().st_size < 8_000_000 * runs / 20_000, runs, "runs make", file.stat().st_size, "bytes")
    opened = Opened(browser, file, script=COUNTING)
    page = opened.page
    page.get_by_role("button", name="Narrow rows").click()
    opened.settle()
    per_row = max(len(runs_) for runs_ in by_printer(folder).values())
    rows_in_view = 736 // 7 + 2
    told = {}
    # Whole, where all weeks are in view: the whole plan closer and wider again, then 100 pixels down, then pointing.
    moves = {
        "a zoom": ("count => document.querySelector(count % 2 ? '[data-view=all]' : '[data-view=closer]').click()", rows_in_view),
        "a scroll": ("() => { document.getElementById('floor').scrollTop += 100 }", 100 // 7 + 3),
        "a scroll across": ("count => { if (!count) document.querySelector('[data-view=closer]').click(); else document.getElementById('floor').scrollLeft += 10 }", None),
        "pointing": (
            (
                "count => { const at = document.getElementById('floor-canvas').getBoundingClientRect(); document.getElementById('floor').dispatchEvent("
                "new PointerEvent('pointermove', { pointerType: 'mouse', clientX: at.left + 300 + 30 * count, clientY: at.top + 200 })) }"
            ),
            0,
        ),
    }
    for move, (act, most_rows) in moves.items():
        frames = page.evaluate(f"window.frames_of(40, {act})")
        if most_rows is None:  # the first frame zooms; then ten pixels hold two runs of a row at most, and one at either side
            frames, most = frames[1:], rows_in_view * 4
        else:
            most = most_rows * per_row
        expect(len(frames) > 10, move, "drew", len(frames), "frames")
        drawn, calls = (max(frame[key] for frame in frames) for key in ("drawn", "calls"))
        expect(drawn <= most, move, "paints", drawn, "runs at once; in view come", most)
        # A run is a bar, a load, a harvest and the thread of its wait; the rest are rows, days and the head.
        expect(calls <= 5 * drawn + 500, move, "asks", calls, "things of the canvas for", drawn, "runs")
        spent = sorted(frame["ms"] for frame in frames)
        told[move] = f"{drawn} runs, {calls} calls, median {spent[len(spent) // 2]:.1f} ms"
    expect(opened.page.evaluate("document.getElementById('floor').scrollTop") > 1000, "scrolling does not move")
    as_if_painted_anew(page)
    page.keyboard.press("Escape")
    page.locator("#find").fill("P0777")
    page.keyboard.press("Enter")
    expect("printer P0777" in opened.told(), opened.told())
    opened.close()
    print(f"a thousand printers: {runs} runs, {days:.1f} days, {file.stat().st_size} bytes; one frame paints at most:")
    for move, words in told.items():
        print(f"  {move}: {words}")


def as_if_painted_anew(page):
    """What was moved and patched looks as if it had been painted at once, but for what no eye sees of a pattern's edges."""
    apart = page.evaluate(
        """async () => {
            const box = document.getElementById('floor');
            const frame = () => new Promise(done => requestAnimationFrame(() => setTimeout(done)));
            const ink = () => window.ink_();
            let most = 0;
            for (const [down, across] of [[130, 0], [-55, 0], [0, 47], [0, -31], [210, 90], [-33.4, -10.7], [3, 1], [0, 900]]) {
                box.scrollTop += down; box.scrollLeft += across;
                await frame();
                const moved = ink(), painted = Number(box.dataset.drawn);
                dispatchEvent(new Event('afterprint'));
                await frame();
                const anew = ink();
                if (Number(box.dataset.drawn) < painted) return 'moving painted more than painting anew';
                for (let at = 0; at < anew.length; at += 1) most = Math.max(most, Math.abs(anew[at] - moved[at]));
            }
            return most;
        }"""
    )
    expect(isinstance(apart, int) and apart <= 32, "moved and painted anew differ by", apart, "of 255")


def by_printer(folder):
    found = {}
    for run in rows(folder, "runs.csv"):
        found.setdefault(run["printer"], []).append(run["run"])
    return found


def answered(opened, folder, about):
    """The first screen tells the owner whether it ships, when, how sure that is and what it costs."""
    page = opened.page
    page.evaluate("scrollTo(0, 0)")
    document = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    late = [row["shipment"] for row in document["shipments"] if row["late_minutes"] > 0]
    answer = page.locator(".answer").first
    said = answer.inner_text()
    expect(said.startswith("Not ") == bool(late) and said.startswith("Yes") == (not late), about, "says", said, "late:", late)
    zone = page.locator("header p.quiet").last.inner_text().rsplit(" ", 1)[1]
    last = max(document["shipments"], key=lambda row: datetime.fromisoformat(row["ready"]))
    expect(moment(last["ready"], zone) in said, about, "does not say", last["ready"], "in", said)
    high = page.viewport_size["height"]
    places = [answer.bounding_box()] + [one.bounding_box() for one in page.locator(".facts > div").all()]
    expect(len(places) == 4, about, "answers", len(places), "questions")
    expect(all(at["y"] + at["height"] <= high for at in places), about, "answers below the first screen:", places, high)
    return said


def the_other_pages(browser, args, work):
    """The pages of a comparison and of a rehearsal: as quiet and as easy to use as the plan's own."""
    axe = Path(args.axe).read_text(encoding="utf-8")
    instance = INSTANCES / "harbour-week"
    folder = plan(args.binary, instance, work / "other", "quick")
    compared, rehearsed = work / "compared.html", work / "rehearsed.html"
    run = lambda *words: subprocess.run([args.binary, *map(str, words), "--quiet"], check=False, timeout=600).returncode
    expect(run("compare", instance, "--engine", "quick", "--out", work / "compare", "--html", compared) == 0, "no comparison")
    expect(run("rehearse", instance, folder, "--times", 50, "--html", rehearsed) == 0, "no rehearsal")
    for file, heading in ((compared, "What else could be done"), (rehearsed, "How sure the dates are")):
        for about, size, scheme in (("light", DESK, "light"), ("dark", DESK, "dark"), ("phone", PHONE, "light")):
            opened = Opened(browser, file, size, scheme)
            page = opened.page
            expect(page.get_by_role("heading", name=heading).count() == 1, file, "has no", heading)
            stops = page.evaluate("document.querySelectorAll('button, a[href], input, summary, [tabindex=\"0\"]').length")
            reached = set()
            for _ in range(stops + 5):
                page.keyboard.press("Tab")
                reached.add(page.evaluate("[...document.querySelectorAll('*')].indexOf(document.activeElement)"))
            visible = page.evaluate(
                "[...document.querySelectorAll('button, a[href], input, summary, [tabindex=\"0\"]')].filter(one =>"
                " one.checkVisibility()).map(one => [...document.querySelectorAll('*')].indexOf(one))"
            )
            expect(set(visible) <= reached, file, about, "Tab does not reach", len(set(visible) - reached), "controls")
            accessible(opened, axe, f"{heading}, {about}")
            opened.close()
    print("comparison and rehearsal: Tab reaches every control, nothing that axe-core finds, light, dark and on a phone")


def the_kit_run(browser, args, work):
    """Some two thousand runs."""
    folder = plan(args.binary, INSTANCES / "kit-run", work / "kits")
    file, runs = folder / "report.html", len(rows(folder, "runs.csv"))
    expect(file.stat().st_size < 1_500_000 * max(1, runs / 2000), runs, "runs make", file.stat().st_size, "bytes")
    opened = Opened(browser, file)
    figures(opened, folder, INSTANCES / "kit-run")
    opened.close()
    print(f"kit-run: {runs} runs, {file.stat().st_size} bytes")


def main():
    parser = arguments(__doc__)
    parser.add_argument("--pictures", help="a folder for screenshots of the week")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as work, chromium(args.chromium) as browser:
        for check in (the_week, the_other_pages, hostile, the_kit_run, the_large_room):
            check(browser, args, Path(work))


if __name__ == "__main__":
    sys.exit(main())
