"""Run the notebook of the analyst and keep what it shows: `python docs/notebook.py` (needs the extra `docs`)."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

NOTEBOOK = Path(__file__).with_name("ratings.ipynb")


def executed(path: Path = NOTEBOOK) -> str:
    """Return the notebook as it is after every cell was run.

    Parameters
    ----------
    path : the notebook
    """
    import nbformat
    from nbclient import NotebookClient

    notebook = nbformat.read(path, as_version=4)
    client = NotebookClient(notebook, timeout=120, kernel_name="python3", record_timing=False)
    with tempfile.TemporaryDirectory() as folder:  # a store of the library alone, whoever runs this
        client.execute(env={**os.environ, "EVENER_STORE": "", "XDG_DATA_HOME": folder})
    notebook.metadata = {"language_info": {"name": "python"}}
    for number, cell in enumerate(notebook.cells):
        cell["id"] = f"cell-{number}"
    return str(nbformat.writes(notebook)) + "\n"


if __name__ == "__main__":
    NOTEBOOK.write_text(executed(), encoding="utf-8", newline="\n")
