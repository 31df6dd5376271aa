"""A sentence that leans on the last question, made whole.

`and if I keep the wheels?` is an amendment of the last question; `why must the propshaft change?`
asks about its change. Both are printed back as the full sentence, so that nobody has to guess what
was asked.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

from . import syntax as s
from .errors import NothingToFollow, Problem
from .phrases import NOWHERE, KeptName, Name, Span
from .spelling import key_of
from .terms import ANY_TERMS, Terms

_T = TypeVar("_T")
_SINGLE = ("cost", "labour", "wheel", "floor")
_SUPPLY = ("stock", "donors", "new_parts")


def in_full(sentence: s.Sentence, last: s.Sentence | None) -> s.Sentence:
    """The whole question that a sentence stands for after the last one (itself, if it is whole).

    Raises:
        NothingToFollow: there is no last question, or it cannot be amended like that.

    >>> from .format import format_sentence
    >>> from .parse import parse
    >>> asked = parse("what else must change if I fit OW-1 to W2 keeping the wheels?")
    >>> format_sentence(in_full(parse("and if the wheels may change?"), asked))
    'what else must change if I fit OW-1 to W2?'
    >>> format_sentence(in_full(parse("why must the rear hub change?"), asked))
    'why must the rear hub change if I fit OW-1 to W2 keeping the wheels?'
    """
    match sentence:
        case s.FollowUp():
            if last is None:
                raise NothingToFollow(Problem("there is no question before this one to go on from"))
            return _amended(_unplaced(last), sentence)
        case s.WhyMust(change=None) | s.WhyNot(change=None):
            change = None if last is None else _change_of(_unplaced(last))
            if change is None:
                raise NothingToFollow(
                    Problem(
                        "there is no question about a change before this one",
                        hint="Say which change: … if I fit PART to CAR?",
                    )
                )
            return replace(sentence, change=change)
        case _:
            return sentence


def _change_of(sentence: s.Sentence) -> s.Change | None:
    return getattr(sentence, "change", None)


def _unplaced(tree: Any) -> Any:
    """The tree without the places of its names: they stood in another text than this sentence."""
    if isinstance(tree, Name):
        return replace(tree, span=NOWHERE)
    if isinstance(tree, tuple):
        return tuple(map(_unplaced, tree))
    if is_dataclass(tree) and not isinstance(tree, type):
        return replace(tree, **{f.name: _unplaced(getattr(tree, f.name)) for f in fields(tree)})
    return tree


def _amended(last: s.Sentence, more: s.FollowUp) -> s.Sentence:
    change = _change_of(last)
    if change is not None:
        changed = s.Change(
            _joined(change.fits, more.fits),
            more.car or change.car,
            _terms(change.terms, more),
        )
        return _with(last, change=changed)
    known = {each.name for each in fields(last)}
    said = {
        "fits": more.fits,
        "car": more.car,
        "terms": more.terms != ANY_TERMS or more.freed,
    }
    missing = [name for name, value in said.items() if value and name not in known]
    if missing or isinstance(last, s.Let | s.Identify | s.FollowUp):
        raise NothingToFollow(
            Problem("the last question cannot go on like that: ask it in full", _place(more))
        )
    changes: dict[str, Any] = {}
    if more.fits:
        changes["fits"] = _joined(getattr(last, "fits"), more.fits)  # noqa: B009
    if more.car:
        changes["car"] = more.car
    if said["terms"]:
        changes["terms"] = _terms(getattr(last, "terms"), more)  # noqa: B009
    return _with(last, **changes)


def _with(sentence: s.Sentence, **changes: Any) -> s.Sentence:
    changed: Any = sentence  # which forms have the fields is looked up, not typed
    made: s.Sentence = replace(changed, **changes)
    return made


def _terms(old: Terms, more: s.FollowUp) -> Terms:
    """Both together; a limit said again replaces the old one, and so does where parts come from."""
    new = more.terms
    kept = {key_of(name.text) for name in old.keeping}
    for name in more.freed:
        if key_of(name.text) not in kept:
            raise NothingToFollow(
                Problem(f"the last question did not ask to keep “{name}”", name.span)
            )
    freed = {key_of(name.text) for name in more.freed}
    still = tuple(name for name in old.keeping if key_of(name.text) not in freed)
    supply = new if any(getattr(new, each) for each in _SUPPLY) else old
    return Terms(
        keeping=_joined(still, new.keeping),
        refused=tuple(work for work in s.WORK if work in old.refused + new.refused),
        without=_joined(old.without, new.without),
        without_from=_joined(old.without_from, new.without_from),
        **{each: getattr(new, each) or getattr(old, each) for each in _SINGLE},
        **{each: getattr(supply, each) for each in _SUPPLY},
    )


def _joined(old: Iterable[_T], new: Iterable[_T]) -> tuple[_T, ...]:
    return tuple(dict.fromkeys((*old, *new)))


def _place(more: s.FollowUp) -> Span:
    names: tuple[KeptName, ...] = more.freed + more.terms.keeping
    return names[0].span if names else Span(0, 3)
