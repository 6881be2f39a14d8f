"""What is printed for the floor: shift sheets, packing lists and labels, on paper as a browser prints them.

    paper.py --binary PROGRAM --axe AXE_MIN_JS [--chromium PROGRAM] [--keep FOLDER]

Chromium prints the pages to PDF on A4 and on Letter. Poppler (Debian's poppler-utils) says where each word stands: all within
the paper's margins, none too small to read, no sheet empty, and every run of the shift there. Labels are drawn as a printer
would at 200 dots to the inch and read with ZBar (Debian's zbar-tools), which shares no code with what made them.
"""

import html
import json
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

import rooms
from pages import DESK, INSTANCES, PATIENCE, PHONE, arguments, chromium, expect, judge, rows

# Points to a millimetre; ISO 216 and ANSI sizes in points, upright.
MM = 72 / 25.4
SIZES = {"a4": (210 * MM, 297 * MM), "letter": (612, 792)}
# No printer needs more than 5 mm of margin (common practice, no source). A word of 7 points has a box of some 5 by its font's own
# measures; nothing is smaller.
MARGIN = 5 * MM
LEAST = 4.5
# To the inch, as a middling label printer.
DOTS = 200


def run(*words):
    done = subprocess.run([str(word) for word in words], capture_output=True, timeout=600)
    expect(done.returncode == 0, words[:3], done.returncode, done.stderr.decode(errors="replace")[-500:])
    return done.stdout.decode("utf-8")


def opened(browser, file, size=DESK, scheme="light"):
    """A page from disk that may ask for nothing, say nothing and run nothing."""
    context = browser.new_context(viewport=size, color_scheme=scheme, offline=True)
    context.set_default_timeout(PATIENCE)
    page = context.new_page()
    asked, said = [], []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("dialog", lambda dialog: (said.append("dialog"), dialog.dismiss()))
    page.goto(Path(file).resolve().as_uri())
    page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
    expect(asked == [page.url] and said == [], file, "asked", asked, "and said", said)
    expect(page.evaluate("window.hurt") is None and page.locator("script").count() == 0, file, "runs scripts")
    return page


def printed(browser, file, **paper):
    page = opened(browser, file)
    out = Path(file).with_suffix(".pdf")
    page.pdf(path=out, **(paper or {"prefer_css_page_size": True}))
    page.context.close()
    return out


def words(pdf):
    """The words of each sheet with their boxes, in points from the upper left, and each sheet's size."""
    text = run("pdftotext", "-bbox", pdf, "-")
    sheets = []
    for sheet in re.split(r"<page ", text)[1:]:
        size = tuple(float(re.search(f'{side}="([^"]+)"', sheet).group(1)) for side in ("width", "height"))
        box = r'<word xMin="([^"]+)" yMin="([^"]+)" xMax="([^"]+)" yMax="([^"]+)">(.*?)</word>'
        found = [(*map(float, m.groups()[:4]), html.unescape(m.group(5))) for m in re.finditer(box, sheet)]
        sheets.append((size, found))
    return sheets


def fits(pdf, size, about, margin=MARGIN):
    """Everything on the sheets of a size, readable and within their margins; all words in order."""
    sheets = words(pdf)
    for number, ((width, height), found) in enumerate(sheets, 1):
        expect(abs(width - size[0]) < 1 and abs(height - size[1]) < 1, about, "has sheets of", width, height)
        expect(found, about, "has nothing on sheet", number)
        for left, top, right, bottom, word in found:
            inside = left >= margin and top >= margin and right <= width - margin and bottom <= height - margin
            expect(inside, about, "sheet", number, repr(word), "at", left, top, right, bottom, "of", width, height)
            expect(bottom - top >= LEAST, about, repr(word), "is only", bottom - top, "points high")
    return [word for _, found in sheets for *_, word in found], len(sheets)


def accessible(browser, file, axe):
    for size, scheme in ((DESK, "light"), (DESK, "dark"), (PHONE, "light")):
        page = opened(browser, file, size, scheme)
        judge(page, axe, 8, file, size, scheme)
        page.context.close()


def across(size):
    return size[1], size[0]


def shift_sheets(browser, args, work, plan):
    """Each shift of the week: on either paper, by the page's own size and by the printer's."""
    instance = INSTANCES / "harbour-week"
    file = work / "sheet.html"
    tasks = rows(plan, "tasks.csv")
    shifts = sorted({(task["from"][:10], task["operator"].rsplit("-", 1)[0]) for task in tasks})
    told = []
    for date, crew in shifts:
        mine = [t for t in tasks if t["from"][:10] == date and t["operator"].rsplit("-", 1)[0] == crew]
        runs = {task["run"] for task in mine if task["run"]}
        for paper, size in SIZES.items():
            run(args.binary, "sheets", instance, plan, "--shift", f"{date}/{crew}", "--html", file, "--paper", paper)
            said, sheets = fits(printed(browser, file), across(size), f"{date}/{crew} on {paper}")
            expect(runs <= set(said), f"{date}/{crew}", "does not say", sorted(runs - set(said)))
            told.append(sheets)
    run(args.binary, "sheets", instance, plan, "--html", file)
    for paper in ("A4", "Letter"):
        # A printer that turns nothing round: the paper's own size wins, the page lies across it.
        pdf = printed(browser, file, format=paper, landscape=True)
        said, sheets = fits(pdf, across(SIZES[paper.lower()]), f"all sheets on {paper}")
        expect({task["run"] for task in tasks if task["run"]} <= set(said), "all sheets do not say all runs")
    accessible(browser, file, Path(args.axe).read_text(encoding="utf-8"))
    print(f"{len(shifts)} shifts: {min(told)} to {max(told)} sheets of paper each, {sheets} in all")


def packing_lists(browser, args, work, plan):
    file = work / "packing.html"
    for paper, size in SIZES.items():
        run(args.binary, "packing", INSTANCES / "harbour-week", plan, "--html", file, "--paper", paper)
        said, sheets = fits(printed(browser, file), size, f"packing lists on {paper}")
    boxes = sum(task["task"] == "pack" for task in rows(plan, "tasks.csv"))
    listed = len({word.rstrip(":") for word in said if re.fullmatch(r"BOX-\d{4}:", word)})
    expect(listed == boxes, "packing lists have", listed, "boxes of", boxes)
    accessible(browser, file, Path(args.axe).read_text(encoding="utf-8"))
    print(f"packing lists: {boxes} boxes on {sheets} sheets of paper")


def one_by_one(browser, file, pdf, work):
    """A picture of each label, as a reader is held to one after the other; a page of twenty-one confuses ZBar."""
    page = opened(browser, file)
    places = page.evaluate(
        "[...document.querySelectorAll('.sheet')].map(sheet => { const at = sheet.getBoundingClientRect();"
        " return [...sheet.querySelectorAll('.label')].map(label => { const box = label.getBoundingClientRect();"
        " return [box.left - at.left, box.top - at.top, box.width, box.height] }) })"
    )
    page.context.close()
    run("pdftoppm", "-r", DOTS, "-gray", pdf, work / "sheet")
    sheets = sorted(work.glob("sheet-*.pgm"))
    expect(len(sheets) == len(places), len(sheets), "sheets of paper for", len(places))
    pictures = []
    for sheet, boxes in zip(sheets, places, strict=True):
        header = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data := sheet.read_bytes())
        width, start = int(header.group(1)), header.end()
        for box in boxes:
            left, top, wide, high = (round(side * DOTS / 96) for side in box)
            lines = (start + (top + line) * width + left for line in range(high))
            pictures.append(work / f"label-{len(pictures):04}.pgm")
            pictures[-1].write_bytes(b"P5 %d %d 255\n" % (wide, high) + b"".join(data[at : at + wide] for at in lines))
        sheet.unlink()
    return pictures


def labels(browser, args, work, plan):
    """Every code read back by ZBar, and read as the number of a lot of the ledger, each once."""
    instance = INSTANCES / "harbour-week"
    ledger = json.loads(run(args.binary, "ledger", instance, plan, "--json"))
    lots = sorted([lot["lot"] for lot in ledger["lots"]] + [b["box"] for b in ledger["boxes"] if b["number"]])
    file = work / "labels.html"
    for size, gap, paper in (("63.5x38.1", "2.5x0", "a4"), ("50x25", "0x0", "letter")):
        run(args.binary, "labels", instance, plan, "--html", file, "--size", size, "--gap", gap, "--paper", paper)
        pdf = printed(browser, file)
        said, sheets = fits(pdf, SIZES[paper], f"labels of {size} on {paper}", margin=0)
        expect(sorted(set(said) & set(lots)) == lots, "labels do not say", sorted(set(lots) - set(said)))
        pictures = one_by_one(browser, file, pdf, work)
        read = run("zbarimg", "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", *pictures).split()
        for picture in pictures:
            picture.unlink()
        expect(sorted(read) == lots, len(read), "codes read of", len(lots), sorted(set(lots) - set(read))[:5])
        print(f"labels of {size} mm: {len(read)} codes read by ZBar from {sheets} sheets of {paper}")
    accessible(browser, file, Path(args.axe).read_text(encoding="utf-8"))


def hostile(browser, args, work):
    """Names that would be markup, scripts, attributes, another direction of writing, or very long."""
    instance, plan = rooms.hostile(work / "hostile"), work / "hostile-plan"
    run(args.binary, "plan", instance, "--engine", "quick", "--out", plan, "--quiet")
    calls = [("sheets", across(SIZES["a4"])), ("packing", SIZES["a4"]), ("labels", SIZES["a4"])]
    for command, size in calls:
        file = work / f"hostile-{command}.html"
        run(args.binary, command, instance, plan, "--html", file, "--paper", "a4")
        fits(printed(browser, file), size, f"hostile {command}", margin=0 if command == "labels" else MARGIN)
        page = opened(browser, file)
        text = page.evaluate("document.body.textContent")
        for name in rooms.HOSTILE:
            expect(name in text or len(name) > 150, "not on the page of", command, name)
        page.context.close()
    print("hostile names: three pages, nothing ran, everything on its paper")


def main():
    parser = arguments(__doc__)
    parser.add_argument("--keep", help="a folder for the pages and their PDFs, to be looked at")
    args = parser.parse_args()
    for tool in ("pdftotext", "pdftoppm", "zbarimg"):
        expect(shutil.which(tool), tool, "is not installed (poppler-utils, zbar-tools)")
    with tempfile.TemporaryDirectory() as work, chromium(args.chromium) as browser:
        work = Path(work)
        plan = work / "week"
        run(args.binary, "plan", INSTANCES / "harbour-week", "--engine", "quick", "--out", plan, "--quiet")
        for check in (shift_sheets, packing_lists, labels):
            check(browser, args, work, plan)
        hostile(browser, args, work)
        if args.keep:
            shutil.copytree(work, args.keep, dirs_exist_ok=True)


if __name__ == "__main__":
    main()
