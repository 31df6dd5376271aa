"""The desk: one catalogue, the shop's stock and saved builds, and an answer to every sentence."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from ..reasoner.build import Build
from ..reasoner.cascade import find_cascade
from ..reasoner.catalogue import Catalogue
from ..reasoner.mating import Mating
from ..reasoner.problem import Problem as Compiled
from ..reasoner.supply import StockItem
from . import syntax as s
from .answer import Answer
from .compose import Composer
from .conversation import Conversation
from .errors import QueryError, UnknownName
from .follow_up import in_full
from .format import format_sentence
from .name_shelf import index_of
from .parse import parse
from .repair import with_correction
from .report import Report
from .wishes import Resolver

AIMS = ("parts", "cost", "hours", "irreversible", "unproven")
"""What plans can have little of, in the usual order."""


class Desk:
    """Answers sentences over one catalogue. Safe to share between threads for asking."""

    def __init__(
        self,
        catalogue: Catalogue,
        stock: tuple[StockItem, ...] = (),
        builds: Mapping[str, Build] | None = None,
        questions: tuple[str, ...] = (),
        mating: Mating | None = None,
    ) -> None:
        """A desk for a catalogue, of which `mating` may know already what meets."""
        self.catalogue = catalogue
        self.mating = mating or Mating(catalogue)
        self.index = index_of(catalogue)
        self.composer = Composer(catalogue)
        self.stock = stock
        self.builds: dict[str, Build] = dict(builds or {})
        self.questions = questions

    @property
    def resolver(self) -> Resolver:
        """Finds what names mean, with the builds saved so far."""
        return self._resolver(Conversation())

    def _resolver(self, talk: Conversation) -> Resolver:
        builds = {**self.builds, **talk.builds}
        return Resolver(self.catalogue, self.index, builds, self.stock)

    def ask(
        self,
        text: str | bytes,
        *,
        plans: int = 3,
        order: tuple[str, ...] = (),
        talk: Conversation | None = None,
    ) -> Answer | Report:
        """The answer to one sentence, with up to `plans` plans.

        `order` names what plans should have little of, most important first, out of "parts",
        "cost", "hours", "irreversible" and "unproven"; what it leaves out follows in this order.

        `talk` is the conversation it belongs to: what “and if …” goes on from and where `let`
        keeps its builds. It is changed only if the sentence is answered.

        Raises:
            QueryError: the sentence is not understood; says where and what would be right.
        """
        talk = Conversation() if talk is None else talk
        try:
            sound = self._resolver(talk).sound
            sentence = in_full(parse(text, sound), talk.last)
            reply = self._answer(sentence, plans, order, talk)
            talk.heard(sentence)
            return reply
        except QueryError as error:
            said = text if isinstance(text, str) else text.decode(errors="replace")
            found = type(error)(error.problem.within(said))
            if isinstance(found, UnknownName):
                found = with_correction(found, said, partial(self._canonical, talk=talk))
            raise found from None

    def _canonical(self, text: str, talk: Conversation) -> str:
        """The canonical form of a sentence whose names all mean something; else a QueryError."""
        sentence = in_full(parse(text), talk.last)
        self._resolver(talk).sound(sentence)
        return format_sentence(sentence)

    def _answer(
        self, sentence: s.Sentence, plans: int, order: tuple[str, ...], talk: Conversation
    ) -> Answer | Report:
        resolver = self._resolver(talk)
        if isinstance(sentence, s.KnockOns | s.Checks | s.UnprovenIf):
            question = format_sentence(sentence)
            return self._knock_ons(resolver, sentence.change, question, plans, order)
        # Most sentences ask for a whole change; only the others need all this.
        from .answers.ground import Ground
        from .answers.naming import named_build
        from .answers.table import ANSWERS

        ground = Ground(self.mating, resolver, self.composer, self.questions)
        report = ANSWERS[type(sentence)](ground, sentence)
        if isinstance(sentence, s.Let):
            talk.name(sentence.alias.text, named_build(ground, sentence))
        return report

    def _knock_ons(
        self,
        resolver: Resolver,
        change: s.Change,
        question: str,
        most: int,
        order: tuple[str, ...],
    ) -> Answer:
        build = resolver.build(change.car)
        fits = resolver.fittings(change.fits, build)
        wishes = resolver.wishes(fits, change.terms, build)
        supply = resolver.supply(change.terms)
        cascade = find_cascade(self.mating, build, wishes, supply)
        if not cascade.workable or most == 0:
            return self.composer.answer(cascade, question)
        # Loading the optimiser takes longer than most questions; only plans need it.
        from ..reasoner.plans import USUAL_ORDER, Aim, find_plans
        from .compose_plan import plan_notes

        points = {branch.station for way in cascade.ways for branch in way.branches}
        # What can be on the car is known by now, so that compiling again takes next to no time.
        problem = Compiled(self.mating, build, wishes, supply)
        aims = tuple(map(Aim, order)) or USUAL_ORDER
        found = find_plans(problem, most=most, order=aims, points=points)
        return self.composer.answer(cascade, question, plan_notes(self.composer, found, build))
