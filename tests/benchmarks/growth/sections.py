"""Every section by its name, in the order in which a whole run takes them."""

from __future__ import annotations

from collections.abc import Mapping

from . import adding, asking, closing, ends, fitment, loading, serving, starting
from .stand import Section

SECTIONS: Mapping[str, Section] = {
    "closure": closing.measure,
    "load": loading.measure,
    "start": starting.measure,
    "ends": ends.measure,
    "questions": asking.measure,
    "generation": adding.measure,
    "matrix": fitment.measure,
    "api": serving.measure,
}
