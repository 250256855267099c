"""An analyst's calls on data frames, and the notebook that shows them."""

import importlib.util
import json
import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import evener

pytestmark = pytest.mark.ci

DOCS = Path(__file__).parents[2] / "docs"


@pytest.fixture
def records():
    """A hundred invented tedders of 5 kW a metre, two of them of another family."""
    width = np.linspace(2.5, 8.5, 100)
    spread = np.exp(np.random.default_rng(2).normal(0, 0.05, 100))
    return pd.DataFrame(
        {"family": "tedder", "working_width_m": width, "rated_pto_power_kw": 5 * width * spread},
        index=[f"T{k}" for k in range(100)],
    )


def test_a_frame_gives_a_card(records, library_store):
    """The card of a frame's records has their line and not the store's, as a table and as a picture."""
    card = evener.ratings("tedder", records, store=library_store)
    bands = card.bands()
    assert (bands.middle / bands["size"]).to_numpy() == pytest.approx(5, rel=0.03)
    assert list(card.to_frame().n) == [100]
    assert "<svg" in card._repr_html_()
    assert card.to_dict()["family"] == "tedder"


def test_an_audit_of_a_frame_takes_any_column_as_a_group(records, library_store):
    """One record ten times too high is flagged, and a column that is no field can be a group."""
    records.loc["T7", "rated_pto_power_kw"] *= 10
    records["shed"] = "north"
    found = evener.audit(records, by=["shed"], store=library_store)
    assert set(found.flags.implement_id) == {"T7"}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda frame: frame.drop(columns="family"), "no column family"),
        (lambda frame: frame.assign(family="teder"), "no such family: teder"),
        (lambda frame: frame.assign(implement_id="A"), "two rows have one name"),
    ],
)
def test_a_frame_that_is_none_of_records_is_refused(records, library_store, change, says):
    """What is wrong with a frame is said in one sentence."""
    for call in (
        lambda frame: evener.audit(frame, store=library_store),
        lambda frame: evener.ratings("tedder", frame, store=library_store),
    ):
        with pytest.raises(evener.WrongUse, match=says):
            call(change(records))


def test_a_quantity_that_is_none_is_refused(library_store):
    """A quantity that cannot be fitted, or has too few records, is named."""
    with pytest.raises(evener.WrongUse, match="no quantity 'colour'"):
        evener.ratings("tedder", quantity="colour", store=library_store)


@pytest.mark.skipif(importlib.util.find_spec("nbclient") is None, reason="the extra docs is not installed")
@pytest.mark.filterwarnings("ignore")
def test_the_notebook_shows_what_it_gives_today():
    """Run anew, every cell of docs/ratings.ipynb shows the text it holds (python docs/notebook.py writes it)."""
    place = importlib.util.spec_from_file_location("notebook", DOCS / "notebook.py")
    notebook = importlib.util.module_from_spec(place)
    place.loader.exec_module(notebook)
    assert shown(notebook.executed()) == shown((DOCS / "ratings.ipynb").read_text(encoding="utf-8"))


def shown(text):
    """What each cell shows as text; the last digit of a number may differ from machine to machine."""
    outputs = [one for cell in json.loads(text)["cells"] for one in cell.get("outputs", [])]
    texts = ["".join(one.get("data", {}).get("text/plain", one.get("text", ""))) for one in outputs]
    return [re.sub(r"(\d+\.\d)\d*", r"\1", one) for one in texts]
