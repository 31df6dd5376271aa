"""A catalogue that fits on one screen, and the demo, for every test that wants one.

The tiny car has a hub, a half-shaft in it by spline, a plate on it by flange, a brake on the plate
by mount spacing, and a wheel on the hub by bolt circle.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.files import TextFile, fingerprint
from knockon.reasoner.load import build_catalogue, load_catalogue, ontology_folder
from knockon.reasoner.mating import Mating

PREFIXES = """
@prefix ko: <https://knockon.example/ns#> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
@prefix schema: <https://schema.org/> .
@prefix prov: <http://www.w3.org/ns/prov#> .
@prefix xsd: <http://www.w3.org/2001/XMLSchema#> .
@prefix st: <https://knockon.example/station/> .
@prefix role: <https://knockon.example/role/> .
@prefix joint: <https://knockon.example/joint/> .
@prefix fam: <https://knockon.example/family/> .
@prefix part: <https://knockon.example/part/> .
@prefix end: <https://knockon.example/end/> .
@prefix gen: <https://knockon.example/generation/> .
@prefix car: <https://knockon.example/car/> .
@prefix src: <https://knockon.example/source/> .
@prefix maker: <https://knockon.example/maker/> .
"""

TINY_STATIONS = (
    PREFIXES
    + """
st:hub a ko:Station ; skos:prefLabel "hub" .
st:shaft a ko:Station ; skos:prefLabel "half-shaft"@en-GB ; skos:altLabel "axle shaft"@en-US .
st:wheel a ko:Station ; skos:prefLabel "wheel" .
st:spacer a ko:Station ; skos:prefLabel "wheel adapter" ; ko:mayStandEmpty true .
role:hub-spline a ko:Role ; ko:kind ko:Spline .
role:shaft-spline a ko:Role ; ko:kind ko:Spline .
role:hub-face a ko:Role ; ko:kind ko:BoltCircle .
role:wheel-face a ko:Role ; ko:kind ko:BoltCircle .
joint:shaft-to-hub a ko:Joint ; skos:prefLabel "half-shaft spline ↔ hub spline" ; ko:kind ko:Spline ;
    ko:member [ ko:place 1 ; ko:atStation st:shaft ; ko:withRole role:shaft-spline ; ko:alone ko:MustMeet ] ,
              [ ko:place 2 ; ko:atStation st:hub ; ko:withRole role:hub-spline ; ko:alone ko:MustMeet ] .
joint:hub-to-wheel a ko:Joint ; skos:prefLabel "hub face ↔ wheel" ; ko:kind ko:BoltCircle ;
    ko:member [ ko:place 1 ; ko:atStation st:hub ; ko:withRole role:hub-face ; ko:alone ko:MustMeet ] ,
              [ ko:place 2 ; ko:atStation st:wheel ; ko:withRole role:wheel-face ; ko:alone ko:MustMeet ] ;
    ko:via st:spacer ; ko:viaFirstRole role:wheel-face ; ko:viaSecondRole role:hub-face .
"""
)


def family(name: str, station: str, *ends: str) -> str:
    """A family at a station whose parts have the given ends."""
    gives = [("ko:ofFamily", f"fam:{name}"), ("ko:sitsAt", f"st:{station}")]
    gives += [("ko:hasEnd", f"end:{end}") for end in ends]
    restrictions = " , ".join(
        f"[ a owl:Restriction ; owl:onProperty {p} ; owl:hasValue {v} ]" for p, v in gives
    )
    return (
        f'fam:{name} a ko:Family , owl:Class ; skos:prefLabel "{name}" ; '
        f"rdfs:subClassOf ko:Part , {restrictions} .\n"
    )


def part(number: str, family_name: str, label: str, more: str = "") -> str:
    """One part of a family."""
    return f'part:{number} a fam:{family_name} ; skos:prefLabel "{label}" ; schema:mpn "{number}"{more} .\n'


SPLINE = "ko:module 1.0 ; ko:pressureAngle 30.0"

TINY_DATA = (
    PREFIXES
    + """
src:drawings { src:drawings a ko:Source ; skos:prefLabel "tiny drawings" ;
    prov:wasAttributedTo maker:nobody ; ko:standing ko:Documented . }
src:drawings {
"""
    + family("light-hub", "hub", "hub-27", "face-5x100")
    + family("hd-hub", "hub", "hub-30", "face-5x120")
    + family("light-shaft", "shaft", "shaft-27")
    + family("hd-shaft", "shaft", "shaft-30")
    + family("wheel-100", "wheel", "wheel-5x100")
    + family("wheel-120", "wheel", "wheel-5x120")
    + f"""
end:hub-27 a ko:Spline ; ko:role role:hub-spline ; ko:side ko:Internal ; ko:teeth 27 ; {SPLINE} .
end:hub-30 a ko:Spline ; ko:role role:hub-spline ; ko:side ko:Internal ; ko:teeth 30 ; {SPLINE} .
end:shaft-27 a ko:Spline ; ko:role role:shaft-spline ; ko:side ko:External ; ko:teeth 27 ; {SPLINE} .
end:shaft-30 a ko:Spline ; ko:role role:shaft-spline ; ko:side ko:External ; ko:teeth 30 ; {SPLINE} .
end:face-5x100 a ko:BoltCircle ; ko:role role:hub-face ; ko:side ko:External ; ko:bolts 5 ; ko:circleDiameter 100.0 ; ko:pilot 56.1 .
end:face-5x120 a ko:BoltCircle ; ko:role role:hub-face ; ko:side ko:External ; ko:bolts 5 ; ko:circleDiameter 120.0 ; ko:pilot 72.5 .
end:wheel-5x100 a ko:BoltCircle ; ko:role role:wheel-face ; ko:side ko:Internal ; ko:bolts 5 ; ko:circleDiameter 100.0 ; ko:pilot 56.1 .
end:wheel-5x120 a ko:BoltCircle ; ko:role role:wheel-face ; ko:side ko:Internal ; ko:bolts 5 ; ko:circleDiameter 120.0 ; ko:pilot 72.6 .
"""
    + part("TH-27", "light-hub", "light hub")
    + part("TH-30", "hd-hub", "HD hub", " ; ko:requires fam:hd-shaft")
    + part("TS-27", "light-shaft", "light half-shaft")
    + part("TS-30", "hd-shaft", "HD half-shaft")
    + part("TW-100", "wheel-100", "small wheel")
    + part("TW-120", "wheel-120", "big wheel")
    + """
gen:tiny a ko:Generation ; skos:prefLabel "Tiny T1" .
car:tiny a ko:Car ; skos:prefLabel "Tiny T1 light" ; ko:ofGeneration gen:tiny ;
    ko:has [ ko:atStation st:hub ; ko:part part:TH-27 ] , [ ko:atStation st:shaft ; ko:part part:TS-27 ] ,
           [ ko:atStation st:wheel ; ko:part part:TW-100 ] .
}
"""
)


def vocabulary() -> tuple[TextFile, ...]:
    """The ontology without the real stations and joints."""
    folder = ontology_folder()
    paths = [
        folder / "attributes.ttl",
        folder / "core.ttl",
        folder / "shapes.ttl",
        *sorted((folder / "interfaces").glob("*.ttl")),
    ]
    return tuple(TextFile(f"ontology/{p.name}", p.read_text("utf-8"), True) for p in paths)


def tolerances() -> TextFile:
    """The house tolerances of the shipped data, without their source's description."""
    path = Path(str(ontology_folder())).parent / "data" / "tolerances.trig"
    described = """
src:house-rules { src:house-rules a ko:Source ; skos:prefLabel "house rules" ;
    prov:wasAttributedTo maker:nobody ; ko:standing ko:Documented . }
"""
    return TextFile("data/tolerances.trig", path.read_text("utf-8") + PREFIXES + described, False)


def tiny_files(data: str = TINY_DATA, stations: str = TINY_STATIONS) -> tuple[TextFile, ...]:
    """Everything a tiny catalogue is made of; tests change a word and look what happens."""
    return (
        *vocabulary(),
        TextFile("ontology/tiny_stations.ttl", stations, True),
        tolerances(),
        TextFile("data/tiny.trig", data, False),
    )


@pytest.fixture(scope="session")
def build_tiny() -> Callable[..., Catalogue]:
    """Make a tiny catalogue from changed text."""

    def build(data: str = TINY_DATA, stations: str = TINY_STATIONS) -> Catalogue:
        files = tiny_files(data, stations)
        return build_catalogue(fingerprint(files), files)

    return build


@pytest.fixture(scope="session")
def tiny(build_tiny: Callable[..., Catalogue]) -> Catalogue:
    """The tiny catalogue."""
    return build_tiny()


@pytest.fixture(scope="session")
def demo() -> Catalogue:
    """The shipped demo catalogue."""
    return load_catalogue()


@pytest.fixture(scope="session")
def demo_mating(demo: Catalogue) -> Mating:
    """What parts of the demo do at joints, shared so that nothing is compared twice."""
    return Mating(demo)
