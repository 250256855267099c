"""Draw the picture that README.md opens with: the top of the demo's page, as a browser shows it.

Run: python benchmarks/pictures.py        (needs Chromium)
Beside the picture stands what it says, and a test holds that against what the page says today.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from evener.cli.page import writing
from evener.cli.page.content import Page, page
from evener.cli.page.gathered import Gathered
from evener.opening import open_store
from evener.ranking.ranking import rank

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "docs" / "pictures"
DAY, ADVISER = "3 May 2027", "nobody in particular"
TOP = 3
SIZE = "900,736"


def demo_page(store: Path) -> Page:
    """Return the page of the demo's first sheet.

    Parameters
    ----------
    store : a store with the library
    """
    held = open_store(store, build=True)
    enquiry = held.enquiry(held.read_sheet(ROOT / "demo_db" / "jobs" / "ridge.toml").sizable(), ("class",))
    gathered = Gathered(enquiry, rank(enquiry, top=TOP), enquiry.job.policy.units)
    return page(gathered, day=DAY, adviser=ADVISER, version="0")


def says(made: Page) -> str:
    """Return what the top of a page says, line by line."""
    top = [sentence for part in made.short if part.heading in {"Buy", "Why"} for sentence in part.sentences]
    return "\n".join([made.title, made.land, *top, made.chart.says if made.chart else "", ""])


def main() -> None:
    """Write the picture and its words."""
    browser = shutil.which("chromium") or shutil.which("chromium-browser")
    if browser is None:
        sys.exit("no Chromium is installed; on Debian: apt install chromium")
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        made = demo_page(Path(folder) / "store.duckdb")
        file = Path(folder) / "page.html"
        file.write_text(writing.html(made), encoding="utf-8")
        command = [browser, "--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"]
        command += [f"--window-size={SIZE}", f"--screenshot={FOLDER / 'page.png'}", file.as_uri()]
        subprocess.run(command, check=True, capture_output=True)
    (FOLDER / "page.txt").write_text(says(made), encoding="utf-8")


if __name__ == "__main__":
    main()
