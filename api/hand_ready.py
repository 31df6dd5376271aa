"""Imported once by the process that answering processes are forked from: all that answers need."""

from __future__ import annotations

from ..query.answers import table as table
from ..query.compose_plan import plan_notes as plan_notes
from ..query.grammar import parser
from ..reasoner import plans as plans
from ..reasoner.interfaces.registry import kinds
from . import hand as hand

parser()
kinds()
