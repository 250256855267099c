"""The page the customer takes home: what stands on it, that it needs nothing, that text stays text."""

import re
from html.parser import HTMLParser
from importlib import resources

import pytest

HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)> {{ 7 * 7 }} & $x$ ]]>"
HEADINGS = ["Buy", "Why", "With", "It hangs on", "Before you sign", "The wrong size", "Money", "Not safe"]
ONLY_WHERE_IT_MATTERS = {"It hangs on", "Before you sign"}


class Structure(HTMLParser):
    """Tags with their attributes, and the text of headings."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.headings, self._in = [], [], None
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        """Keep a tag."""
        self.tags.append((tag, dict(attrs)))
        if tag in {"h1", "h2"}:
            self._in = tag
            self.headings.append((tag, ""))

    def handle_endtag(self, tag):
        """Close a heading."""
        if tag == self._in:
            self._in = None

    def handle_data(self, data):
        """Keep the text of a heading."""
        if self._in:
            self.headings[-1] = (self._in, self.headings[-1][1] + data)


@pytest.fixture
def sheet(sheet):
    """The sheet of a place where something that can be measured decides."""
    sheet.write_text(sheet.read_text("utf-8").replace('width = "6 ft"', 'width = "7 ft"'), encoding="utf-8")
    return sheet


@pytest.fixture
def made(evener, sheet, tmp_path):
    """Make a page of the sheet and return its text."""

    def make(*options, path=sheet, status=0):
        out = tmp_path / "page.html"
        ran = evener("page", path, "--out", out, "--replace", "--day", "3 May 2027", *options)
        assert ran.returncode == status, ran.stderr
        return out.read_text("utf-8")

    return make


def test_a_page_says_first_what_to_buy_and_then_the_rest(made):
    """One title, the headings of the first side in their order, the second side after them, none skipped a level."""
    page = Structure(made())
    assert [text for tag, text in page.headings if tag == "h1"] == ["Quince Hollow"]
    found = [text for tag, text in page.headings if tag == "h2"]
    assert [one for one in found if one in HEADINGS] == [one for one in HEADINGS if one in found]
    assert set(HEADINGS) - set(found) <= ONLY_WHERE_IT_MATTERS
    assert found.index("Not safe") < found.index("Task by task") < found.index("Where the numbers come from")


@pytest.mark.ci
def test_a_page_needs_nothing_else(made):
    """No script, no frame, no form, no address; a policy forbids whatever might ask for something."""
    text = made()
    page = Structure(text)
    tags = {tag for tag, _ in page.tags}
    assert not tags & {"script", "iframe", "form", "link", "object", "embed", "img", "base", "audio", "video"}
    addresses = ("src", "href", "xlink:href", "action", "srcset", "data", "poster")
    assert all(attrs[name].startswith("#") for _, attrs in page.tags for name in addresses if name in attrs)
    assert not re.search(r"@import|url\((?!#)", text)
    policy = next(attrs for tag, attrs in page.tags if attrs.get("http-equiv") == "Content-Security-Policy")["content"]
    assert policy.startswith("default-src 'none';")


@pytest.mark.ci
def test_hostile_text_stays_text(made, sheet):
    """Whatever stands in names, labels and options is shown as it was typed, on the page and in its charts."""
    quoted = HOSTILE.replace("\\", "\\\\").replace('"', '\\"')
    text = sheet.read_text("utf-8").replace("Quince Hollow", quoted).replace("top the pasture", quoted)
    sheet.write_text(text, encoding="utf-8")
    page = Structure(written := made("--adviser", HOSTILE))
    assert not [tag for tag, _ in page.tags if tag in {"script", "img"}]
    assert not [name for _, attrs in page.tags for name in attrs if name.startswith("on")]
    assert "alert(1)" in written
    assert "{{ 7 * 7 }}" in written
    assert HOSTILE in [said for tag, said in page.headings if tag == "h1"]


@pytest.mark.ci
def test_a_chart_says_in_words_what_it_shows(made):
    """Either width of the chart is a picture with the same alternative, and ids of a page are said once."""
    page = Structure(made())
    charts = [attrs for tag, attrs in page.tags if tag == "svg"]
    assert charts
    assert {one["role"] for one in charts} == {"img"}
    assert [one["aria-label"] for one in charts[::2]] == [one["aria-label"] for one in charts[1::2]]
    assert re.search(r"is the tall one: it takes \d+ to \d+ % of the (power|lift)", charts[0]["aria-label"])
    ids = [attrs["id"] for _, attrs in page.tags if "id" in attrs]
    assert len(ids) == len(set(ids))


@pytest.mark.ci
def test_tables_have_headers(made):
    """Every cell of a table's first row and first column says what it heads."""
    scopes = [attrs.get("scope") for tag, attrs in Structure(made()).tags if tag == "th"]
    assert scopes.count("col") == 6
    assert scopes.count("row") == 3
    assert None not in scopes


@pytest.mark.ci
def test_a_page_speaks_the_units_and_names_the_adviser(made):
    """--units and --adviser are on the page; the same page comes out again, letter for letter."""
    us, si = made("--units", "us"), made("--units", "si", "--adviser", "Nobody in particular")
    assert " hp at the PTO" in us
    assert " kW at the PTO" in si
    assert "advice of Nobody in particular" in si
    assert made("--units", "us") == us


@pytest.mark.ci
def test_no_code_of_a_record_is_on_the_page(made, library_store):
    """A customer reads no id of a tractor, no name of a column and no source by its code."""
    from evener.schema.store import connection as store

    text = re.sub(r"<style>.*?</style>|<svg.*?</svg>|<[^>]+>", " ", made(), flags=re.DOTALL)
    with store.open_read(library_store) as con:
        ids = {one.tractor_id for one in store.read_tractors(con)}
        sources = {row["source_id"] for row in store.read_rows(con, "source")} - {"SI", "AMS", "RSA"}
    words = set(re.findall(r"[\w.-]+", text))
    assert not words & (ids | sources)
    assert not [word for word in words if "_" in word]


@pytest.mark.ci
def test_markdown_says_the_same_without_the_charts(evener, sheet):
    """--format markdown goes to the screen, with the same headings and what the chart says in words."""
    ran = evener("page", sheet, "--format", "markdown", "--day", "3 May 2027")
    found = re.findall(r"^## (.+)$", ran.stdout, re.MULTILINE)
    assert [one for one in found if one in HEADINGS] == [one for one in HEADINGS if one in found]
    assert set(HEADINGS) - set(found) <= ONLY_WHERE_IT_MATTERS
    assert "is the tall one" in ran.stdout
    assert "<svg" not in ran.stdout


@pytest.mark.ci
def test_more_than_eight_tasks_stand_in_an_appendix(made, sheet):
    """With nine tasks the table comes after both sides, whole."""
    more = "".join(f'\n[[task]]\nname = "work {k}"\nfamily = "rear_blade"\nwidth = "{k + 4} ft"\n' for k in range(6))
    sheet.write_text(sheet.read_text("utf-8") + more, encoding="utf-8")
    page = Structure(text := made())
    assert [attrs.get("aria-label") for tag, attrs in page.tags if tag == "section"][-1] == "Appendix"
    assert text.index("Where the numbers come from") < text.index("Task by task")
    assert [attrs.get("scope") for tag, attrs in page.tags if tag == "th"].count("row") == 9


def test_without_a_file_nothing_is_made(evener, sheet):
    """A page that is not told where to go says what to type."""
    ran = evener("page", sheet)
    assert ran.returncode == 2
    assert "--out: a page is written to a file, and none is named; type --out FILE.html" in ran.stderr


def luminance(colour):
    """Return the relative luminance of a colour such as #1d1f1c."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [one / 12.92 if one <= 0.03928 else ((one + 0.055) / 1.055) ** 2.4 for one in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("place", [0, 1, 2], ids=["light", "dark", "print"])
def test_every_colour_of_letters_stands_out(place):
    """Letters have a contrast of at least 4.5 to the paper, in light, in dark and in print (WCAG 2.2, 1.4.3)."""
    css = resources.files("evener.cli").joinpath("page", "templates", "page.css").read_text("utf-8")
    block = re.findall(r":root \{([^}]*)\}", css)[place]
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{3,6})", block))
    colours = {name: one if len(one) == 7 else "#" + "".join(2 * c for c in one[1:]) for name, one in colours.items()}
    paper = luminance(colours["paper"])
    for name in ("ink", "soft", "warn"):
        light, dark = sorted((luminance(colours[name]), paper), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 4.5, name
    mark, band = luminance(colours["mark"]), luminance(colours["band"])
    assert (max(mark, band) + 0.05) / (min(mark, band) + 0.05) >= 3
