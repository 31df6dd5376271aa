"""Compose an answer from what the reasoner found: labels, numbers, sentences and sources."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import TypeAlias, cast

from ..reasoner.cascade import Cascade, Check, KnockOn
from ..reasoner.catalogue import Catalogue, Claim, End
from ..reasoner.conflict import Conflict
from ..reasoner.interfaces.kind import Finding, Scalar
from ..reasoner.mating import Mate
from ..reasoner.reasons import Meeting, Step
from ..reasoner.verdicts import Verdict
from .answer import (
    Answer,
    BranchNote,
    CheckNote,
    Citation,
    Claimed,
    Comparison,
    ConflictNote,
    Fitted,
    Line,
    MeetingNote,
    Number,
    Offer,
    PartRef,
    PlanNote,
    ReasonStep,
    ReleaseNote,
    Shown,
    Thing,
    TurnNote,
    WayNote,
    Word,
)
from .compose_checks import ends_to_offer_up, values_to_measure
from .kept import Kept
from .words import cautions_for, finding_text, plain, reason_text, unit_word

Parts: TypeAlias = tuple[str | None, ...]

_WORDS = {Verdict.MUST: "must", Verdict.CHOICE: "choice", Verdict.KEEPS: "keeps"}


def number(value: Decimal | None) -> Number | None:
    """An exact number as JSON writes it: whole where it is whole."""
    if value is None:
        return None
    return int(value) if value == value.to_integral_value() else float(value)


def shown(value: Scalar | None) -> Shown:
    """A value as JSON writes it."""
    return number(value) if isinstance(value, Decimal) else value


class Composer:
    """Makes the parts of an answer from IRIs of one catalogue."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        # The same things come up in answer after answer, and never change.
        self._things = Kept[str, Thing](4096)
        self._parts = Kept[str | None, PartRef](4096)
        self._citations = Kept[str, Citation](1024)
        self._meetings = Kept[tuple[int, Parts], tuple[Mate, MeetingNote]](512)

    def thing(self, iri: str) -> Thing:
        """Anything by its label."""
        return self._things.get(iri, self._thing)

    def _thing(self, iri: str) -> Thing:
        return Thing(iri=iri, label=self.catalogue.name(iri))

    def part(self, iri: str | None) -> PartRef:
        """A part by label, number, maker and price; None is an empty station."""
        return self._parts.get(iri, self._part)

    def _part(self, iri: str | None) -> PartRef:
        if iri is None:
            return PartRef(label="nothing")
        part = self.catalogue.parts[iri]
        return PartRef(
            iri=iri,
            label=part.label,
            number=part.number,
            maker=self.catalogue.name(part.maker) if part.maker else None,
            price_eur=number(part.price),
        )

    def offers(self, options: Mapping[str, Iterable[str | None]]) -> tuple[Offer, ...]:
        """Stations with what they may take."""
        return tuple(
            Offer(station=self.thing(s), parts=tuple(map(self.part, parts)))
            for s, parts in options.items()
        )

    # ------------------------------------------------------------------ reasons

    def comparison(self, finding: Finding) -> Comparison:
        """A finding in values and as a sentence."""
        quantity = self.catalogue.quantities.get(finding.quantity)
        return Comparison(
            quantity=quantity.label if quantity else finding.quantity,
            outcome=finding.outcome.value,
            relation=finding.relation.value,
            first=shown(finding.first),
            second=shown(finding.second),
            unit=unit_word(quantity.unit) if quantity else "",
            tolerance=number(finding.tolerance),
            margin=number(finding.margin),
            text=finding_text(finding, self.catalogue),
        )

    def citation(self, source: str) -> Citation:
        """Who says so."""
        return self._citations.get(source, self._citation)

    def _citation(self, source: str) -> Citation:
        known = self.catalogue.sources.get(source)
        if known is None:
            return Citation(source=source, standing="presumed")
        return Citation(
            source=known.label, standing=known.standing.word, by=known.by, date=known.date
        )

    def _claimed(self, end: End, part: str, quantity: str, claim: Claim) -> Claimed:
        described = self.catalogue.quantities.get(quantity)
        value = claim.value
        return Claimed(
            end=end.label,
            part=part,
            quantity=described.label if described else quantity,
            value=_records(value) if isinstance(value, tuple) else shown(value),
            unit=unit_word(described.unit) if described else "",
            cited=tuple(self.citation(s) for s in claim.sources),
        )

    def claims(self, meeting: Meeting) -> tuple[Claimed, ...]:
        """Every stated value that the findings of a meeting rest on."""
        touched = {f.quantity for f in meeting.mate.findings}
        touched |= {f.needs for f in meeting.mate.findings}
        found: list[Claimed] = []
        for end_iri, part in zip(meeting.mate.ends, meeting.parts, strict=False):
            if end_iri is None:
                continue
            end = self.catalogue.ends[end_iri]
            label = self.part(part).label
            for quantity, claims in end.claims.items():
                if quantity in touched or _behind(quantity, touched):
                    found.extend(self._claimed(end, label, quantity, c) for c in claims)
        return tuple(found)

    def meeting(self, meeting: Meeting) -> MeetingNote:
        """What came of parts at a joint."""
        # Mates are kept by whoever looked, so the same meeting has the same one, and a mate that is
        # held here shares its number with no other.
        at = (id(meeting.mate), meeting.parts)
        return self._meetings.get(at, lambda _: (meeting.mate, self._meeting(meeting)))[1]

    def _meeting(self, meeting: Meeting) -> MeetingNote:
        mate = meeting.mate
        joint = self.catalogue.joints[mate.joint]
        kind = self.catalogue.kinds.get(joint.kind)
        return MeetingNote(
            joint=self.thing(mate.joint),
            kind=kind.label if kind else joint.kind,
            rule=kind.rule if kind else "",
            parts=tuple(map(self.part, meeting.parts)),
            outcome=mate.outcome.value,
            settled_by=mate.settled_by,
            standing=mate.standing.word,
            comparisons=tuple(self.comparison(f) for f in mate.findings),
            claims=self.claims(meeting),
        )

    def step(self, step: Step) -> ReasonStep:
        """One link of a chain."""
        return ReasonStep(
            kind=step.reason.kind.value,
            text=reason_text(step.reason, self.catalogue),
            origin=tuple(map(self.thing, step.origin)),
            station=self.thing(step.station),
            meetings=tuple(map(self.meeting, step.meetings)),
            leaves=tuple(map(self.part, step.leaves)),
        )

    # ------------------------------------------------------------------ lines

    def line(self, knock_on: KnockOn) -> Line:
        """The verdict on one station."""
        steps = dict.fromkeys(s for chain in knock_on.chains for s in chain.steps)
        at = {step: number for number, step in enumerate(steps)}
        held = dict.fromkeys(s for chain in knock_on.chains for s in chain.held)
        last = [s for s in steps if s.station == knock_on.station]
        forced_by = dict.fromkeys(o for s in last for o in s.origin)
        return Line(
            station=self.thing(knock_on.station),
            quantity=self.catalogue.stations[knock_on.station].quantity,
            verdict=_word(knock_on.verdict),
            strictly=None if knock_on.strictly is None else _word(knock_on.strictly),
            now=self.part(knock_on.current),
            options=tuple(map(self.part, knock_on.options)),
            forced_by=tuple(map(self.thing, forced_by)),
            because=tuple(map(self.step, steps)),
            chains=tuple(tuple(map(at.__getitem__, chain.steps)) for chain in knock_on.chains),
            while_keeping=tuple(map(self.thing, held)),
        )

    def check(self, check: Check) -> CheckNote:
        """What to measure before ordering."""
        measure: dict[str, None] = {}
        for meeting in check.meetings:
            for what in self._to_measure(meeting.mate):
                measure[what] = None
        return CheckNote(
            joint=self.thing(check.joint),
            meetings=tuple(map(self.meeting, check.meetings)),
            others=check.others,
            measure=tuple(measure),
            values=values_to_measure(self, check.meetings),
            offer_up=ends_to_offer_up(self, check.meetings),
            turns=tuple(
                TurnNote(station=self.thing(t.station), now=_word(t.now), then=_word(t.then))
                for t in check.turns
            ),
            ends_it=check.ends_it,
        )

    def _to_measure(self, mate: Mate) -> Iterable[str]:
        for finding in mate.findings:
            quantity = self.catalogue.quantities.get(finding.needs)
            if quantity is not None:
                yield f"{quantity.label}: {quantity.measure_by or 'measure it'}"
        for name in mate.disputed:
            yield self._dispute(mate, name)
        if not any(f.needs for f in mate.findings) and not mate.disputed:
            yield "not tried yet: offer the parts up to one another before ordering"

    def conflict(self, conflict: Conflict) -> ConflictNote:
        """Why nothing works, in trade words."""
        return ConflictNote(
            reasons=tuple(reason_text(r, self.catalogue) for r in conflict.reasons),
            smallest=conflict.smallest,
            releases=tuple(
                ReleaseNote(
                    drop=tuple(reason_text(r, self.catalogue) for r in release.wishes),
                    then_change=tuple(map(self.thing, sorted(release.way))),
                )
                for release in conflict.releases
            ),
        )

    def _dispute(self, mate: Mate, name: str) -> str:
        """Every value stated for one quantity, with who states it, and what to do about it."""
        described = self.catalogue.quantities.get(name)
        said = [
            f"{note.value}{f' {note.unit}' if note.unit else ''} "
            f"({'; '.join(f'{c.source}, {c.standing}' for c in note.cited)})"
            for end in mate.ends
            if end is not None and len(self.catalogue.ends[end].claims.get(name, ())) > 1
            for claim in self.catalogue.ends[end].claims[name]
            for note in [self._claimed(self.catalogue.ends[end], "", name, claim)]
        ]
        label = described.label if described else name
        return f"{label}: sources differ: {' against '.join(said)}; measure it on the part in hand"

    def answer(self, cascade: Cascade, question: str, plans: tuple[PlanNote, ...] = ()) -> Answer:
        """The whole answer."""
        build, wishes = cascade.build, cascade.wishes
        lines = tuple(self.line(k) for k in cascade.knock_ons)
        touched = {k.station for k in cascade.knock_ons if k.verdict is not Verdict.KEEPS}
        areas = {self.catalogue.stations[s].area for s in (*wishes.fits, *touched)}
        return Answer(
            question=question,
            catalogue=self.catalogue.version,
            car=Thing(iri=build.car, label=build.name),
            fitted=tuple(
                Fitted(station=self.thing(s), now=self.part(build.fits[s]), part=self.part(p))
                for s, p in sorted(wishes.fits.items())
            ),
            kept=tuple(map(self.thing, wishes.keeps)),
            workable=cascade.workable,
            strictly_workable=cascade.strictly_workable,
            summary=_summary(cascade),
            lines=lines,
            ways=tuple(
                WayNote(
                    changes=self.offers(
                        {s: o for s, o in way.options.items() if s not in wishes.fits}
                    ),
                    branches=tuple(
                        BranchNote(
                            station=self.thing(b.station),
                            parts=tuple(map(self.part, b.parts)),
                            leaves=self.offers(b.options),
                        )
                        for b in way.branches
                    ),
                )
                for way in cascade.ways
            ),
            all_ways_listed=cascade.all_ways,
            plans=plans,
            checks=tuple(map(self.check, cascade.checks)),
            already_clashing=tuple(
                self.meeting(Meeting(self._parts_at(cascade, mate), mate))
                for mate in cascade.already
            ),
            conflict=None if cascade.conflict is None else self.conflict(cascade.conflict),
            reasons_among=cascade.reasons_among,
            cautions=cautions_for(areas),
        )

    def _parts_at(self, cascade: Cascade, mate: Mate) -> tuple[str | None, ...]:
        joint = self.catalogue.joints[mate.joint]
        return tuple(cascade.build.fits.get(m.station) for m in joint.members)


def _word(verdict: Verdict) -> Word:
    return cast(Word, _WORDS[verdict])


def _records(value: tuple[Mapping[str, Scalar], ...]) -> str:
    return "; ".join(", ".join(f"{k} {plain(v)}" for k, v in r.items()) for r in value)


def _behind(quantity: str, touched: set[str]) -> bool:
    """Values that stand behind a computed quantity: tooth counts behind a ratio, steps, plunge."""
    groups = (
        {"ratio", "drivenTeeth", "drivingTeeth"},
        {"length", "plungeIn", "plungeOut"},
        {"clearance", "step", "radius"},
        {"torque", "factor", "load", "speed"},
        {"contact", "function", "functions"},
    )
    return any(quantity in group and group & touched for group in groups)


def _summary(cascade: Cascade) -> str:
    if not cascade.workable:
        return "No workable plan: these cannot hold together."
    must, choice = len(cascade.of(Verdict.MUST)), len(cascade.of(Verdict.CHOICE))
    keeps = len(cascade.of(Verdict.KEEPS))
    if not must and not choice:
        return f"Nothing else must change; all {keeps} other stations keep their parts."
    text = f"{must} must change, {choice} {'is' if choice == 1 else 'are'} a choice, {keeps} keep."
    if not cascade.strictly_workable:
        text += " Every plan rests on something nobody has proven: see the checks."
    return text
