"""One door for every kind of results file."""

from __future__ import annotations

import hashlib
from pathlib import PurePath

from traveler.finding import Finding, Place
from traveler.record.readers.filled_pdf import read_pdf
from traveler.record.readers.results_csv import read_csv
from traveler.record.readers.results_yaml import read_yaml
from traveler.record.readers.written import Results

_READERS = {".csv": read_csv, ".tsv": read_csv, ".txt": read_csv, ".yaml": read_yaml, ".yml": read_yaml}


def read_results(content: bytes, file: str) -> Results:
    """What a results file says: a PDF by its first bytes (ISO 32000-1, 7.5.2), the others by their name.

    Findings: those of the readers, and RES016 not a kind of file that is read.
    """
    if b"%PDF-" in content[:1024]:
        return read_pdf(content, file)
    reader = _READERS.get(PurePath(file).suffix.lower())
    if reader is None:
        what = "this is neither a filled traveler (PDF) nor results as .csv or .yaml"
        place = Place(file) if PurePath(file).suffix.lower() == ".pdf" else Place(file, 1, 1)
        finding = Finding(
            "RES016", what, place, hint="'traveler blank SERIAL --as csv' writes a file to fill in"
        )
        return Results(file, "file", hashlib.sha256(content).hexdigest(), findings=(finding,))
    return reader(content, file)
