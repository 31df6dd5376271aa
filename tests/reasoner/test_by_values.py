"""What stated values alone say is the same whether claims are weighed or, being firm, are not."""

from __future__ import annotations

from random import Random

import pytest
from knockon.reasoner.by_values import ByValues
from knockon.reasoner.catalogue import Joint, Standing
from knockon.reasoner.interfaces.kind import Outcome
from knockon.reasoner.mating import Mating
from knockon.reasoner.places import NO_END, PROVEN, EndKey

from .test_synthetic_catalogues import tiny_synthetic as tiny_synthetic

_MOST = 150
FLOORS = [Standing.MEASURED, PROVEN, Standing.PRESUMED]


class Weighing(ByValues):
    """Takes nothing for firm."""

    def _plainly(self, *_: object) -> None:
        return None


@pytest.fixture(scope="module", params=["demo", "tiny_synthetic"])
def mating(request: pytest.FixtureRequest) -> Mating:
    return Mating(request.getfixturevalue(request.param))


def meetings(mating: Mating, joint: Joint) -> list[tuple[str, tuple[EndKey, ...]]]:
    """Ends that may come to a joint, and to the halves of one with a go-between; some of many."""
    whole = [(member.station, member.role) for member in joint.members]
    forms = {"": whole}
    if joint.via:
        near, far = ((joint.via, role) for role in joint.via_roles)
        forms |= {"first": [whole[0], near], "second": [far, whole[1]]}
    found = []
    for half, seats in forms.items():
        coming = [
            [NO_END, *(key for key, _ in mating.places.place(*seat).groups)] for seat in seats
        ]
        chance = Random(half + joint.iri)
        each = {tuple(chance.choice(keys) for keys in coming) for _ in range(_MOST)}
        found += [(half, keys) for keys in sorted(each)]
    return found


@pytest.mark.parametrize("floor", FLOORS, ids=lambda floor: floor.word)
def test_firm_ends_come_to_what_weighing_their_claims_finds(
    mating: Mating, floor: Standing
) -> None:
    weighing = Mating(mating.catalogue)
    weighing.values = Weighing(mating.catalogue, weighing.places, weighing._weighed)
    seen = dict.fromkeys(Outcome, 0)
    for joint in mating.catalogue.joints.values():
        for half, keys in meetings(mating, joint):
            said = mating.values.outcome(joint, keys, half, floor)
            assert said is weighing.values.outcome(joint, keys, half, floor), (
                joint.iri,
                half,
                keys,
            )
            seen[said] += 1
    assert min(seen[Outcome.MATES], seen[Outcome.CLASHES]) > 100


def test_what_is_remembered_for_one_catalogue_holds_in_the_next(mating: Mating) -> None:
    after = Mating(mating.catalogue, mating)
    for joint in mating.catalogue.joints.values():
        for half, keys in meetings(mating, joint)[:20]:
            said = mating.values.outcome(joint, keys, half, PROVEN)
            assert after.values.outcome(joint, keys, half, PROVEN) is said
