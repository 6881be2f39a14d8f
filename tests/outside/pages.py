"""Pages in Chromium, driven by Playwright over the DevTools protocol, and what every one of them is asked."""

import argparse
import csv
import shutil
import sys
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import sync_playwright

INSTANCES = Path(__file__).parents[2] / "instances"
CHROMIUMS = ("chromium", "chromium-browser", "google-chrome", "chrome")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]
# Milliseconds that a page may take on a machine that has other things to do.
PATIENCE = 300_000
DESK = {"width": 1280, "height": 900}
PHONE = {"width": 390, "height": 844}


def expect(holds, *told):
    """Ends the tool with what was found where something does not hold."""
    if not holds:
        raise SystemExit(f"{Path(sys.argv[0]).name}: " + " ".join(str(t) for t in told))


def rows(folder, table):
    with (folder / table).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def judge(page, axe, passes, *about):
    """Nothing that axe-core finds where it found more than so many things in order, and nothing wider than the window."""
    page.evaluate(axe)
    found = page.evaluate("tags => axe.run(document, { runOnly: tags, resultTypes: ['violations'] })", TAGS)
    expect(len(found["passes"]) > passes, *about, "axe looked at nothing:", len(found["passes"]))
    told = [f"{v['id']}: {v['help']}: {[n['target'] for n in v['nodes'][:3]]}" for v in found["violations"]]
    expect(told == [], *about, *told)
    wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    expect(wide <= 0, *about, "is wider than the window by", wide)


def arguments(story):
    """The parser of a tool that looks at pages, to which it adds what is its own."""
    parser = argparse.ArgumentParser(description=story.splitlines()[0])
    parser.add_argument("--binary", required=True)
    parser.add_argument("--axe", required=True, help="axe.min.js of axe-core")
    parser.add_argument("--chromium", default=next(filter(None, map(shutil.which, CHROMIUMS)), None))
    return parser


@contextmanager
def chromium(program):
    """The browser, for as long as it is needed."""
    expect(program, "Chromium is not installed")
    with sync_playwright() as playwright:
        # Without a sandbox of its own, which the superuser cannot have; it opens nothing but our pages.
        browser = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
        yield browser
        browser.close()
