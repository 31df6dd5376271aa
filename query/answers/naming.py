"""Let NAME be CAR with parts: a build under a name of its own."""

from __future__ import annotations

from ...reasoner.build import Build, clashes
from .. import syntax as s
from ..report import Report, Section
from ..wishes import with_fits
from ..words import finding_text
from .ground import Ground, listed, no_answer


def named_build(ground: Ground, asked: s.Let) -> Build:
    """The build that a sentence names.

    Raises:
        QueryError: the car or a part is not known or has no place, or the name is a car's.
    """
    taken = ground.resolver.index.matches(asked.alias.text, ("car", "generation"))
    if taken:
        message = f"“{asked.alias}” is the name of {taken[0].label}: choose another"
        raise no_answer(asked.alias, message)
    build = ground.resolver.build(asked.car)
    fits = ground.resolver.fittings(asked.fits, build)
    return with_fits(build, fits, asked.alias.text)


def let(ground: Ground, asked: s.Let) -> Report:
    """What the name now stands for, and whether that build clashes as it stands."""
    build = named_build(ground, asked)
    known = ground.catalogue
    fitted = [
        f"{known.name(station)}: {ground.said(known.parts[part])}"
        for station in build.changed
        if (part := build.fits[station]) is not None
    ]
    bad = [
        f"{known.name(mate.joint)}: "
        + "; ".join(finding_text(f, known) for f in mate.findings if f.outcome == "clashes")
        for mate in clashes(ground.mating, build)
    ]
    with_parts = f" with {listed(known.name(p) for s in build.changed if (p := build.fits[s]))}"
    summary = f"{build.name} is {known.name(build.car)}{with_parts if fitted else ''}."
    if bad:
        summary += " It clashes as it stands."
    sections = (
        Section(title="Fitted", lines=tuple(fitted)),
        Section(title="Clashes before anything else is fitted", lines=tuple(bad)),
    )
    return ground.report(asked, summary, sections, about=(build.car,))
