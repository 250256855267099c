"""A job sheet is read as its customer meant it, or every mistake in it is reported at once with its line."""

from dataclasses import replace

import pytest

from evener.ingest.findings import CATALOGUE
from evener.ingest.jobsheet.reading import read_jobsheet, read_jobsheet_text
from evener.ingest.jobsheet.words import Vocabulary, match
from evener.schema.certainty import Certainty
from evener.schema.records import Choice, Family, Quantity

FAMILIES = {
    "rotary_cutter": ("Rotary cutter", "brush mower"),
    "round_baler": ("Round baler",),
    "small_square_baler": ("Small square baler", "square baler"),
    "bale_spear": ("Bale spear",),
    "loader_bucket": ("Loader bucket", "bucket"),
    "mounted_sprayer": ("Mounted sprayer",),
}
WORDS = Vocabulary(
    FAMILIES,
    implements={"rotary-cutter-11": "rotary_cutter", "round-baler-03": "round_baler"},
    tractors={"utility-50-4wd"},
    needs={"rotary_cutter": ("width",)},
)
PLACE = '[place]\nname = "Top Farm"\nslope = "5 %"\n[[place.land]]\nuse = "pasture"\narea = "10 ha"\n'
TASK = '[[task]]\nname = "Top"\nimplement = "rotary-cutter-11"\n'


def read(text):
    """Return the sheet of a text that has no mistake."""
    job, findings = read_jobsheet_text(text, WORDS)
    assert findings == []
    return job


def mistakes(text):
    """Return id, line and key of every finding of a text that has mistakes."""
    job, findings = read_jobsheet_text(text, WORDS)
    assert job is None
    return [(finding.id, finding.row, finding.column) for finding in findings]


def task_of(keys):
    """Return the one task of a sheet with these keys."""
    return read(f'{PLACE}[[task]]\nname = "x"\n{keys}\n').tasks[0]


def test_place():
    """The place keeps its land, slope, soil, altitude, animals and snow in SI, with the words as typed."""
    place = read(
        '[place]\nname = "Top Farm"\nslope = "8 to 12 %"\nsoil = "firm or soft"\naltitude = "1,000 ft"\n'
        'animals = { cows = 30, sheep = 12 }\nsnow_days = "20 days"\n'
        '[[place.land]]\nuse = "hay ground"\narea = "10 ac"\n' + TASK
    ).place
    assert place.slope == Quantity(0.08, 0.12, "range", "8 to 12 %")
    assert place.soil == Choice(("firm", "soft"), "firm or soft")
    assert place.altitude_m.low == pytest.approx(304.8)
    assert place.animals == {"cattle": 30, "sheep": 12}
    assert place.snow_days == Quantity(20.0, 20.0, "exact", "20 days")
    assert [(one.use, one.area_ha.low) for one in place.land] == [("hay", pytest.approx(4.0468564224))]


def test_slope_not_stated_is_not_known():
    """A place whose slope nobody stated is not taken for level."""
    assert read('[place]\nname = "Top Farm"\n' + TASK).place.slope.given == "unknown"


@pytest.mark.parametrize(
    ("words", "low", "high"),
    [("level", 0.0, 0.02), ("Rolling", 0.03, 0.07), ("steep", 0.13, 0.23), ("rolling to hilly", 0.03, 0.13)],
)
def test_words_for_the_lie_of_the_land(words, low, high):
    """Level, rolling, hilly and steep are spans of slope."""
    slope = task_of(f'implement = "rotary-cutter-11"\nslope = "{words}"').slope
    assert (slope.low, slope.high, slope.given, slope.text) == (low, high, "range", words)


def test_sizes_as_people_write_them():
    """Sizes are exact, a range, about or not known, in any unit of the trade."""
    task = task_of(
        'family = "Brush Mower"\nwidth = "8 ft"\nstems = "1 to 3 in"\nspeed = "about 4 mph"\nyield = "?"\n'
        'hours = 40\ngrowth = "normal or thick"\npace = "?"\nland = "grazing"\ntimes = 2'
    )
    assert task.family == "rotary_cutter"
    assert task.width_m == Quantity(pytest.approx(2.4384), pytest.approx(2.4384), "exact", "8 ft")
    assert task.stem_m == Quantity(pytest.approx(0.0254), pytest.approx(0.0762), "range", "1 to 3 in")
    assert (task.speed_km_h.given, task.speed_km_h.middle) == ("about", pytest.approx(6.437376))
    assert task.yield_t_ha == Quantity(None, None, "unknown", "?")
    assert task.hours_h.low == 40.0
    assert task.growth.among == ("normal", "thick")
    assert task.pace.among == ("easy", "normal", "full")
    assert (task.land, task.times_per_year, task.line) == ("pasture", 2.0, 7)


def test_us_and_si_sheets_agree():
    """The same job in US and in SI units is the same job to 1e-9."""
    us = task_of('family = "mounted sprayer"\ntank = "100 gal"\nmachine_mass = "500 lb"\ncentre_of_mass = "24 in"')
    si = task_of(
        'family = "mounted sprayer"\ntank = "378.5411784 L"\n'
        'machine_mass = "226.796185 kg"\ncentre_of_mass = "0.6096 m"'
    )
    for name in ("tank_l", "machine_mass_kg", "centre_of_mass_m"):
        assert getattr(us, name).low == pytest.approx(getattr(si, name).low, rel=1e-9)


@pytest.mark.parametrize(
    ("family", "text", "fields"),
    [
        ("round_baler", "4x5 ft", {"bale_width_m": (4, 4), "bale_diameter_m": (5, 5)}),
        ("bale_spear", "4 ft x 5 ft", {"bale_width_m": (4, 4), "bale_diameter_m": (5, 5)}),
        ("bale_spear", "4'x5'", {"bale_width_m": (4, 4), "bale_diameter_m": (5, 5)}),
        ("bale_spear", "4 by 5 ft", {"bale_width_m": (4, 4), "bale_diameter_m": (5, 5)}),
        ("small_square_baler", "14x18 in", {"bale_height_m": (14 / 12, 14 / 12), "bale_width_m": (1.5, 1.5)}),
        ("bale_spear", "3x3 ft square", {"bale_height_m": (3, 3), "bale_width_m": (3, 3)}),
        ("bale_spear", "4x4 to 4x5 ft", {"bale_width_m": (4, 4), "bale_diameter_m": (4, 5)}),
        ("bale_spear", "5x4 or 4x5 ft", {"bale_width_m": (4, 5), "bale_diameter_m": (4, 5)}),
        ("bale_spear", "about 4x5 ft", {"bale_width_m": (3.2, 4.8), "bale_diameter_m": (4, 6)}),
    ],
)
def test_bales(family, text, fields):
    """A bale's two lengths are width and diameter of a round bale, height and width of a square one."""
    task = task_of(f'family = "{family}"\nbale = "{text}"')
    read_back = {
        name: (one.low / 0.3048, one.high / 0.3048)
        for name in ("bale_width_m", "bale_diameter_m", "bale_height_m")
        if (one := getattr(task, name)) is not None
    }
    assert read_back == {name: (pytest.approx(low), pytest.approx(high)) for name, (low, high) in fields.items()}


def test_bale_nobody_knows():
    """A bale of unknown size is an open answer on both lengths."""
    task = task_of('family = "round_baler"\nbale = "?"')
    assert (task.bale_width_m.given, task.bale_diameter_m.given) == ("unknown", "unknown")


@pytest.mark.parametrize(("text", "low", "high"), [("2", 2, 2), ("2 or 3 high", 2, 3), ("3 bales high", 3, 3)])
def test_how_high_bales_are_stacked(text, low, high):
    """The number of layers is read with or without its noun."""
    stack = task_of(f'family = "bale_spear"\nstack = "{text}"').stack_high
    assert (stack.low, stack.high, stack.text) == (low, high, text)


def test_plan():
    """A plan has its chance and its year, and a chance makes a plan; a task of today has chance 1."""
    task = task_of('family = "round_baler"\nwhen = "planned"\nchance = "30 %"\nyear = 2031')
    assert (task.planned, task.chance, task.year) == (True, pytest.approx(0.3), 2031)
    assert task_of('family = "round_baler"\nchance = "30 %"\nyear = 2031') == task
    today = task_of('family = "round_baler"\nwhen = "now"')
    assert (today.planned, today.chance) == (False, 1.0)


def test_machines_named_and_described():
    """A machine is a record of the store, or described; a number given as about is kept so."""
    job = read(
        PLACE + TASK + '[[tractor]]\nlabel = "Old one"\ntractor = "u50s4"\ntakes = ["TOP"]\n'
        '[[tractor]]\nlabel = "Other"\npto_power = "about 30 hp"\nmass = "3,000 lb"\npto_speed = "540 and 1000"\n'
        'hitch_category = 1\nremotes = 2\ndrive = "two-wheel drive"\n'
    )
    named, described = job.machines
    assert (named.tractor_id, named.takes, named.tractor) == ("utility-50-4wd", ("Top",), None)
    tractor = described.tractor
    assert tractor.pto_power_kw == pytest.approx(30 * 0.74569987)
    assert tractor.estimated == {"pto_power_kw": Certainty("about", spread_pct=20.0, basis="about 30 hp")}
    assert tractor.mass_kg == pytest.approx(3000 * 0.45359237)
    assert (tractor.pto_speeds_rpm, tractor.hitch_category, tractor.rear_remotes) == ((540, 1000), "1", 2)
    assert tractor.drive == "2wd"


def test_policy():
    """The policy is read with shares in per cent or as numbers; what is left out stays as usual."""
    policy = read(PLACE + TASK + '[policy]\nrule = "sure"\nconfidence = "85 %"\nunits = "metric"\n').policy
    assert (policy.rule, policy.confidence, policy.reserve_lift, policy.units) == ("sure", 0.85, 0.1, "si")


@pytest.mark.parametrize(
    ("keys", "expected"),
    [
        ('implement = "RC-99"', ("sheet-implement", 9, "task.implement")),
        ('family = "rotary cuter"\nwidth = "8 ft"', ("sheet-family", 9, "task.family")),
        ('family = "round_baler"\nimplement = "rotary-cutter-11"', ("sheet-other-family", 10, "task.implement")),
        ('family = "rotary_cutter"', ("sheet-size", 7, "task.width")),
        ("", ("sheet-missing-key", 7, "task.family")),
        ('implement = "rotary-cutter-11"\nstems = 2', ("sheet-no-unit", 10, "task.stems")),
        ('implement = "rotary-cutter-11"\nstems = "2 kg"', ("sheet-unit", 10, "task.stems")),
        ('implement = "rotary-cutter-11"\nstems = "2 inn"', ("sheet-unit", 10, "task.stems")),
        ('implement = "rotary-cutter-11"\nstems = "-2 in"', ("sheet-negative", 10, "task.stems")),
        ('implement = "rotary-cutter-11"\nstems = "2 ft"', ("sheet-bounds", 10, "task.stems")),
        ('implement = "rotary-cutter-11"\nstems = "as thick as my arm"', ("sheet-value", 10, "task.stems")),
        ('implement = "rotary-cutter-11"\nstems = true', ("sheet-type", 10, "task.stems")),
        ('implement = "rotary-cutter-11"\nstems = 2020-01-01', ("sheet-type", 10, "task.stems")),
        ('implement = "rotary-cutter-11"\nstems = ["1 in"]', ("sheet-type", 10, "task.stems")),
        ('implement = "rotary-cutter-11"\nstems = nan', ("sheet-not-finite", 10, "task.stems")),
        ('implement = "rotary-cutter-11"\nhours = 1e999', ("sheet-not-finite", 10, "task.hours")),
        ('implement = "rotary-cutter-11"\nslope = 8', ("sheet-no-unit", 10, "task.slope")),
        ('implement = "rotary-cutter-11"\nslope = "hily"', ("sheet-word", 10, "task.slope")),
        ('implement = "rotary-cutter-11"\ngrowth = "thik"', ("sheet-word", 10, "task.growth")),
        ('implement = "rotary-cutter-11"\ngrowth = 3', ("sheet-type", 10, "task.growth")),
        ('implement = "rotary-cutter-11"\nattachment = "nailed"', ("sheet-word", 10, "task.attachment")),
        ('implement = "rotary-cutter-11"\nland = "woods"', ("sheet-land", 10, "task.land")),
        ('implement = "rotary-cutter-11"\nland = "moon"', ("sheet-word", 10, "task.land")),
        ('implement = "rotary-cutter-11"\nland = "pasture"\narea = "30 ac"', ("sheet-area", 11, "task.area")),
        ('implement = "rotary-cutter-11"\nwhen = "today"\nchance = 0.4', ("sheet-plan", 11, "task.chance")),
        ('implement = "rotary-cutter-11"\nwhen = "now"\nyear = 2030', ("sheet-plan", 11, "task.year")),
        ('implement = "rotary-cutter-11"\nwhen = "planned"\nchance = 1.5', ("sheet-bounds", 11, "task.chance")),
        ('implement = "rotary-cutter-11"\nwhen = "planned"\nchance = 0', ("sheet-bounds", 11, "task.chance")),
        (
            'implement = "rotary-cutter-11"\nwhen = "planned"\nchance = 0.5\nyear = 20',
            ("sheet-bounds", 12, "task.year"),
        ),
        ('family = "bucket"\nbucket = "1 yd3"\nvolume = "1 m3"', ("sheet-said-twice", 11, "task.volume")),
        ('family = "bale_spear"\nbale = "4x5 ft"\nbale_width = "4 ft"', ("sheet-said-twice", 11, "task.bale_width")),
        ('family = "bale_spear"\nbale = "4 ft"', ("sheet-value", 10, "task.bale")),
        ('family = "bale_spear"\nbale = "4x50 ft"', ("sheet-bounds", 10, "task.bale")),
        ('implement = "rotary-cutter-11"\nwidht = "8 ft"', ("sheet-unknown-key", 10, "task.widht")),
    ],
)
def test_each_mistake_in_a_task_is_one_finding(keys, expected):
    """One mistake in a task is one finding, with its line and key."""
    assert mistakes(f'{PLACE}[[task]]\nname = "x"\n{keys}\n') == [expected]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('plaice = "x"\n' + PLACE + TASK, ("sheet-unknown-key", 1, "plaice")),
        (TASK, ("sheet-missing-key", 1, "place.name")),
        (PLACE, ("sheet-no-task", 1, None)),
        (PLACE + "[task]\n", ("sheet-shape", 7, "task")),
        ("[[place]]\n" + TASK, ("sheet-shape", 1, "place")),
        (PLACE + TASK + TASK.replace("Top", "top"), ("sheet-duplicate", 11, "task.name")),
        (PLACE + '[[place.land]]\nuse = "grass"\narea = "1 ha"\n' + TASK, ("sheet-duplicate", 8, "place.land.use")),
        (PLACE + '[[place.land]]\nuse = "hay"\n' + TASK, ("sheet-missing-key", 7, "place.land.area")),
        (PLACE + '[[task]]\nimplement = "rotary-cutter-11"\n', ("sheet-missing-key", 7, "task.name")),
        (PLACE + '[[task]]\nname = 7\nimplement = "rotary-cutter-11"\n', ("sheet-type", 8, "task.name")),
        (PLACE + '[[task]]\nname = " "\nimplement = "rotary-cutter-11"\n', ("sheet-value", 8, "task.name")),
        (PLACE + TASK + '[[tractor]]\ntractor = "U50S5"\n', ("sheet-tractor", 11, "tractor.tractor")),
        (PLACE + TASK + '[[tractor]]\ntakes = ["Top"]\n', ("sheet-missing-key", 10, "tractor.label")),
        (PLACE + TASK + '[[tractor]]\nlabel = "x"\ntakes = [\n"Top",\n"Tip"]\n', ("sheet-task", 14, "tractor.takes")),
        (
            PLACE + TASK + '[[tractor]]\ntractor = "utility-50-4wd"\nmass = "2 t"\n',
            ("sheet-said-twice", 12, "tractor.mass"),
        ),
        (PLACE + TASK + '[[tractor]]\nlabel = "x"\npto_speed = 500\n', ("sheet-word", 12, "tractor.pto_speed")),
        (PLACE + TASK + '[[tractor]]\nlabel = "x"\nremotes = 1.5\n', ("sheet-value", 12, "tractor.remotes")),
        (PLACE + TASK + "[policy]\nconfidence = 0.01\n", ("sheet-bounds", 11, "policy.confidence")),
        (PLACE + TASK + "[policy]\nconfidence = 1\n", ("sheet-bounds", 11, "policy.confidence")),
        (PLACE + TASK + "[policy]\nconfidence = 90\n", ("sheet-bounds", 11, "policy.confidence")),
        (PLACE + TASK + '[policy]\nunits = "furlongs"\n', ("sheet-word", 11, "policy.units")),
        ("place.animals = { catle = 3 }\nplace.name = 'x'\n" + TASK, ("sheet-word", 1, "place.animals.catle")),
        ("place.animals = { sheep = -3 }\nplace.name = 'x'\n" + TASK, ("sheet-bounds", 1, "place.animals.sheep")),
    ],
)
def test_each_mistake_in_a_sheet_is_one_finding(text, expected):
    """One mistake anywhere in a sheet is one finding, with its line and key."""
    assert mistakes(text) == [expected]


def test_a_misspelt_place_brings_no_other_findings():
    """What would follow from a misspelt section is not reported on top of it."""
    assert mistakes('[plase]\nname = "x"\n' + TASK + 'land = "pasture"\n') == [("sheet-unknown-key", 1, "plase")]


def test_a_key_as_people_call_it_or_in_another_section_is_told_by_its_name():
    """What is meant is named by the trade's word for it, not by likeness of letters, and so is the right section."""
    _, findings = read_jobsheet_text('units = "us"\n' + PLACE + TASK + "acres = 4\nhp = 30\n", WORDS)
    assert [finding.values["hint"].partition("?")[0] for finding in findings] == [
        "it belongs under [policy]",
        "did you mean area",
        "did you mean rating",
    ]


def test_finding_says_line_key_value_and_what_is_allowed():
    """A finding can be acted on without the manual: key, value as written, near miss and what is allowed."""
    _, (finding,) = read_jobsheet_text(PLACE + TASK + 'growth = "thik"\n', WORDS)
    assert finding.as_dict() == {
        "id": "sheet-word",
        "row": 10,
        "column": "task.growth",
        "raw": '"thik"',
        "message": 'task.growth = "thik" is not known',
        "remedy": "did you mean thick or light? allowed: light, normal, thick",
    }
    _, (finding,) = read_jobsheet_text(PLACE + TASK + 'stems = "3 ft"\n', WORDS)
    assert finding.message == 'task.stems = "3 ft" is out of bounds'
    assert finding.what_to_do == "write 0.001 to 0.6 m (0.0394 to 23.6 in)"


def test_every_mistake_is_reported_in_one_run_in_the_order_of_lines():
    """Mistakes do not hide each other."""
    text = (
        '[place]\nname = true\nslope = 8\nsoil = "frim"\n'
        + TASK
        + 'growth = "thik"\nspeed = "2 kg"\n[policy]\nunits = 3\n'
    )
    assert mistakes(text) == [
        ("sheet-type", 2, "place.name"),
        ("sheet-no-unit", 3, "place.slope"),
        ("sheet-word", 4, "place.soil"),
        ("sheet-word", 8, "task.growth"),
        ("sheet-unit", 9, "task.speed"),
        ("sheet-word", 11, "policy.units"),
    ]


def test_findings_are_in_the_catalogue_with_reason_and_remedy():
    """Each finding of a job sheet has a title, a reason and a remedy to print in the docs."""
    sheets = [finding for name, finding in CATALOGUE.items() if name.startswith("sheet-")]
    assert len(sheets) >= 25
    assert all(finding.title and finding.why and finding.template and finding.remedy for finding in sheets)


def test_a_volume_where_a_load_belongs_is_told_the_key_for_it():
    """Bushels of manure are a volume, and cubic feet are no feet and inches."""
    _, findings = read_jobsheet_text(PLACE + TASK + 'load = "50 bu"\nvolume = "350 ft3"\n', WORDS)
    assert [finding.values["hint"].rpartition("; ")[2] for finding in findings] == [
        'or say how much room it takes: volume = "50 bu"'
    ]


def test_vocabulary_of_family_records():
    """A family gives its names, words of other languages and old ones, and what one rated by width must have."""
    one = Family(
        "rotary_cutter", "Rotary cutter", ("slasher",), "cutting", "pto", None, "working_width_m", None, "mounted",
        *(None,) * 7, "PRACTICE", "practice",
    )  # fmt: skip
    words = Vocabulary.of([one], implements={"A": "rotary_cutter"}, tractors={"B"})
    assert words.families["rotary_cutter"][:2] == ("Rotary cutter", "slasher")
    assert match("Gyro rake", Vocabulary.of([replace(one, family="rotary_rake")], implements={}).families)
    assert words.needs == {"rotary_cutter": ("width",)}


def test_sheet_from_a_file_keeps_its_path(tmp_path):
    """A sheet read from a file, byte-order mark or not, is the sheet of its text and names the file."""
    file = tmp_path / "job.toml"
    file.write_bytes(b"\xef\xbb\xbf" + (PLACE + TASK).encode())
    job, findings = read_jobsheet(file, WORDS)
    assert findings == []
    assert job.path == str(file)
