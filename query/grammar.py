"""The grammar, loaded once, and what its parse table says of any point in a sentence."""

from __future__ import annotations

import re
from functools import cache
from typing import Final

from lark import Lark
from lark.grammar import Terminal as GrammarTerminal
from lark.parsers.lalr_analysis import Reduce, Shift
from lark.parsers.lalr_interactive_parser import InteractiveParser

from . import phrases
from .phrases import Name
from .syntax import MEASURES, ORDINALS
from .terms import FLOORS, WORK

NAMES: Final[dict[str, type[Name]]] = {
    "part": phrases.PartName,
    "car": phrases.CarName,
    "station": phrases.StationName,
    "thing": phrases.ThingName,
    "sort": phrases.SortName,
    "kept": phrases.KeptName,
    "source": phrases.SourceName,
    "alias": phrases.NewName,
    "feature_name": phrases.FeatureName,
}
"""The type of name that each name rule of the grammar reads."""

CHOICES: Final[dict[str, tuple[str, ...]]] = {
    "GEAR": ORDINALS,
    "MEASURE": tuple(f"the {measure}" for measure in MEASURES),
    "STANDING": FLOORS,
    "WORK": WORK,
    "WHEELS": ("wheels",),
}
"""The terminals that stand for one of a short list, as it is written."""

_SHOWN: Final[dict[str, str]] = {
    "END": "the end",
    "$END": "the end",
    "_COMMA": "“,”",
    "NUMBER": "a whole number",
    "DATE": "a year or a month such as 2005-03",
    "GEAR": "a gear from “first” to “eighth”",
    "AMOUNT": "an amount with its unit",
    "QUANTITY": "an amount with its unit",
}
_MARKS: Final = frozenset({"_COMMA", "_JOIN", "__IGNORE_0"})
_NAME_TERMINALS: Final = frozenset({"NAME", "QUOTED", "FEATURE"})


@cache
def parser() -> Lark:
    """The parser; making it takes a tenth of a second, once."""
    return Lark.open_from_package(
        __package__,
        "grammar.lark",
        parser="lalr",
        lexer="contextual",
        maybe_placeholders=False,
    )


@cache
def pattern(terminal: str) -> re.Pattern[str]:
    """The regular expression of a terminal."""
    return re.compile(parser().get_terminal(terminal).pattern.to_regexp())


def is_keyword(terminal: str) -> bool:
    """Whether a terminal is a fixed word or phrase of the language."""
    return terminal.startswith("_") and terminal not in _MARKS


def keyword(terminal: str) -> str:
    """A keyword as it is written.

    >>> keyword("_LEAST_CHANGE")
    'least change'
    """
    return "I" if terminal == "_I" else terminal.strip("_").lower().replace("_", " ")


@cache
def words() -> tuple[str, ...]:
    """Every single word of the language: of its keywords and of its short lists."""
    phrases = [keyword(t.name) for t in parser().terminals if is_keyword(t.name)]
    phrases += [choice for choices in CHOICES.values() for choice in choices]
    return tuple(sorted({word for phrase in phrases for word in phrase.split(" ")}))


def words_at(point: InteractiveParser) -> frozenset[str]:
    """The words of the language that a point of a sentence can go on with."""
    accepted = accepts(point)
    phrases = [keyword(t) for t in accepted if is_keyword(t)]
    phrases += [choice for t in accepted for choice in CHOICES.get(t, ())]
    return frozenset(word for phrase in phrases for word in phrase.split(" "))


def accepts(point: InteractiveParser) -> frozenset[str]:
    """The terminals that the sentence can go on with at a point."""
    return frozenset(point.accepts())  # type: ignore[no-untyped-call]


def places(point: InteractiveParser) -> tuple[type[Name], ...]:
    """What sorts of name may stand at a point of a sentence, read off the parse table."""
    table = point.parser_state.parse_conf.parse_table
    found: dict[type[Name], None] = {}
    for terminal in sorted(_NAME_TERMINALS & accepts(point)):
        action, after = _shift(point, terminal)
        if action is not Shift:
            continue
        for step, rule in table.states[after].values():
            if step is Reduce and str(rule.origin.name) in NAMES:
                found[NAMES[str(rule.origin.name)]] = None
    return tuple(found)


def takes(point: InteractiveParser, terminal: str) -> bool:
    """Whether the sentence can go on with one terminal at a point."""
    return _shift(point, terminal)[0] is Shift


def _shift(point: InteractiveParser, terminal: str) -> tuple[object, object]:
    """The action on a terminal once everything that must be reduced before it has been."""
    trial = point.copy(deepcopy_values=False)  # type: ignore[no-untyped-call]
    state = trial.parser_state
    table = state.parse_conf.parse_table
    while True:
        action, arg = table.states[state.state_stack[-1]].get(terminal, (None, None))
        if action is not Reduce:
            return action, arg
        size = len(arg.expansion)
        if size:
            del state.state_stack[-size:]
            del state.value_stack[-size:]
        _, goto = table.states[state.state_stack[-1]][arg.origin.name]
        state.state_stack.append(goto)
        state.value_stack.append(None)


def expected(point: InteractiveParser) -> tuple[str, ...]:
    """What may stand at a point, in words, in the order of the grammar."""
    accepted = accepts(point)
    words: dict[str, None] = {}
    for kind in places(point):
        words[kind.place] = None
    # A joiner before a clause is only ever one of several ways to go on.
    for terminal in sorted(accepted - _NAME_TERMINALS - {"_JOIN"}, key=_order):
        if terminal in CHOICES and terminal not in _SHOWN:
            words.update(dict.fromkeys(f"“{choice}”" for choice in CHOICES[terminal]))
        else:
            words[_SHOWN.get(terminal) or f"“{keyword(terminal)}”"] = None
    if "END" in accepted:
        words.pop("the end", None)
        words["the end"] = None
    return tuple(words)


def accepted_keywords(point: InteractiveParser) -> tuple[str, ...]:
    """The terminals of the keywords that may stand at a point, in the order of the grammar."""
    return tuple(sorted(filter(is_keyword, accepts(point)), key=_order))


@cache
def _orders() -> dict[str, int]:
    seen: dict[str, int] = {}
    for rule in parser().rules:
        for symbol in rule.expansion:
            if isinstance(symbol, GrammarTerminal):
                seen.setdefault(symbol.name, len(seen))
    return seen


def _order(terminal: str) -> tuple[int, str]:
    return _orders().get(terminal, 0), terminal


def reserved() -> tuple[str, ...]:
    """The words that may follow a name, read off the parse table: they end a name."""
    table = parser().parser.parser._parse_table
    found: set[str] = set()
    for actions in table.states.values():
        for terminal, (action, rule) in actions.items():
            if action is Reduce and str(rule.origin.name) in NAMES and is_keyword(terminal):
                found.add(terminal)
    return tuple(keyword(t) for t in sorted(found, key=_order))
