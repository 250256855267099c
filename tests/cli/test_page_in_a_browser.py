"""The page in a real browser: nothing leaves it, it prints on two sides, nothing is cut, anybody can read it."""

import html
import json
import os
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
def written(tmp_path_factory, library_store):
    """Run a command that writes an HTML file, and return the file."""
    from typer.testing import CliRunner

    from evener.cli.main import app

    def run(command, *more):
        out = tmp_path_factory.mktemp("page") / f"{command}.html"
        ran = CliRunner().invoke(
            app, [command, str(RIDGE), *more, "--out", str(out), "--format", "html", "--store", str(library_store)]
        )
        assert ran.exit_code == 0, ran.stderr
        return out

    return run


@pytest.fixture(scope="module")
def page(written):
    """The demo's page."""
    return written("page")


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


def axe():
    """Return where the accessibility checker is: AXE names its axe.min.js, else npm has it for all; None where not."""
    npm = shutil.which("npm")
    root = (
        subprocess.run([npm, "root", "-g"], capture_output=True, text=True, check=False).stdout.strip() if npm else ""
    )
    found = Path(os.environ.get("AXE") or Path(root or "/nowhere") / "axe-core" / "axe.min.js")
    return found if found.is_file() else None


CHECKED = """onload = async () => { const found = await axe.run(document); const said = document.createElement('pre');
said.id = 'said'; said.textContent = JSON.stringify(found.violations.map(one => one.id + ': ' + one.nodes[0].html));
document.body.append(said); }"""


@pytest.mark.skipif(axe() is None, reason="no axe-core here: npm install -g axe-core, or name its axe.min.js in AXE")
@pytest.mark.parametrize(
    ("command", "more"), [("page", ()), ("beside", ("utility-50-4wd", "utility-62-4wd"))], ids=["page", "beside"]
)
def test_everybody_can_read_it(chromium, written, tmp_path, command, more):
    """A checker of accessibility finds nothing to say of a page or a printed answer, but of a picture without words."""
    text = re.sub(r"<meta http-equiv=.*?>", "", written(command, *more).read_text("utf-8"))
    script = f"<script>{axe().read_text('utf-8')}</script><script>{CHECKED}</script>"
    found = {}
    for name, added in (("as it is", ""), ("spoilt", '<img src="data:,">')):
        file = tmp_path / f"{name}.html"
        file.write_text(text.replace("</main>", f"{added}</main>{script}"), encoding="utf-8")
        shown = chromium("--virtual-time-budget=20000", "--dump-dom", file.as_uri())
        found[name] = json.loads(html.unescape(re.search(r'<pre id="said">(.*?)</pre>', shown, re.DOTALL)[1]))
    assert found["as it is"] == []
    assert any("image-alt" in one for one in found["spoilt"])
