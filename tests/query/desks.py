"""Desks to ask: the tiny one, one on which things are unproven, and one for sums."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from knockon.query.desk import Desk
from knockon.query.report import Report
from knockon.reasoner.catalogue import Catalogue

from ..conftest import TINY_DATA, family, part
from . import driveline

Ask = Callable[[str], Report]

DOUBTS = (
    """
src:hearsay { src:hearsay a ko:Source ; skos:prefLabel "hearsay" ;
    prov:wasAttributedTo maker:nobody ; ko:standing ko:Presumed . }
src:club { src:club a ko:Source ; skos:prefLabel "club notes" ;
    prov:wasAttributedTo maker:nobody ; ko:standing ko:Reported . }
src:drawings {
"""
    + family("wheel-121", "wheel", "wheel-5x120-bare")
    + family("wheel-122", "wheel", "wheel-disputed")
    + part("TW-121", "wheel-121", "unmeasured wheel")
    + part("TW-122", "wheel-122", "disputed wheel")
    + part("TW-90", "wheel-100", "old small wheel", " ; ko:supersededBy part:TW-100")
    + """
end:wheel-5x120-bare a ko:BoltCircle ; ko:role role:wheel-face ; ko:side ko:Internal ;
    ko:bolts 5 ; ko:circleDiameter 120.0 .
end:wheel-disputed a ko:BoltCircle ; ko:role role:wheel-face ; ko:side ko:Internal ;
    ko:bolts 5 ; ko:circleDiameter 120.0 ; ko:pilot 72.6 .
}
src:club { end:wheel-disputed ko:pilot 70.0 . }
"""
)


def asking(desk: Desk) -> Ask:
    """Ask a question that is answered by a report."""

    def ask(question: str) -> Report:
        reply = desk.ask(question)
        assert isinstance(reply, Report)
        return reply

    return ask


def told(report: Report) -> str:
    """Everything a report says, as one text to look for words in."""
    return report.model_dump_json()


@pytest.fixture(scope="session")
def tiny_desk(tiny: Catalogue) -> Desk:
    """The desk over the tiny catalogue."""
    return Desk(tiny)


@pytest.fixture(scope="session")
def doubtful_desk(build_tiny: Callable[..., Catalogue]) -> Desk:
    """The tiny catalogue with a wheel nobody measured, a disputed one and a superseded one."""
    return Desk(build_tiny(TINY_DATA + DOUBTS))


@pytest.fixture(scope="session")
def sums_desk(build_tiny: Callable[..., Catalogue]) -> Desk:
    """The catalogue for sums."""
    return Desk(build_tiny(driveline.DATA, driveline.STATIONS))


@pytest.fixture(scope="session")
def demo_desk(demo: Catalogue) -> Desk:
    """The desk over the shipped demo."""
    return Desk(demo)
