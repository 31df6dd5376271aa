"""Why must it change, why not this part, do these mate: the chains and comparisons behind."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ...reasoner.build import Build, modified
from ...reasoner.cascade import find_cascade
from ...reasoner.catalogue import Joint, Part
from ...reasoner.conflict import Conflict, find_conflict
from ...reasoner.interfaces.kind import Outcome
from ...reasoner.mating import PROVEN, Mate, end_key
from ...reasoner.problem import Problem, Wishes
from ...reasoner.reasons import Meeting, explain_change
from ...reasoner.supply import Supply
from ...reasoner.verdicts import Search, find_verdicts
from .. import syntax as s
from ..errors import NothingToFollow, NotOnCar
from ..errors import Problem as Wrong
from ..report import Report, Section
from ..words import cautions_for
from .ground import Ground, counted, listed


def why_must(ground: Ground, asked: s.WhyMust) -> Report:
    """Why a station changes: the chain in full, down to values, rule and source."""
    build, wishes, supply = _wishes(ground, asked.change)
    stations = ground.resolver.stations(asked.station, build)
    cascade = find_cascade(ground.mating, build, wishes, supply)
    about = (build.car, *stations)
    if cascade.conflict is not None:
        section = _conflict(ground, cascade.conflict)
        summary = "No plan is workable, whether it changes or not."
        return ground.report(asked, summary, (section,), about=about, holds=False)
    words, sections, verdicts = [], [], set()
    for station in stations:
        label = ground.catalogue.name(station)
        if station in wishes.fits:
            words.append(f"The {label} is what you fit.")
            verdicts.add("fit")
            continue
        knock_on = next(k for k in cascade.knock_ons if k.station == station)
        line = ground.composer.line(knock_on)
        verdicts.add(line.verdict)
        options = listed((p.number or p.label for p in line.options[:6]), "or")
        kept = listed(t.label for t in line.while_keeping)
        words.append(
            {
                "must": f"The {label} must change in every workable plan, to {options}.",
                "choice": f"The {label} is a choice: it changes (to {options}) only in plans that "
                f"keep the {kept or 'others'}.",
                "keeps": f"The {label} keeps {line.now.number or line.now.label}: no plan needs it "
                "changed.",
            }[line.verdict]
        )
        start = tuple(
            f"fitted: {ground.said(ground.catalogue.parts[p])} as {ground.catalogue.name(at)}"
            for at, p in wishes.fits.items()
        )
        if line.because:
            title = f"Why the {label} cannot stay as it is"
            sections.append(Section(title=title, lines=start, steps=line.because, in_full=True))
    holds = None if verdicts & {"choice", "fit"} else verdicts == {"must"}
    return ground.report(
        asked, " ".join(words), sections, about=about, holds=holds,
        cautions=cautions_for(ground.areas(stations)),
    )  # fmt: skip


def why_not(ground: Ground, asked: s.WhyNot) -> Report:
    """Which reasons rule a part out in a change, or what it would cost to take it."""
    build, wishes, supply = _wishes(ground, asked.change)
    part = ground.resolver.part(asked.part)
    places = ground.stations_of(part, build)
    if not places:
        where = listed(map(ground.catalogue.name, part.stations), "or")
        problem = Wrong(f"{build.name} has no {where} for {part.label}", asked.part.span)
        raise NotOnCar(problem)
    words, sections, holds = [], [], []
    for station in places:
        sentence, section, fits = _why_not_at(ground, part, station, build, wishes, supply)
        words.append(sentence)
        holds.append(fits)
        if section is not None:
            sections.append(section)
    return ground.report(
        asked, " ".join(words), sections, about=(part.iri, build.car, *places), holds=any(holds)
    )


def _why_not_at(
    ground: Ground, part: Part, station: str, build: Build, wishes: Wishes, supply: Supply
) -> tuple[str, Section | None, bool]:
    """A sentence, its reasons, and whether the part may be taken after all."""
    name, where = ground.said(part), ground.catalogue.name(station)
    fitted = wishes.fits.get(station)
    if fitted is not None:
        if fitted == part.iri:
            return f"{name} is what you fit.", None, True
        wanted = ground.said(ground.catalogue.parts[fitted])
        return f"Not {name} as {where}: you fit {wanted} there.", None, False
    if station in wishes.keeps and build.fits[station] != part.iri:
        return f"Not {name}: you asked to keep the {where}.", None, False
    refused = [ban.words for ban in wishes.bans if part.iri in ban.parts]
    if refused and build.fits[station] != part.iri:
        return f"Not {name}: you asked for {listed(refused)}.", None, False
    there = build.fits[station] == part.iri
    if not there and not supply.origins(ground.catalogue, station, part.iri, build.fits[station]):
        later = listed(map(ground.catalogue.name, part.superseded_by))
        why = f"superseded by {later}" if later else "nobody offers it where parts may come from"
        return f"Not {name}: {why}.", None, False
    # Why can it not stay if it were there already? The reasons are the same.
    supposed = modified(build, {station: part.iri})
    problem = Problem(ground.mating, supposed, wishes, supply)
    with Search(problem, strict=False) as search:
        may_stay = search.solve([problem.kept(station)]) is not None
        is_workable = may_stay or search.solve() is not None
        chains = () if may_stay else explain_change(search, station, strict=False)
    if not may_stay:
        if not is_workable and _nothing_works(ground, build, wishes, supply):
            return (
                f"Not {name}: nothing is workable at all, with or without it.",
                _conflict(ground, find_conflict(Problem(ground.mating, build, wishes, supply))),
                False,
            )
        links = dict.fromkeys(link for chain in chains for link in chain.steps)
        steps = tuple(map(ground.composer.step, links))
        title = f"What rules {name} out as {where}"
        start = tuple(
            f"fitted: {ground.said(ground.catalogue.parts[p])} as {ground.catalogue.name(at)}"
            for at, p in wishes.fits.items()
        )
        section = Section(title=title, lines=start, steps=steps, in_full=True)
        return f"{name} cannot go there as {where}.", section, False
    return _why_not_needed(ground, part, station, build, wishes, supply)


def _nothing_works(ground: Ground, build: Build, wishes: Wishes, supply: Supply) -> bool:
    with Search(Problem(ground.mating, build, wishes, supply), strict=False) as search:
        return search.solve() is None


def _conflict(ground: Ground, found: Conflict) -> Section:
    note = ground.composer.conflict(found)
    lines = tuple(f"• {reason}" for reason in note.reasons)
    return Section(title="These cannot hold together", lines=lines)


def _why_not_needed(
    ground: Ground, part: Part, station: str, build: Build, wishes: Wishes, supply: Supply
) -> tuple[str, Section | None, bool]:
    name, where = ground.said(part), ground.catalogue.name(station)
    verdicts = find_verdicts(Problem(ground.mating, build, wishes, supply))
    if build.fits[station] == part.iri:
        return f"{name} can stay as {where}: nothing stands against it.", None, True
    if part.iri in (verdicts.options or {}).get(station, ()):
        return f"Nothing stands against {name} as {where}: it is one of the options.", None, True
    also = replace(wishes, fits={**wishes.fits, station: part.iri})
    more = find_verdicts(Problem(ground.mating, build, also, supply), most_ways=1)
    fewest = min(map(len, more.ways), default=0)
    without = min(map(len, verdicts.ways), default=0)
    sentence = (
        f"{name} would go as {where}, but nothing needs it there: with it "
        f"{counted(fewest + 1, 'station changes', 'stations change')}, without it {without}."
    )
    return sentence, None, True


def does_mate(ground: Ground, asked: s.DoesMate) -> Report:
    """Every joint at which ends of the two could meet, each with all comparisons."""
    first, second = ground.resolver.part(asked.first), ground.resolver.part(asked.second)
    found: dict[tuple[str, tuple[str | None, ...]], Meeting] = {}
    chains = []
    for joint in ground.catalogue.joints.values():
        if len(joint.members) > 2 and _share(joint, first, second):
            chains.append(ground.catalogue.name(joint.iri))
            continue
        for parts, mate in _mates(ground, joint, first, second):
            found.setdefault((joint.iri, mate.ends), Meeting(parts, mate))
    meetings = [ground.composer.meeting(m) for m in found.values()]
    outcomes = [m.mate.under(PROVEN) for m in found.values()]
    pair = f"{ground.said(first)} and {ground.said(second)}"
    holds: bool | None
    if not outcomes:
        holds, summary = False, f"{pair} have no joint in common: nothing of one meets the other."
    elif Outcome.CLASHES in outcomes:
        bad = [n.joint.label for n in meetings if n.outcome == "clashes"]
        holds, summary = False, f"No: {pair} clash at {listed(bad)}."
    elif Outcome.UNPROVEN in outcomes:
        open_ = [
            n.joint.label for n, o in zip(meetings, outcomes, strict=True) if o is Outcome.UNPROVEN
        ]
        holds, summary = None, f"Not proven: {pair} may mate at {listed(open_)}; nobody has tried."
    else:
        at = listed(n.joint.label for n in meetings)
        holds, summary = True, f"Yes: {pair} mate at {at}."
    sections = [
        Section(title="Joint by joint", meetings=tuple(meetings), in_full=True),
        Section(title="Both also stand in a chain with others, which only a car settles",
                lines=tuple(chains)),
        Section(title="Beside the joints", lines=tuple(_relations(ground, first, second))),
    ]  # fmt: skip
    return ground.report(asked, summary, sections, about=(first.iri, second.iri), holds=holds)


def _share(joint: Joint, first: Part, second: Part) -> bool:
    ones = [m for m in joint.members if m.station in first.stations and m.role in first.ends]
    others = [m for m in joint.members if m.station in second.stations and m.role in second.ends]
    return any(a.station != b.station for a in ones for b in others)


def _mates(
    ground: Ground, joint: Joint, first: Part, second: Part
) -> Iterator[tuple[tuple[str | None, ...], Mate]]:
    for one, other in ((first, second), (second, first)):
        near, far = joint.members[0], joint.members[1]
        there = one.stations, other.stations
        if near.station in there[0] and far.station in there[1]:
            keys = end_key(one, near.role), end_key(other, far.role)
            if keys[0][0] and keys[1][0]:
                mate = ground.mating.meet_keys(joint, keys)
                if mate is not None:
                    yield (one.iri, other.iri), mate
        if not joint.via:
            continue
        # `other` as the go-between: towards the first member, or towards the second.
        for half, member in (("first", near), ("second", far)):
            if member.station not in there[0] or joint.via not in there[1]:
                continue
            at_first = half == "first"
            role = joint.via_roles[0 if at_first else 1]
            outer, inner = end_key(one, member.role), end_key(other, role)
            if outer[0] and inner[0]:
                keys = (outer, inner) if at_first else (inner, outer)
                parts = (one.iri, other.iri) if at_first else (other.iri, one.iri)
                mate = ground.mating.meet_keys(joint, keys, half)
                if mate is not None:
                    yield parts, mate
        if first is second:
            return


def _relations(ground: Ground, first: Part, second: Part) -> Iterator[str]:
    for one, other in ((first, second), (second, first)):
        for family in one.requires:
            if family in other.families:
                yield f"{ground.said(one)} needs {ground.catalogue.name(family)}"
        for family in one.excludes:
            if family in other.families:
                yield f"{ground.said(one)} rules out {ground.catalogue.name(family)}"
    for matched in sorted(set(first.sets) & set(second.sets)):
        yield f"both belong to {ground.catalogue.name(matched)}, which is only used complete"


def _wishes(ground: Ground, change: s.Change | None) -> tuple[Build, Wishes, Supply]:
    if change is None:
        raise NothingToFollow(Wrong("there is no question about a change before this one"))
    resolver = ground.resolver
    build = resolver.build(change.car)
    fits = resolver.fittings(change.fits, build)
    return build, resolver.wishes(fits, change.terms, build), resolver.supply(change.terms)
