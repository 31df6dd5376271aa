"""What a name means: by part number, label or synonym, and never by guessing.

Two phrases are the same name if they differ in case, hyphens and spaces, an article, the plural, or
UK and US spelling (`spelling`). Likeness of any other sort only makes suggestions.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, Protocol

from rapidfuzz import fuzz, process

from .errors import AmbiguousName, Candidate, NotOnCar, Problem, UnknownName, either
from .name_table import Beginning, Entry, Label, Lexicon, Listed, NameTable, Sense, TableInMemory
from .phrases import Name, What
from .spelling import is_possessive, key_of, number_key, words_of

__all__ = (
    "CarScope",
    "Entry",
    "Label",
    "Lexicon",
    "NameIndex",
    "Scope",
    "resolve",
    "resolve_one",
)

_MOST_NEAREST: Final = 5
_LEAST_LIKENESS: Final = 65.0
_VERY_MANY, _LOOKED_AT = 5_000, 500
_A: Final[dict[What, str]] = {
    "part": "a part",
    "family": "a family of parts",
    "station": "a station",
    "car": "a car",
    "generation": "a generation",
    "source": "a source",
    "maker": "a maker",
}


class Scope(Protocol):
    """The car that a sentence speaks of."""

    @property
    def label(self) -> str:
        """What the car is called."""

    @property
    def fits(self) -> Mapping[str, str | None]:
        """The part now at each station that the car has (None: it stands empty)."""


@dataclass(frozen=True, slots=True)
class CarScope:
    """The plainest scope: a label and what is where."""

    label: str
    fits: Mapping[str, str | None] = field(default_factory=dict)


class NameIndex:
    """The names of a lexicon, ready to look up. Made once for a catalogue and shared freely.

    With a `base` its own names come first: that is how builds named by `let` are added.
    """

    def __init__(self, lexicon: Lexicon, base: NameIndex | None = None) -> None:
        self._tables: tuple[NameTable, ...] = (
            TableInMemory(lexicon),
            *(base._tables if base else ()),
        )

    @classmethod
    def over(cls, table: NameTable) -> NameIndex:
        """The index over a table that is there already."""
        made = cls.__new__(cls)
        made._tables = (table,)
        return made

    @property
    def entries(self) -> tuple[Entry, ...]:
        """Every entry, in a fixed order. Of a large catalogue they are very many."""
        return tuple(entry for table in self._tables for entry in table.entries())

    def entry(self, iri: str) -> Entry | None:
        """The entry of an IRI."""
        found = (table.entry(iri) for table in self._tables)
        return next((entry for entry in found if entry is not None), None)

    def matches(self, phrase: str, wanted: Sequence[What], language: str = "") -> tuple[Entry, ...]:
        """Everything of the wanted sorts that bears this name, the closest sense only.

        A part number comes before a label, a preferred label before a synonym. Where a word means
        one thing in the UK and another in the US, `language` ("en-GB", "en-US") decides.
        """
        key, number = key_of(phrase), number_key(phrase)
        keys = {Sense.NUMBER: number, Sense.LABEL: key, Sense.SYNONYM: key}
        for table in self._tables:
            for sense, asked in keys.items():
                named = (
                    [n for n in table.meant(sense, asked) if n[0].what in wanted] if asked else []
                )
                own = [] if sense is Sense.NUMBER else [n for n in named if n[1] == language]
                if named:
                    return tuple(dict.fromkeys(entry for entry, _ in own or named))
        return ()

    def beginning(self, typed: str, sorts: Collection[What]) -> Iterator[Entry]:
        """Entries of these sorts that go on from what is typed, those that start with it first."""
        if not typed.split():
            for table in self._tables:
                yield from table.sorted_as(sorts)
            return
        key, number = key_of(typed), number_key(typed)
        seen: set[tuple[int, str, What]] = set()
        for how in Beginning:
            asked = number if how is Beginning.NUMBER else key
            if how is not Beginning.LABEL and not asked:
                continue
            for at, table in enumerate(self._tables):
                for entry in table.beginning(how, asked, sorts):
                    if (at, entry.iri, entry.what) not in seen:
                        seen.add((at, entry.iri, entry.what))
                        yield entry

    def called(self, label: str) -> tuple[Entry, ...]:
        """Every entry whose label (without any, the number) is exactly this."""
        found = (
            entry
            for table in self._tables
            for sense, key in ((Sense.LABEL, key_of(label)), (Sense.NUMBER, number_key(label)))
            for entry, _ in table.meant(sense, key)
            if entry.label == label
        )
        return tuple(dict.fromkeys(found))

    def holding(self, sort: What, words: Sequence[str]) -> list[Listed]:
        """The things of a sort whose names hold all of these words, in the order of lists."""
        return sorted(each for table in self._tables for each in table.holding(sort, words))

    def nearest(
        self, phrase: str, sorts: Collection[What], stations: Collection[str] | None = None
    ) -> tuple[str, ...]:
        """Names most like the phrase, the likest first. For suggestions only.

        Of stations only those in `stations` count, unless it is None.
        """
        said: dict[str, str] = {}
        for table in self._tables:
            said = {**table.said(sorts, stations), **said}
        return _likest(" ".join(words_of(phrase)) or phrase.casefold(), said)


def _likest(asked: str, said: Mapping[str, str]) -> tuple[str, ...]:
    # A word that is part of many names is like all of them: likeness as a whole decides among those
    # that are like it at all. Of very many names the likest as a whole are looked at first.
    ranked: list[tuple[str, float, str]] = []
    if len(said) > _VERY_MANY:
        ranked = process.extract(asked, said, scorer=fuzz.ratio, limit=_LOOKED_AT)
        last = ranked[-1][1]
        alike = [each for each in ranked if fuzz.WRatio(asked, each[0]) >= _LEAST_LIKENESS]
        ranked = [each for each in alike if each[1] > last]
    if len(ranked) < _MOST_NEAREST:
        ranked = process.extract(
            asked, said, scorer=fuzz.WRatio, score_cutoff=_LEAST_LIKENESS, limit=None
        )
    ranked = sorted(ranked, key=lambda each: (-fuzz.ratio(asked, each[0]), each[2]))
    return tuple(text for _, _, text in ranked[:_MOST_NEAREST])


def resolve(
    name: Name,
    names: NameIndex,
    scope: Scope | None = None,
    *,
    wanted: Sequence[What] = (),
    language: str = "",
) -> tuple[Entry, ...]:
    """What a name means where it stands: several things only if all are stations (“the wheels”).

    `wanted` is by default what the name's type says, the likelier sort first. With a `scope` only
    the car's own stations count, and “its rear hub” is the part that sits there now.

    Raises:
        UnknownName, NotOnCar, AmbiguousName: with the name's place in the sentence.
    """
    sorts = tuple(wanted) or name.wanted
    if scope and "part" in sorts and is_possessive(name.text):
        return (_part_on_car(name, names, scope, language),)
    found = names.matches(name.text, sorts, language) or _qualified(name, names, sorts, language)
    if not found:
        raise _unknown(name, names, sorts, scope)
    if name.ranked:
        first = min((e.what for e in found), key=sorts.index)
        found = tuple(e for e in found if e.what == first)
    if scope:
        here = tuple(e for e in found if e.what != "station" or e.iri in scope.fits)
        if not here:
            raise _not_on_car(name, found[0], names, scope)
        found = here
    if len(found) > 1 and ({e.what for e in found} != {"station"} or _is_homonym(name, found)):
        raise _ambiguous(name, found)
    return found


def resolve_one(
    name: Name,
    names: NameIndex,
    scope: Scope | None = None,
    *,
    wanted: Sequence[What] = (),
    language: str = "",
) -> Entry:
    """The one thing that a name means where it stands; as `resolve`, but never several.

    Raises:
        UnknownName, NotOnCar, AmbiguousName: with the name's place in the sentence.
    """
    found = resolve(name, names, scope, wanted=wanted, language=language)
    if len(found) > 1:
        raise _ambiguous(name, found)
    return found[0]


def _is_homonym(name: Name, found: Sequence[Entry]) -> bool:
    """Whether a word means one thing in the UK and another in the US: both cannot be meant."""
    key = key_of(name.text)
    spoken = [{b.language for b in e.labels if key_of(b.text) == key} for e in found]
    regional = [languages for languages in spoken if languages and "en" not in languages]
    return bool(regional) and not set.intersection(*regional)


def _qualified(
    name: Name, names: NameIndex, sorts: Sequence[What], language: str
) -> tuple[Entry, ...]:
    """“station rear hub”, “the part rear hub”: the sort said in front."""
    words = [w for w in name.text.split(" ") if w.lower() != "the"]
    sort = next((s for s in sorts if words and s == words[0].lower()), None)
    return names.matches(" ".join(words[1:]), (sort,), language) if sort else ()


def _part_on_car(name: Name, names: NameIndex, scope: Scope, language: str) -> Entry:
    stations = [e for e in names.matches(name.text, ("station",), language) if e.iri in scope.fits]
    if not stations:
        raise _unknown(name, names, ("station",), scope)
    if len(stations) > 1:
        raise _ambiguous(name, stations)
    part = scope.fits[stations[0].iri]
    entry = names.entry(part) if part else None
    if entry is None:
        message = f"nothing sits at the {stations[0].label} of {scope.label}"
        raise NotOnCar(Problem(message, name.span))
    return entry


def _ambiguous(name: Name, found: Sequence[Entry]) -> AmbiguousName:
    candidates = tuple(
        Candidate(e.iri, e.what, e.label, e.number, e.detail)
        for e in sorted(found, key=lambda e: (list(_A).index(e.what), e.label, e.number, e.iri))
    )
    several = {e.what for e in found}
    hint = "Say which by its part number" if several == {"part"} else ""
    if len(several) > 1:
        words = " or ".join(f"“{c.what} {name.text}”" for c in _one_a_sort(candidates))
        hint = f"Say which: {words}"
    message = f"“{name.text}” may mean {len(candidates)} things"
    return AmbiguousName(Problem(message, name.span, candidates=candidates, hint=hint))


def _one_a_sort(candidates: Iterable[Candidate]) -> tuple[Candidate, ...]:
    return tuple({c.what: c for c in candidates}.values())


def _unknown(
    name: Name, names: NameIndex, sorts: Sequence[What], scope: Scope | None
) -> UnknownName:
    nearest = names.nearest(name.text, sorts, None if scope is None else scope.fits)
    wanted = name.place if sorts == name.wanted else either(tuple(_A[s] for s in sorts))
    others = names.matches(name.text, tuple(_A))
    if others:
        message = f"“{name.text}” is {_A[others[0].what]}; {wanted} is wanted here"
    else:
        message = f"nothing is called “{name.text}” ({wanted} is wanted here)"
    return UnknownName(Problem(message, name.span, nearest=nearest))


def _not_on_car(name: Name, entry: Entry, names: NameIndex, scope: Scope) -> NotOnCar:
    stations: tuple[What, ...] = ("station",)
    nearest = names.nearest(name.text, stations, scope.fits)
    message = f"{scope.label} has no {entry.label}"
    return NotOnCar(Problem(message, name.span, nearest=nearest))
