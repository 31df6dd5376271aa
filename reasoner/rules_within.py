"""Requirements, exclusions and matched sets, while some stations change and others stay."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from .reason import ReasonKind

if TYPE_CHECKING:
    from .narrowing import Run
    from .trial_rules import CarRules


class Asking(NamedTuple):
    """Some parts of a station (the one there, if `parts` is none) ask for one that is not there.

    `servers` are the changing stations that have one, `others` all stations that might; `told` is
    whom to blame for it.
    """

    station: str
    parts: int
    servers: tuple[tuple[str, int], ...]
    others: tuple[str, ...]
    told: int


@dataclass(frozen=True, slots=True)
class RulesWithin:
    """The rules that matter among what a run has left.

    `excluding` are a station, those of its parts of which it is said (`EVERY` where it does not
    change), and a family; `matching` a station that does not change and a matched set it has a part
    of; `bound` a station that changes and another one at which some of its parts want another part
    of their matched set.
    """

    of_car: CarRules
    asking: tuple[Asking, ...]
    excluding: tuple[tuple[str, int, str], ...]
    matching: tuple[tuple[str, str], ...]
    bound: tuple[tuple[str, str], ...]

    def narrow(self, run: Run) -> bool:
        """Take away what breaks a rule whatever else is taken. False: nothing works."""
        parts = run.parts
        for asking in self.asking:
            concerns = not asking.parts or parts[asking.station] & asking.parts
            if concerns and not self._narrow_asking(run, asking):
                return False
        return (
            all(self._narrow_excluding(run, *rule) for rule in self.excluding)
            and all(self._narrow_matching(run, *rule) for rule in self.matching)
            and all(self._narrow_bound(run, *rule) for rule in self.bound)
        )

    def _narrow_asking(self, run: Run, rule: Asking) -> bool:
        there = run.parts.get(rule.station, 0)
        asking = there & rule.parts
        serving = [(s, members) for s, members in rule.servers if run.parts[s] & members]
        if len(serving) > 1 or (serving and asking != there):
            return True
        others = [rule.station, *rule.others] if asking == there else rule.others
        if serving:
            station, members = serving[0]
            return run.keep(station, members, [s for s in others if s != station], rule.told)
        if rule.parts:
            return run.keep(rule.station, ~asking, rule.others, rule.told)
        return run.fail(others, rule.told)

    def _narrow_excluding(self, run: Run, station: str, of: int, family: str) -> bool:
        there = run.parts.get(station)
        excluding = of if there is None else there & of
        if not excluding:
            return True
        surely = there is None or excluding == there
        told = self.of_car.told(ReasonKind.EXCLUSION, family)
        if there is not None:
            for other in self.of_car.serving.get(family, ()):
                if other not in run.parts and other != station:
                    return run.keep(station, ~excluding, [other], told)
        for other, members in self.of_car.of_family(family).items():
            if other == station or other not in run.parts:
                continue
            if surely and not run.keep(other, ~members, [station], told):
                return False
            if there is not None and not run.parts[other] & ~members:
                return run.keep(station, ~excluding, [other], told)
        return True

    def _narrow_matching(self, run: Run, station: str, matched: str) -> bool:
        """Beside what stays of a matched set only the others of it may sit."""
        told = self.of_car.told(ReasonKind.MATCHED_SET, matched)
        for other, members in self.of_car.listed(matched).items():
            is_open = other != station and other in run.parts
            if is_open and not run.keep(other, members, [station], told):
                return False
        return True

    def _narrow_bound(self, run: Run, station: str, other: str) -> bool:
        """Parts of a station that belong with some of another one's, and what these leave."""
        rules = self.of_car
        told = rules.blamed(station, other)
        goes = rules.beside(station, other, run.parts.get(other))
        if not run.keep(station, goes, [other], told):
            return False
        if other not in run.parts:
            return True
        return run.keep(other, rules.bound_by(station, other, run.parts[station]), [station], told)
