"""Which function answers which sentence."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from .. import syntax as s
from ..report import Report
from . import comparison, fit, identification, naming, reasons, show, sums, unproven
from .ground import Ground

ANSWERS: dict[type, Callable[[Ground, Any], Report]] = {
    s.WhyMust: reasons.why_must,
    s.WhyNot: reasons.why_not,
    s.DoesFit: fit.does_fit,
    s.DoesMate: reasons.does_mate,
    s.WhatFits: fit.what_fits,
    s.WhereFits: fit.where,
    s.LeastChange: fit.least,
    s.Show: show.show,
    s.Unproven: unproven.unproven,
    s.Compare: comparison.compare,
    s.TellApart: identification.tell_from,
    s.Differences: comparison.differences,
    s.Identify: identification.identify_part,
    s.Calculation: sums.calculation,
    s.EngineSpeed: sums.engine_speed,
    s.RoadSpeed: sums.road_speed,
    s.Speedometer: sums.speedometer,
    s.BoltCircle: sums.bolt_circle,
    s.Let: naming.let,
}
