"""What can be asked, as bodies of requests. Each says the same as a sentence does.

Names are part numbers, labels or synonyms, as in a sentence. A quantity is
`{"value": "110", "unit": "km/h"}`, its value exact and so a text.
"""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from ..query import syntax as s
from ..query.in_hand import MeasuredValue, TriedPair
from ..query.phrases import CarName, PartName, SortName, StationName, ThingName
from ..query.style import Language, Style, Units
from ..query.tree_json import from_json

LONGEST_QUESTION = 65536

Plans = Annotated[int, Field(ge=0, le=10, description="how many plans to work out at most")]


class Body(BaseModel):
    """Base of every body: nothing unknown gets in."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Question(Body):
    """A sentence of the query language, or its tree."""

    question: str | None = Field(
        default=None,
        min_length=1,
        max_length=LONGEST_QUESTION,
        description="a sentence of the query language",
    )
    tree: Annotated[s.Sentence, Field(discriminator="kind")] | None = Field(
        default=None, description="the tree of a sentence, instead of the sentence"
    )
    after: str = Field(
        default="",
        max_length=LONGEST_QUESTION,
        description="the question before, in full, for follow-ups (“and if …”, “why must …”)",
    )
    plans: Plans = 3
    measured: Annotated[tuple[MeasuredValue, ...], Field(max_length=100)] = Field(
        default=(), description="what was read off the parts in hand: ends and quantities of checks"
    )
    tried: Annotated[tuple[TriedPair, ...], Field(max_length=100)] = Field(
        default=(), description="ends that were offered up to one another, and fit"
    )
    units: Units = Field(
        default="mm", description="in: numbers and sentences in customary units, for people"
    )
    language: Language = "en-GB"

    @property
    def style(self) -> Style:
        """How a person wants it said."""
        return Style(self.units, self.language)

    @model_validator(mode="after")
    def _one_of_them(self) -> Question:
        if (self.question is None) == (self.tree is None):
            raise ValueError("give either a question or a tree")
        return self


class Asked(Body):
    """Base of the bodies that stand for one form of sentence: its `kind` and its parts."""

    kind: ClassVar[str]

    def sentence(self) -> s.Sentence:
        """The tree of the sentence.

        Raises:
            BadTree: no sentence says that.
        """
        said = self.model_dump(mode="json", exclude_none=True, exclude=self._beside())
        return from_json({**said, "kind": self.kind})

    def _beside(self) -> set[str]:
        """Fields that are not part of the sentence."""
        return set()


class WithChange(Asked):
    """A question about a change: parts to be fitted to a car, on terms."""

    change: s.Change


class AskKnockOns(WithChange):
    """What else must change?"""

    kind: ClassVar[str] = "knock-ons"


class AskPlans(WithChange):
    """What else must change, with the best complete sets of parts?"""

    kind: ClassVar[str] = "knock-ons"
    plans: Annotated[int, Field(ge=1, le=10, description="how many plans at most")] = 3

    def _beside(self) -> set[str]:
        return {"plans"}


class AskChecks(WithChange):
    """What must be checked before ordering?"""

    kind: ClassVar[str] = "checks"


class AskJobSheet(AskPlans):
    """The sheet of one plan for the workshop."""

    plan: Annotated[int, Field(ge=1, le=10, description="which of the plans")] = 1
    units: Literal["mm", "in", "both"] = "mm"
    language: Literal["en-GB", "en-US"] = "en-GB"

    def _beside(self) -> set[str]:
        return {"plans", "plan", "units", "language"}


class AskWhyMust(WithChange):
    """Why must the part at this station change?"""

    kind: ClassVar[str] = "why-must"
    station: StationName


class AskWhyNot(WithChange):
    """Why can this part not be used?"""

    kind: ClassVar[str] = "why-not"
    part: PartName


class AskDoesFit(Asked):
    """Does this part fit that car?"""

    kind: ClassVar[str] = "does-fit"
    part: PartName
    car: CarName
    at: StationName | None = None
    terms: s.Terms = s.Terms()


class AskDoesMate(Asked):
    """Do these two parts mate?"""

    kind: ClassVar[str] = "does-mate"
    first: PartName
    second: PartName


class AskWhatFits(Asked):
    """What fits at this station of that car?"""

    kind: ClassVar[str] = "what-fits"
    station: StationName
    car: CarName
    terms: s.Terms = s.Terms()


class AskWhereFits(Asked):
    """Where does this part fit? On all cars, or on one."""

    kind: ClassVar[str] = "where-fits"
    part: PartName
    car: CarName | None = None


class AskKitChoice(Asked):
    """Which part of a sort needs least change across several cars?"""

    kind: ClassVar[str] = "least-change"
    sort: SortName
    cars: Annotated[tuple[CarName, ...], Field(min_length=1, max_length=50)]
    terms: s.Terms = s.Terms()


class AskTellApart(Asked):
    """How are these two told apart?"""

    kind: ClassVar[str] = "tell-apart"
    first: ThingName
    second: ThingName


class AskDifferences(Asked):
    """What differs between these two cars or generations?"""

    kind: ClassVar[str] = "differences"
    first: CarName
    second: CarName


class AskIdentify(Asked):
    """Which part is this, by what is known of it?"""

    kind: ClassVar[str] = "identify"
    sort: SortName
    evidence: Annotated[
        tuple[Annotated[s.Evidence, Field(discriminator="kind")], ...],
        Field(min_length=1, max_length=50),
    ]
    car: CarName | None = None


def openapi_examples(*bodies: dict[str, Any] | str) -> dict[str, Any]:
    """Examples of a body for OpenAPI; a test sends every one of them."""
    return {f"example {at}": {"value": body} for at, body in enumerate(bodies, 1)}
