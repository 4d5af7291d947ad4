"""Published rivers that are used in place and not kept here: a folder named in SPATEBOOK_RIVERS."""

import csv
import gzip
import os
from pathlib import Path

import numpy as np
import pytest


def river_file(name):
    """Return where NAME.csv.gz lies; skip the test where it is not there."""
    folder = os.environ.get("SPATEBOOK_RIVERS")
    path = Path(folder or "", f"{name}.csv.gz")
    if not folder or not path.exists():
        pytest.skip(f"SPATEBOOK_RIVERS is {folder!r}; this test reads {name}.csv.gz from it")
    return path


def river_columns(name):
    """Return the columns of NAME.csv.gz by name, numbers as arrays, gaps NaN; `t` as text."""
    path = river_file(name)
    with gzip.open(path, "rt") as lines:
        rows = list(csv.DictReader(lines))
    columns = {
        key: np.array([float(row[key]) if row[key] else np.nan for row in rows])
        for key in rows[0]
        if key != "t"
    }
    return columns | {"t": [row["t"] for row in rows]}
