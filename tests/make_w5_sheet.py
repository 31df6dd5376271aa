"""Make the shipped example: a measuring session, a bulletin and two reports that add the Wether W5.

Run it from the checkout after a change of the vocabulary or of the demo catalogue:

    python -m tests.make_w5_sheet

It writes data/sheets/w5-measuring-session.xlsx and the same sheets as data/sheets/*.csv. A test
holds the shipped files against what this makes, so they cannot fall behind.
Everything in it is invented: no such maker, car, part, workshop or person exists.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from knockon.reasoner.files import catalogue_files
from knockon.reasoner.load import demo_folder, ontology_folder
from knockon.reasoner.reading import read_facts
from knockon.reasoner.upkeep.sheets.names import names_of
from knockon.reasoner.upkeep.sheets.plans import all_plans
from knockon.reasoner.upkeep.sheets.template import csv_name, csv_text, workbook_bytes
from knockon.reasoner.upkeep.sheets.vocabulary import vocabulary_of

BULLETIN = "Ostrel bulletin 25-04"
SESSION = "W5 measuring session"
OWNER = "report by a W5 owner"
BUILDER = "report by a shaft builder"

Rows = Sequence[Mapping[str, object]]


def _rows(keys: str, *rows: tuple[object, ...]) -> Rows:
    return [dict(zip(keys.split(), row, strict=True)) for row in rows]


FILLED: Mapping[str, Rows] = {
    "sources": _rows(
        "source short standing by date about",
        (BULLETIN, "bulletin-25-04", "documented", "Ostrel", "2025-01-20",
         "What the maker's bulletin says of the new generation."),
        (SESSION, "w5-session", "measured", "measuring bench of the Tarnside workshop",
         "2025-02-18", "One W5 on the lift for a day, with the propshaft on the bench."),
        (OWNER, "report-w5-owner", "reported", "a W5 owner, on a forum", "2025-03-02",
         "Says how far the half-shaft pulls out."),
        (BUILDER, "report-shaft-builder", "reported", "a shaft builder, on a forum", "2025-03-05",
         "Says otherwise of the same half-shaft."),
    ),
    "families": _rows(
        "family short sitsAt kindOf requires source",
        ("W5 bodies", "w5-body", None, "W4 bodies", None, BULLETIN),
        ("W5 rear final drives, 3.545", "w5-rear-drive", None,
         "open rear final drives; all rear final drives", None, BULLETIN),
        ("W5 rear propshafts", "w5-rear-prop", None, "all rear propshafts", None, BULLETIN),
        ("W5 rear half-shafts", "w5-rear-shaft", None, "all rear half-shafts", None, BULLETIN),
        ("19-inch wheels 5 × 114.3, 235/55 R19", "wheel-19-114-235-55", None,
         "all wheels with tyres", None, BULLETIN),
    ),
    "parts": _rows(
        "number label ofFamily maker price weight source",
        ("OW-01550", "W5 body", "W5 bodies", "Ostrel", "9950", "368", BULLETIN),
        ("OW-43220", "W5 rear final drive 3.545", "W5 rear final drives, 3.545", "Ostrel", "512",
         "27.4", BULLETIN),
        ("OW-43855", "W5 rear propshaft", "W5 rear propshafts", "Ostrel", "349", "10.1", BULLETIN),
        ("OW-43742", "W5 rear half-shaft", "W5 rear half-shafts", "Ostrel", "274", "7.6",
         BULLETIN),
        ("OW-46410", "W5 19-inch wheel 235/55R19", "19-inch wheels 5 × 114.3, 235/55 R19",
         "Ostrel", "318", "23.5", BULLETIN),
    ),
    "bolt circle": _rows(
        "owner end role source",
        ("wheel-19-114-235-55", "wheel-face-5x114.3", "wheel-face", BULLETIN),
    ),
    "bore and seat": _rows(
        "owner end role source",
        ("w5-rear-drive", "seal-bore-58", "seal-bore", BULLETIN),
        ("w5-rear-shaft", "seal-land-40", "seal-land", BULLETIN),
    ),
    "envelope": _rows(
        "owner role side from to radius source",
        ("wheel-19-114-235-55", "wheel-barrel", "outer", "-62", "92", "226.5", SESSION),
    ),
    "flange spacing": _rows(
        "owner end role source",
        ("w5-rear-prop", "prop-front-76", "prop-front-flange", BULLETIN),
        ("w5-rear-prop", "prop-rear-76", "prop-rear-flange", BULLETIN),
    ),
    "length": _rows(
        "owner end role length plungeIn plungeOut source",
        ("w5-rear-drive", "drive-width-125", "drive-width", None, None, None, BULLETIN),
        ("w5-rear-drive", None, "nose-length", "178", None, None, SESSION),
        ("w5-rear-prop", None, "prop-length", "42 3/8 in", "20", "20", SESSION),
        ("w5-rear-shaft", None, "shaft-length", "610", "15", None, SESSION),
    ),
    "mount spacing": _rows(
        "owner end role source",
        ("w5-rear-drive", "drive-mount-310", "drive-mount", BULLETIN),
    ),
    "ratio": _rows(
        "owner end role ratio source",
        ("w5-rear-drive", "final-ratio-39-11", "final-ratio", None, BULLETIN),
        ("wheel-19-114-235-55", None, "rolling", "2.259", BULLETIN),
    ),
    "spline": _rows(
        "owner end role source",
        ("w5-rear-drive", "pinion-spline-26", "pinion-spline", BULLETIN),
        ("w5-rear-drive", "drive-spline-30", "drive-spline", BULLETIN),
        ("w5-rear-shaft", "outer-spline-30", "outer-spline", BULLETIN),
        ("w5-rear-shaft", "inner-spline-30", "inner-spline", BULLETIN),
    ),
    "generations": _rows(
        "generation short ofLine fromYear source",
        ("Wether W5", "w5", "Wether", 2025, BULLETIN),
    ),
    "cars": _rows(
        "car short ofGeneration basedOn fromYear fromSerial toSerial source",
        ("Wether W5", "w5", "Wether W5", "Wether W4", 2025, 740000, 799999, BULLETIN),
    ),
    "stations": _rows(
        "car atStation part source",
        ("Wether W5", "body", "OW-01550", BULLETIN),
        ("Wether W5", "rear final drive", "OW-43220", BULLETIN),
        ("Wether W5", "rear propshaft", "OW-43855", BULLETIN),
        ("Wether W5", "rear half-shaft", "OW-43742", BULLETIN),
        ("Wether W5", "front wheel", "OW-46410", BULLETIN),
        ("Wether W5", "rear wheel", "OW-46410", BULLETIN),
    ),
    "values": _rows(
        "end owner role quantity value unit source",
        (None, "w5-rear-shaft", "half-shaft length", "plunge outwards", "15", "mm", OWNER),
        (None, "w5-rear-shaft", "half-shaft length", "plunge outwards", "12", "mm", BUILDER),
        (None, "w5-rear-prop", None, "tube outer diameter", "3", "in", SESSION),
        (None, "w5-rear-prop", None, "tube wall", "2.1", "mm", SESSION),
        (None, "w5-rear-prop", None, "length between joint centres", "980", "mm", SESSION),
        (None, "w5-rear-drive", None, "height of the pinion", "395", "mm", SESSION),
        (None, "w5-rear-drive", None, "slope of the pinion", "1.0", "deg", SESSION),
        (None, "wheel-19-114-235-55", None, "rim diameter", "19", "in", BULLETIN),
        (None, "wheel-19-114-235-55", None, "rim width", "7.5", "in", BULLETIN),
        (None, "wheel-19-114-235-55", None, "tyre size", "235/55R19", None, BULLETIN),
        (None, "wheel-19-114-235-55", None, "wheel offset", "45", "mm", BULLETIN),
    ),
    "rules": _rows(
        "tells byObservation fromNumber source",
        ("w5-rear-drive", "axle serial", 650000, BULLETIN),
    ),
    "prices": _rows("part price source", ("OW-43741", "279.00", BULLETIN)),
}  # fmt: skip
"""By sheet and column key: the W5 from the W4, with the differences only."""


def made() -> dict[str, bytes]:
    """Every shipped file by its name."""
    facts = read_facts(catalogue_files(ontology_folder(), demo_folder()))
    vocabulary = vocabulary_of(facts)
    plans = [p for p in all_plans(vocabulary).values() if p.name in FILLED]
    files = {csv_name(p): csv_text(p, FILLED[p.name]).encode() for p in plans}
    files["w5-measuring-session.xlsx"] = workbook_bytes(plans, names_of(facts, vocabulary), FILLED)
    return files


def main() -> None:
    """Write them where they are shipped."""
    folder = Path(__file__).parent.parent / "data" / "sheets"
    for name, content in made().items():
        (folder / name).write_bytes(content)


if __name__ == "__main__":
    main()
