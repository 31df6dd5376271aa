"""What a name means: by part number, label or synonym, and never by guessing.

Two phrases are the same name if they differ in case, hyphens and spaces, an article, the plural, or
UK and US spelling (`spelling`). Likeness of any other sort only makes suggestions.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, Protocol

from rapidfuzz import fuzz, process

from .errors import AmbiguousName, Candidate, NotOnCar, Problem, UnknownName, either
from .phrases import Name, What
from .spelling import is_possessive, key_of, number_key, words_of

_MOST_NEAREST: Final = 5
_LEAST_LIKENESS: Final = 65.0
_A: Final[dict[What, str]] = {
    "part": "a part",
    "family": "a family of parts",
    "station": "a station",
    "car": "a car",
    "generation": "a generation",
    "source": "a source",
    "maker": "a maker",
}


@dataclass(frozen=True, slots=True)
class Label:
    """What people call a thing, and in which language (“en-GB”, “en-US”, “en”)."""

    text: str
    language: str = "en"


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that can be named. The first label is the preferred one."""

    iri: str
    what: What
    labels: tuple[Label, ...]
    number: str = ""
    """The part number, for a part."""
    detail: str = ""
    """What tells it from things of the same name: “from serial 41200, 30 splines”."""

    @property
    def label(self) -> str:
        """The preferred label; without any, the number."""
        return self.labels[0].text if self.labels else self.number or self.iri


class Lexicon(Protocol):
    """Where names come from."""

    def entries(self) -> Iterable[Entry]:
        """Everything that can be named, in any order."""


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
        self._base = base
        self._own: tuple[Entry, ...] = tuple(
            sorted(lexicon.entries(), key=lambda e: (e.what, e.label, e.number, e.iri))
        )
        self._by_iri: dict[str, Entry] = {entry.iri: entry for entry in self._own}
        self._numbers: dict[str, list[Entry]] = defaultdict(list)
        self._labels: dict[str, list[tuple[Entry, str]]] = defaultdict(list)
        self._synonyms: dict[str, list[tuple[Entry, str]]] = defaultdict(list)
        for entry in self._own:
            if entry.number:
                self._numbers[number_key(entry.number)].append(entry)
            for rank, label in enumerate(entry.labels):
                table = self._synonyms if rank else self._labels
                table[key_of(label.text)].append((entry, label.language))

    @property
    def entries(self) -> tuple[Entry, ...]:
        """Every entry, in a fixed order."""
        return self._own + (self._base.entries if self._base else ())

    def entry(self, iri: str) -> Entry | None:
        """The entry of an IRI."""
        return self._by_iri.get(iri) or (self._base.entry(iri) if self._base else None)

    def matches(self, phrase: str, wanted: Sequence[What], language: str = "") -> tuple[Entry, ...]:
        """Everything of the wanted sorts that bears this name, the closest sense only.

        A part number comes before a label, a preferred label before a synonym. Where a word means
        one thing in the UK and another in the US, `language` ("en-GB", "en-US") decides.
        """
        key, number = key_of(phrase), number_key(phrase)
        senses = [
            self._numbers.get(number, []) if number else [],
            _spoken(self._labels.get(key, []) if key else [], wanted, language),
            _spoken(self._synonyms.get(key, []) if key else [], wanted, language),
        ]
        for sense in senses:
            found = tuple(dict.fromkeys(e for e in sense if e.what in wanted))
            if found:
                return found
        return self._base.matches(phrase, wanted, language) if self._base else ()

    def nearest(self, phrase: str, entries: Iterable[Entry]) -> tuple[str, ...]:
        """Names of the entries most like the phrase, the likest first. For suggestions only."""
        shown: dict[str, str] = {}
        for entry in entries:
            for label in entry.labels:
                shown.setdefault(label.text, " ".join(words_of(label.text)))
            if entry.number:
                shown.setdefault(entry.number, entry.number.casefold())
        asked = " ".join(words_of(phrase)) or phrase.casefold()
        likest = process.extract(
            asked, shown, scorer=fuzz.WRatio, score_cutoff=_LEAST_LIKENESS, limit=None
        )
        # A word that is part of many names is like all of them: likeness as a whole decides.
        ranked = sorted(likest, key=lambda each: (-fuzz.ratio(asked, each[0]), each[2]))
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


def _spoken(
    labelled: list[tuple[Entry, str]], wanted: Sequence[What], language: str
) -> list[Entry]:
    usable = [(entry, spoken) for entry, spoken in labelled if entry.what in wanted]
    own = [entry for entry, spoken in usable if spoken == language]
    return own or [entry for entry, _ in usable]


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
    entries = [
        e
        for e in names.entries
        if e.what in sorts and (scope is None or e.what != "station" or e.iri in scope.fits)
    ]
    nearest = names.nearest(name.text, entries)
    wanted = name.place if sorts == name.wanted else either(tuple(_A[s] for s in sorts))
    others = names.matches(name.text, tuple(_A))
    if others:
        message = f"“{name.text}” is {_A[others[0].what]}; {wanted} is wanted here"
    else:
        message = f"nothing is called “{name.text}” ({wanted} is wanted here)"
    return UnknownName(Problem(message, name.span, nearest=nearest))


def _not_on_car(name: Name, entry: Entry, names: NameIndex, scope: Scope) -> NotOnCar:
    here = [e for e in names.entries if e.what == "station" and e.iri in scope.fits]
    nearest = names.nearest(name.text, here)
    message = f"{scope.label} has no {entry.label}"
    return NotOnCar(Problem(message, name.span, nearest=nearest))
