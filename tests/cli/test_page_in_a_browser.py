"""The page in a real browser: nothing leaves it, it prints on two sides, nothing is cut on a telephone."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = [
    pytest.mark.ci,
    pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here: apt install chromium"),
]
RIDGE = Path(__file__).resolve().parents[2] / "demo_db" / "jobs" / "ridge.toml"
QUIET = ["--headless=new", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]


@pytest.fixture(scope="module")
def page(tmp_path_factory, library_store):
    """The demo's page."""
    from typer.testing import CliRunner

    from evener.cli.main import app

    out = tmp_path_factory.mktemp("page") / "ridge.html"
    ran = CliRunner().invoke(app, ["page", str(RIDGE), "--out", str(out), "--store", str(library_store)])
    assert ran.exit_code == 0, ran.stderr
    return out


@pytest.fixture
def chromium(tmp_path):
    """Run the browser and return what it writes to stdout."""

    def run(*arguments):
        command = [CHROMIUM, *QUIET, f"--user-data-dir={tmp_path / 'user'}", *map(str, arguments)]
        return subprocess.run(command, capture_output=True, text=True, timeout=120, check=False).stdout

    return run


def printed(chromium, file, folder):
    """Return how many pages a file prints on."""
    pdf = folder / f"{file.stem}.pdf"
    chromium("--no-pdf-header-footer", f"--print-to-pdf={pdf}", file.as_uri())
    return len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes()))


@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_it_prints_on_two_sides(chromium, page, tmp_path, paper):
    """The demo's eight tasks take two sheets' sides of A4 and of Letter."""
    file = tmp_path / f"{paper}.html"
    text = page.read_text("utf-8").replace("@page {", f"@page {{ size: {paper};")
    file.write_text(text, encoding="utf-8")
    assert printed(chromium, file, tmp_path) == 2


@pytest.mark.parametrize("width", [360, 720, 1100])
def test_nothing_is_cut(chromium, page, tmp_path, width):
    """On a telephone, a tablet and a desk nothing is wider than the window."""
    frame = tmp_path / "frame.html"
    frame.write_text(
        f'<iframe src="{page.as_uri()}" style="width:{width}px;height:600px;border:0"></iframe><p id="said"></p>'
        "<script>"
        "onload = () => { const one = document.querySelector('iframe').contentDocument.documentElement;"
        "document.getElementById('said').textContent = `wide ${one.scrollWidth} of ${one.clientWidth}`; }</script>",
        encoding="utf-8",
    )
    said = chromium("--allow-file-access-from-files", "--virtual-time-budget=5000", "--dump-dom", frame.as_uri())
    wide, room = re.search(r"wide (\d+) of (\d+)", said).groups()
    assert int(room) > width - 30
    assert int(wide) <= int(room)


def asked_for(chromium, file, folder):
    """Return the addresses a page asks for, other than its own file."""
    log = folder / f"{file.stem}.json"
    chromium(f"--log-net-log={log}", "--dump-dom", file.as_uri())
    text = log.read_text("utf-8", errors="replace")
    return {one for one in re.findall(r'"url":"(https?://[^"]+)"', text) if "invalid" in one}


def test_no_request_leaves_the_page(chromium, page, tmp_path):
    """A page with an address in every name asks for none of them; a page that does is noticed."""
    hostile = tmp_path / "hostile.html"
    elsewhere = "http:/" + "/nowhere.invalid"
    there = f'<img src="{elsewhere}/a.png"><style>p {{ background: url({elsewhere}/b.png) }}</style>'
    hostile.write_text(page.read_text("utf-8").replace("</main>", there + "</main>"), encoding="utf-8")
    open_page = tmp_path / "open.html"
    open_page.write_text(there, encoding="utf-8")
    assert asked_for(chromium, page, tmp_path) == set()
    assert asked_for(chromium, hostile, tmp_path) == set()
    assert asked_for(chromium, open_page, tmp_path)
