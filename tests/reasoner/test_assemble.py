"""The catalogue says what the facts say: inheritance, exceptions, disputes, and cars from cars."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from knockon.reasoner.catalogue import Catalogue, Claim, Fit, Part, Standing

from ..conftest import SPLINE, TINY_DATA, TINY_STATIONS, family, part

PART, END = "https://knockon.example/part/", "https://knockon.example/end/"
FAM, ST = "https://knockon.example/family/", "https://knockon.example/station/"
ROLE, SRC = "https://knockon.example/role/", "https://knockon.example/source/"
CAR, JOINT = "https://knockon.example/car/", "https://knockon.example/joint/"

YARD = (
    'src:yard { src:yard a ko:Source ; skos:prefLabel "breaker\'s yard" ; ko:standing ko:Reported ;'
    ' prov:wasAttributedTo maker:yard ; prov:generatedAtTime "2021-05-04T00:00:00"^^xsd:dateTime . }\n'
)

Build = Callable[..., Catalogue]


@pytest.fixture
def with_facts(build_tiny: Build) -> Callable[..., Catalogue]:
    """The tiny catalogue with more facts, some said by the drawings and some by the yard."""

    def build(drawings: str = "", yard: str = "", vocabulary: str = "") -> Catalogue:
        data = TINY_DATA + "src:drawings {\n" + drawings + "\n}\n"
        if yard:
            data += YARD + "src:yard {\n" + yard + "\n}\n"
        return build_tiny(data, TINY_STATIONS + vocabulary)

    return build


def _spline(name: str, teeth: int, role: str = "hub-spline", more: str = "") -> str:
    return (
        f"end:{name} a ko:Spline ; ko:role role:{role} ; ko:side ko:Internal ; "
        f"ko:teeth {teeth} ; {SPLINE}{more} .\n"
    )


def _ends(thing: Part, role: str) -> tuple[str, ...]:
    return tuple(e.removeprefix(END) for e in thing.ends.get(ROLE + role, ()))


# ---------------------------------------------------------------- inheritance and exceptions


def test_a_part_inherits_the_ends_of_its_family_and_knows_from_whom(tiny: Catalogue) -> None:
    hub = tiny.parts[PART + "TH-30"]
    assert _ends(hub, "hub-spline") == ("hub-30",)
    assert hub.via[ROLE + "hub-spline"] == FAM + "hd-hub"
    assert hub.stations == (ST + "hub",)
    assert hub.family == FAM + "hd-hub"
    assert hub.sources == (SRC + "drawings",)


def test_a_part_inherits_from_the_family_of_its_family(with_facts: Build) -> None:
    found = with_facts(
        'fam:late-hub a ko:Family , owl:Class ; skos:prefLabel "late" ; rdfs:subClassOf fam:hd-hub .\n'
        + 'fam:last-hub a ko:Family , owl:Class ; skos:prefLabel "last" ; rdfs:subClassOf fam:late-hub .\n'
        + part("TH-33", "last-hub", "last hub")
    )
    hub = found.parts[PART + "TH-33"]
    assert _ends(hub, "hub-spline") == ("hub-30",)
    assert hub.via[ROLE + "hub-spline"] == FAM + "hd-hub"
    assert hub.family == FAM + "last-hub"
    assert hub.families == {FAM + "last-hub", FAM + "late-hub", FAM + "hd-hub"}
    assert found.families[FAM + "last-hub"].stations == (ST + "hub",)
    assert found.families[FAM + "hd-hub"].parts == (PART + "TH-30", PART + "TH-33")


def test_an_own_end_wins_over_the_familys_end_of_that_role_only(with_facts: Build) -> None:
    found = with_facts(
        _spline("hub-24", 24) + part("TH-31", "hd-hub", "odd hub", " ; ko:ownEnd end:hub-24")
    )
    hub = found.parts[PART + "TH-31"]
    assert _ends(hub, "hub-spline") == ("hub-24",)
    assert hub.via[ROLE + "hub-spline"] == PART + "TH-31"
    assert _ends(hub, "hub-face") == ("face-5x120",)
    assert _ends(found.parts[PART + "TH-30"], "hub-spline") == ("hub-30",)


def test_a_role_the_part_lacks_is_gone_although_its_family_has_it(with_facts: Build) -> None:
    found = with_facts(part("TH-31", "hd-hub", "plain hub", " ; ko:lacksRole role:hub-face"))
    assert list(found.parts[PART + "TH-31"].ends) == [ROLE + "hub-spline"]
    assert len(found.parts[PART + "TH-30"].ends) == 2


def test_two_ends_of_one_role_are_alternatives(with_facts: Build) -> None:
    found = with_facts(
        family("dual-hub", "hub", "hub-27", "face-5x100", "face-5x120")
        + part("TH-32", "dual-hub", "dual-drilled hub")
    )
    assert _ends(found.parts[PART + "TH-32"], "hub-face") == ("face-5x100", "face-5x120")


def test_an_end_stated_on_the_part_beside_the_familys_is_an_alternative_too(
    with_facts: Build,
) -> None:
    found = with_facts(part("TH-32", "light-hub", "drilled again", " ; ko:hasEnd end:face-5x120"))
    assert _ends(found.parts[PART + "TH-32"], "hub-face") == ("face-5x100", "face-5x120")


def test_an_end_on_a_part_only_is_said_by_the_part(with_facts: Build) -> None:
    bare = family("bare-hub", "hub")
    found = with_facts(bare + part("TH-34", "bare-hub", "bare", " ; ko:hasEnd end:hub-27"))
    assert found.parts[PART + "TH-34"].via == {ROLE + "hub-spline": PART + "TH-34"}


@pytest.mark.parametrize("child", ["aaa-hub", "zzz-hub"])
def test_the_nearer_family_wins_whatever_it_is_called(with_facts: Build, child: str) -> None:
    found = with_facts(
        "fam:hd-hub ko:rimDiameter 15.0 ; ko:ownTolerance [ ko:onQuantity ko:module ; ko:amount 0.1 ] .\n"
        f'fam:{child} a ko:Family , owl:Class ; skos:prefLabel "c" ; rdfs:subClassOf fam:hd-hub ;'
        " ko:rimDiameter 16.0 ; ko:ownTolerance [ ko:onQuantity ko:module ; ko:amount 0.2 ] .\n"
        + part("TH-35", child, "c")
    )
    hub = found.parts[PART + "TH-35"]
    assert hub.tolerances == {"module": Decimal("0.2")}
    assert hub.attributes == {"rimDiameter": Decimal(16)}
    assert hub.family == FAM + child


def test_what_the_part_states_wins_over_every_family(with_facts: Build) -> None:
    found = with_facts(
        "fam:hd-hub ko:rimDiameter 15.0 ; ko:ownTolerance [ ko:onQuantity ko:module ; ko:amount 0.1 ] .\n"
        + part(
            "TH-36", "hd-hub", "own",
            " ; ko:rimDiameter 17.0 ; ko:ownTolerance [ ko:onQuantity ko:module ; ko:amount 0.3 ]",
        )
    )  # fmt: skip
    hub = found.parts[PART + "TH-36"]
    assert (hub.tolerances["module"], hub.attributes["rimDiameter"]) == (Decimal("0.3"), 17)
    assert found.parts[PART + "TH-30"].tolerances == {"module": Decimal("0.1")}


# ---------------------------------------------------------------- what parts are to one another


def test_interchange_and_supersession_are_complete_and_never_name_the_part_itself(
    with_facts: Build,
) -> None:
    found = with_facts(
        part("TH-28", "light-hub", "b", " ; ko:interchangesWith part:TH-27")
        + part("TH-29", "light-hub", "c", " ; ko:interchangesWith part:TH-28")
        + "part:TH-27 ko:supersededBy part:TH-28 . part:TH-28 ko:supersededBy part:TH-29 ."
    )
    oldest = found.parts[PART + "TH-27"]
    assert oldest.interchanges == (PART + "TH-28", PART + "TH-29")
    assert oldest.superseded_by == (PART + "TH-28", PART + "TH-29")
    assert found.parts[PART + "TH-29"].interchanges == (PART + "TH-27", PART + "TH-28")
    assert found.parts[PART + "TH-29"].superseded_by == ()


def test_requirements_and_exclusions_of_a_family_hold_for_its_parts(with_facts: Build) -> None:
    found = with_facts(
        "fam:hd-hub ko:excludes fam:wheel-100 . fam:hd-shaft ko:requires fam:wheel-120 .\n"
        'fam:late-hub a ko:Family , owl:Class ; skos:prefLabel "late" ; rdfs:subClassOf fam:hd-hub .\n'
        "fam:hd-hub ko:requires fam:hd-shaft .\n" + part("TH-37", "late-hub", "late")
    )
    hub = found.parts[PART + "TH-37"]
    assert hub.requires == (FAM + "hd-shaft", FAM + "wheel-120")
    assert hub.excludes == (FAM + "wheel-100",)
    assert found.families[FAM + "late-hub"].requires == (FAM + "hd-shaft", FAM + "wheel-120")


def test_a_part_that_excludes_a_family_is_not_taken_for_a_family(with_facts: Build) -> None:
    found = with_facts("part:TH-30 ko:excludes fam:wheel-100 .")
    assert found.parts[PART + "TH-30"].excludes == (FAM + "wheel-100",)
    assert PART + "TH-30" not in found.families


def test_a_trial_fit_is_remembered_once_with_all_who_say_so(with_facts: Build) -> None:
    found = with_facts(
        "end:hub-30 ko:triedWith end:shaft-30 .", "end:shaft-30 ko:triedWith end:hub-30 ."
    )
    assert found.tried == {
        (END + "hub-30", END + "shaft-30"): (SRC + "drawings", SRC + "yard"),
    }


# ---------------------------------------------------------------- claims and disputes


def test_a_value_carries_every_source_that_states_it(with_facts: Build) -> None:
    found = with_facts(yard="end:hub-30 ko:teeth 30 .")
    (claim,) = found.ends[END + "hub-30"].claims["teeth"]
    assert claim == Claim(30, (SRC + "drawings", SRC + "yard"))


def test_the_same_number_written_otherwise_is_no_dispute(with_facts: Build) -> None:
    found = with_facts(yard="end:face-5x120 ko:circleDiameter 120 , 120.00 .")
    (claim,) = found.ends[END + "face-5x120"].claims["circleDiameter"]
    assert claim.value == 120
    assert claim.sources == (SRC + "drawings", SRC + "yard")


def test_values_that_disagree_are_kept_side_by_side_the_stronger_first(with_facts: Build) -> None:
    found = with_facts(yard="end:hub-30 ko:teeth 29 .")
    claims = found.ends[END + "hub-30"].claims["teeth"]
    assert [c.value for c in claims] == [30, 29]
    assert [found.standing(c.sources) for c in claims] == [Standing.DOCUMENTED, Standing.REPORTED]


PROFILE = (
    "role:hat a ko:Role ; ko:kind ko:Envelope .\n",
    "end:hat a ko:Envelope ; ko:role role:hat ; ko:side ko:Outer .\n",
    "end:hat ko:step [ ko:from 0 ; ko:to 40 ; ko:radius 100 ] , [ ko:from 40 ; ko:to 60 ; ko:radius 95.5 ] .\n",
)


def test_a_profile_is_one_value_with_its_steps_in_order(with_facts: Build) -> None:
    found = with_facts(PROFILE[1] + PROFILE[2], vocabulary=PROFILE[0])
    (claim,) = found.ends[END + "hat"].claims["step"]
    assert claim.value == (
        {"from": 0, "radius": 100, "to": 40},
        {"from": 40, "radius": Decimal("95.5"), "to": 60},
    )


def test_two_sources_with_the_same_profile_agree(with_facts: Build) -> None:
    found = with_facts(PROFILE[1] + PROFILE[2], PROFILE[2], PROFILE[0])
    (claim,) = found.ends[END + "hat"].claims["step"]
    assert claim.sources == (SRC + "drawings", SRC + "yard")


def test_two_sources_with_different_profiles_are_a_dispute(with_facts: Build) -> None:
    yard = "end:hat ko:step [ ko:from 0 ; ko:to 60 ; ko:radius 90 ] ."
    found = with_facts(PROFILE[1] + PROFILE[2], yard, PROFILE[0])
    assert [len(c.value) for c in found.ends[END + "hat"].claims["step"]] == [2, 1]  # type: ignore[arg-type]


def test_an_end_takes_its_sizes_from_its_form_except_where_it_states_its_own(
    with_facts: Build,
) -> None:
    found = with_facts(
        "end:form a ko:Form ; ko:teeth 30 ; ko:module 1.0 ; ko:pressureAngle 30.0 .\n"
        "end:formed a ko:Spline ; ko:role role:hub-spline ; ko:side ko:Internal ; ko:form end:form ; ko:teeth 31 .\n"
    )
    claims = found.ends[END + "formed"].claims
    assert [c.value for c in claims["teeth"]] == [31]
    assert [c.value for c in claims["module"]] == [1]


def test_a_value_made_to_suit_keeps_its_range_and_its_list(with_facts: Build) -> None:
    found = with_facts(
        "end:made a ko:Spline ; ko:role role:hub-spline ; ko:side ko:Internal ;"
        " ko:madeToSuit [ ko:ofQuantity ko:teeth ; ko:oneOf 27 , 30 ] ,"
        " [ ko:ofQuantity ko:module ; ko:least 0.5 ; ko:most 2 ] ."
    )
    module, teeth = found.ends[END + "made"].open
    assert (module.quantity, module.least, module.most) == ("module", Decimal("0.5"), 2)
    assert (teeth.quantity, teeth.one_of) == ("teeth", (27, 30))


def test_a_source_says_who_when_and_how_far_to_trust_it(with_facts: Build) -> None:
    source = with_facts(yard="end:hub-30 ko:teeth 30 .").sources[SRC + "yard"]
    assert (source.label, source.standing) == ("breaker's yard", Standing.REPORTED)
    assert (source.by, source.date) == ("yard", "2021-05-04")


# ---------------------------------------------------------------- cars


def _car(name: str, more: str) -> str:
    return f'car:{name} a ko:Car ; skos:prefLabel "{name}" ; {more} .\n'


def test_a_car_has_every_fit_of_the_car_it_is_based_on_except_its_own(with_facts: Build) -> None:
    found = with_facts(
        _car("late", "ko:basedOn car:tiny ; ko:has [ ko:atStation st:hub ; ko:part part:TH-30 ]")
        + _car(
            "last", "ko:basedOn car:late ; ko:has [ ko:atStation st:shaft ; ko:part part:TS-30 ]"
        )
    )
    fits = {s.removeprefix(ST): f.part for s, f in found.cars[CAR + "last"].fits.items()}
    assert fits == {"hub": PART + "TH-30", "shaft": PART + "TS-30", "wheel": PART + "TW-100"}
    assert found.cars[CAR + "last"].generation == "https://knockon.example/generation/tiny"
    assert found.cars[CAR + "tiny"].fits[ST + "hub"].part == PART + "TH-27"


def test_a_car_may_leave_empty_what_its_base_fills_and_fill_what_its_base_leaves_empty(
    with_facts: Build,
) -> None:
    found = with_facts(
        _car("bare", "ko:basedOn car:tiny ; ko:leavesEmpty st:wheel")
        + _car(
            "shod", "ko:basedOn car:bare ; ko:has [ ko:atStation st:wheel ; ko:part part:TW-120 ]"
        )
    )
    assert found.cars[CAR + "bare"].fits[ST + "wheel"] == Fit(None, (SRC + "drawings",))
    assert found.cars[CAR + "shod"].fits[ST + "wheel"].part == PART + "TW-120"


def test_a_fit_that_two_sources_state_carries_both(with_facts: Build) -> None:
    found = with_facts(yard="car:tiny ko:has [ ko:atStation st:hub ; ko:part part:TH-27 ] .")
    fit = found.cars[CAR + "tiny"].fits[ST + "hub"]
    assert fit == Fit(PART + "TH-27", (SRC + "drawings", SRC + "yard"))


def test_a_joint_takes_its_members_in_their_places_and_its_go_between(tiny: Catalogue) -> None:
    joint = tiny.joints[JOINT + "hub-to-wheel"]
    assert joint.stations == (ST + "hub", ST + "wheel", ST + "spacer")
    assert joint.via_roles == (ROLE + "wheel-face", ROLE + "hub-face")
    assert [m.alone for m in joint.members] == ["MustMeet", "MustMeet"]
    assert [m.sign for m in joint.members] == [1, 1]


def test_a_thing_is_called_by_its_british_name_and_known_by_the_others(tiny: Catalogue) -> None:
    shaft = tiny.stations[ST + "shaft"]
    assert (shaft.label, shaft.synonyms) == ("half-shaft", ("axle shaft",))


def test_every_quantity_knows_its_unit_and_how_to_measure_it(tiny: Catalogue) -> None:
    module = tiny.quantities["module"]
    assert module.unit == "MilliM"
    assert module.measure_by


# ---------------------------------------------------------------- one text, one catalogue


def test_the_order_of_statements_does_not_matter(build_tiny: Build) -> None:
    head, body = TINY_DATA.split("src:drawings {\n", 1)
    statements = body.rsplit("}", 1)[0].split(" .\n")
    turned = " .\n".join(s for s in reversed(statements) if s.strip()) + " .\n"
    one, other = build_tiny(), build_tiny(head + "src:drawings {\n" + turned + "}\n")
    assert (one.parts, one.ends, one.cars) == (other.parts, other.ends, other.cars)
    assert list(one.parts) == list(other.parts)


def test_the_same_text_gives_the_same_catalogue(build_tiny: Build) -> None:
    assert build_tiny() == build_tiny()
